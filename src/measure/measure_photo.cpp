#include "rondure/measure/measure_photo.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <set>

#include "rondure/core/length.hpp"
#include "rondure/interpret/part_name.hpp"
#include "rondure/photo/solid_part.hpp"

namespace rondure {
namespace {

// What an edge is on its part.
enum class Role { kOutside, kHubStep, kBore, kGrooveOuterWall, kGrooveInnerWall };

struct MeasuredEdge {
  const RoundEdge* edge;
  Feature feature;
  Circle circle;
  std::optional<Estimate> eccentricity_mm = std::nullopt;
  int part = -1;         // index of the outermost edge it belongs to
  bool dropped = false;  // no edge of the part, as a person has said
  std::string found_as = {};
  Role role = Role::kOutside;
};

OutlineOptions with_plane(const OutlineOptions& stated, const RoundEdge& edge, const MeasuringPlane& plane,
                          const Circle& circle) {
  OutlineOptions options = stated;
  options.correlated = true;
  options.u_edge_offset_mm = edge.u_edge_offset_mm;
  PlaneUncertainty u = u_from_plane(plane, circle);
  if (edge.u_height_mm)
    if (const auto there = at_height(plane, plane.height_mm, *edge.u_height_mm))
      u.u_height_mm = u_from_plane(*there, circle).u_height_mm;
  Eigen::Matrix2d wall_mm2 = Eigen::Matrix2d::Zero();
  if (edge.wall) {
    // a disc's own height counts besides the fit of its outline
    u.u_height_mm =
        std::hypot(edge.wall->u_fit_mm, edge.wall->top_mm == edge.wall->foot_mm ? u.u_height_mm : 0);
    wall_mm2 = edge.wall->second_harmonic_mm2;
  }
  if (edge.ring) u.u_height_mm = std::hypot(edge.ring->u_diameter_mm, edge.u_height_mm ? u.u_height_mm : 0);
  options.second_harmonic_mm2 =
      u.second_harmonic_mm2 + wall_mm2 +
      edge.u_second_harmonic_mm * edge.u_second_harmonic_mm * Eigen::Matrix2d::Identity();
  options.u_scale_ratio = u.u_scale_mm / circle.diameter_mm();
  if (u.u_pose_mm > 0) options.more.push_back({UncertaintySource::kBoardAndLens, u.u_pose_mm});
  if (u.u_height_mm > 0) options.more.push_back({UncertaintySource::kHeight, u.u_height_mm});
  return options;
}

// Sizes by the references: the points drawn out or in about their middle, the uncertainty what is left of it.
std::vector<MeasuredPoint> by_references(const ReferenceScale& references, const RoundEdge& edge,
                                         const MeasuringPlane& plane, const Circle& circle,
                                         OutlineOptions& options) {
  const ReferencedDiameter of = references.apply_to(circle_reading(plane, edge, circle, 0));
  options.u_scale_ratio = of.u_scale_mm / circle.diameter_mm();
  options.u_edge_offset_mm = of.u_edge_mm / 2;
  options.more.clear();
  options.more.push_back({UncertaintySource::kReferencePiece, of.u_reference_mm});
  options.more.push_back({UncertaintySource::kBoardAndLens, of.u_pose_mm});
  options.more.push_back({UncertaintySource::kHeight, of.u_height_mm});
  std::vector<MeasuredPoint> points = edge.points;
  const double ratio = 1 + of.shift_mm / circle.diameter_mm();
  for (MeasuredPoint& p : points)
    p.at = PartPoint::from(circle.center.vec() + ratio * (p.at.vec() - circle.center.vec()));
  return points;
}

// The affine map near the feature: px = A (x, y, 1).
std::optional<std::array<double, 6>> affine_near(const MeasuringPlane& plane, const PartPoint& at) {
  const auto px = pixel_from_part(plane, at);
  const auto j = pixel_per_part(plane, at);
  if (!px || !j) return std::nullopt;
  const Eigen::Vector2d shift = Eigen::Vector2d(px->x_px, px->y_px) - *j * at.vec();
  return std::array<double, 6>{(*j)(0, 0), (*j)(0, 1), shift.x(), (*j)(1, 0), (*j)(1, 1), shift.y()};
}

// A rough circle for the plane's own uncertainty, before the fit proper.
Circle mean_circle(const std::vector<MeasuredPoint>& points) {
  Eigen::Vector2d sum = Eigen::Vector2d::Zero();
  for (const MeasuredPoint& p : points) sum += p.at.vec();
  const Eigen::Vector2d c = sum / static_cast<double>(points.size());
  double r = 0;
  for (const MeasuredPoint& p : points) r += (p.at.vec() - c).norm();
  return {PartPoint::from(c), r / static_cast<double>(points.size())};
}

// An edge belongs to the part whose outermost edge holds its centre and most of it.
void group(std::vector<MeasuredEdge>& edges) {
  for (std::size_t i = 0; i < edges.size(); ++i) {
    edges[i].part = static_cast<int>(i);
    for (std::size_t k = 0; k < i; ++k) {  // larger ones
      const double apart = (edges[i].circle.center.vec() - edges[k].circle.center.vec()).norm();
      if (edges[k].part == static_cast<int>(k) &&
          apart + 0.9 * edges[i].circle.radius_mm < edges[k].circle.radius_mm) {
        edges[i].part = static_cast<int>(k);
        break;
      }
    }
  }
}

constexpr double kGrooveWidth_ratio = 0.4;  // of the outer radius: a wider ring is no groove

// The next smaller edge of the same part, or -1.
int next_inside(const std::vector<MeasuredEdge>& edges, std::size_t of) {
  for (std::size_t i = of + 1; i < edges.size(); ++i)
    if (edges[i].part == edges[of].part) return static_cast<int>(i);
  return -1;
}

// Two walls of one ring: light changes at the outer one and comes back at the inner one.
bool is_groove(const MeasuredEdge& outer, const MeasuredEdge& inner) {
  if (outer.edge->dark_inside == inner.edge->dark_inside) return false;
  const double ring_light = outer.edge->light_inside, step = std::abs(outer.edge->light_outside - ring_light);
  const bool comes_back = std::abs(inner.edge->light_inside - outer.edge->light_outside) < 0.35 * step;
  const bool narrow =
      outer.circle.radius_mm - inner.circle.radius_mm < kGrooveWidth_ratio * outer.circle.radius_mm;
  return comes_back && narrow;
}

// Names that all differ, those of a further part with its number; the largest part is the first.
void tell_apart(std::vector<MeasuredEdge>& edges) {
  std::vector<int> outermost;
  for (std::size_t i = 0; i < edges.size(); ++i)
    if (edges[i].part == static_cast<int>(i)) outermost.push_back(edges[i].part);
  std::set<std::string> taken;
  for (std::size_t n = 0; n < outermost.size(); ++n)
    for (MeasuredEdge& e : edges) {
      if (e.part != outermost[n]) continue;
      const std::string plain = e.feature.name;
      const auto named = [&](const std::string& name) {
        return n > 0 ? name_in_part(name, static_cast<int>(n) + 1) : name;
      };
      e.feature.name = named(plain);
      for (int number = 2; !taken.insert(e.feature.name).second; ++number)
        e.feature.name = named(fmt::format("{} {}", plain, number));
    }
}

// Outside: the outermost edge. Bore: the innermost one where light turns the other way. Two walls of a ring
// between are a groove, what is left are hub steps.
void find_roles(std::vector<MeasuredEdge>& edges) {
  for (std::size_t i = 0; i < edges.size(); ++i) {
    const bool outermost = edges[i].part == static_cast<int>(i);
    edges[i].role = outermost ? Role::kOutside : Role::kHubStep;
    const bool turned = edges[i].edge->dark_inside != edges[edges[i].part].edge->dark_inside;
    const bool innermost = std::none_of(
        edges.begin() + static_cast<std::ptrdiff_t>(i) + 1, edges.end(), [&](const MeasuredEdge& e) {
          return e.part == edges[i].part && e.edge->dark_inside == edges[i].edge->dark_inside;
        });
    if (!outermost && turned && innermost) edges[i].role = Role::kBore;
  }
  for (std::size_t i = 0; i < edges.size(); ++i) {
    const int inner = next_inside(edges, i);
    if (edges[i].role != Role::kHubStep || inner < 0 || edges[inner].role != Role::kHubStep) continue;
    if (!is_groove(edges[i], edges[inner])) continue;
    edges[i].role = Role::kGrooveOuterWall;
    edges[inner].role = Role::kGrooveInnerWall;
  }
}

// The names that features of a picture get unless the user gives others.
const char* usual_name(Role role) {
  switch (role) {
    case Role::kOutside:
      return "outside";
    case Role::kHubStep:
      return "hub step";
    case Role::kBore:
      return "bore";
    case Role::kGrooveOuterWall:
      return "groove, outer wall";
    case Role::kGrooveInnerWall:
      return "groove, inner wall";
  }
  return "";
}

void name_edges(std::vector<MeasuredEdge>& edges) {
  find_roles(edges);
  for (MeasuredEdge& e : edges) {
    e.feature.kind = e.role == Role::kBore ? FeatureKind::kBore : FeatureKind::kOutside;
    e.feature.name = usual_name(e.role);
  }
  for (MeasuredEdge& e : edges)  // what the solid's rings were found to be
    if (e.edge->ring) {
      e.feature.name = e.edge->ring->name;
      e.feature.kind = e.feature.name == usual_name(Role::kBore) ? FeatureKind::kBore : FeatureKind::kOutside;
    }
}

// How far each inner circle lies off the outside of its part. The centres' uncertainty: that of the fits'
// means, from the budget's lines of the fit (radius u of the fit, times sqrt 2 for a centre: a full circle's
// normal equations).
void add_eccentricity(std::vector<MeasuredEdge>& edges) {
  for (MeasuredEdge& inner : edges) {
    const MeasuredEdge& outer = edges[inner.part];
    if (&inner == &outer || inner.dropped || outer.dropped) continue;
    if (!inner.feature.circle || !outer.feature.circle) continue;
    const Eigen::Vector2d off = inner.feature.circle->center.vec() - outer.feature.circle->center.vec();
    const auto u_center = [](const MeasuredEdge& e) {
      double sum = 0;
      for (const BudgetLine& line : e.feature.budget)
        if (of_the_fit(line.source)) sum += line.u_mm * line.u_mm / 4;  // of the radius
      return std::sqrt(2 * sum);
    };
    const double distance_mm = off.norm(), u_mm = std::hypot(u_center(inner), u_center(outer));
    inner.eccentricity_mm = Estimate{distance_mm, u_mm};
    const int decimals =
        u_mm > 0 ? std::clamp(static_cast<int>(std::ceil(-std::log10(1.9 * u_mm))), 4, 7) : 4;
    std::string text = fmt::format("{:.{}f}", distance_mm, decimals);
    if (u_mm > 0) text += fmt::format(" +- {:.{}f}", u_mm, decimals);
    text += fmt::format(" mm off the middle of {}", outer.feature.name);
    if (distance_mm > 2 * u_mm)
      text += fmt::format(", towards {:.0f} deg", deg(wrap_direction_rad(std::atan2(off.y(), off.x()))));
    text += fmt::format(" (coaxiality as in ISO 1101: {:.{}f} mm)", 2 * distance_mm, decimals);
    inner.feature.warnings.insert(inner.feature.warnings.begin(), {"eccentricity", text});
  }
}

std::string ascii_label(const Feature& feature) {
  if (!feature.circle) return feature.name;
  std::string text = fmt::format("{} {:.3f} mm", feature.name, feature.circle->diameter_mm);
  if (feature.circle->u_diameter_mm) text += fmt::format(" +-{:.3f}", *feature.circle->u_diameter_mm);
  return text;
}

OverlayOutline draw(const MeasuredEdge& measured, const MeasuringPlane& plane) {
  OverlayOutline out;
  out.label = ascii_label(measured.feature);
  const Circle& c = measured.circle;
  const auto at = [&](double direction_rad) -> std::optional<PixelPoint> {
    double r = c.radius_mm;
    if (const auto& e = measured.feature.ellipse; e && e->major_angle_deg)
      r += 0.25 * (e->major_diameter_mm - e->minor_diameter_mm) *
           std::cos(2 * (direction_rad - rad(*e->major_angle_deg)));
    const auto px = pixel_from_part(
        plane, {c.center.x_mm + r * std::cos(direction_rad), c.center.y_mm + r * std::sin(direction_rad)});
    if (!px) return std::nullopt;
    return *px;
  };
  if (measured.edge->wall) out.outline = measured.edge->wall->outline;
  if (measured.edge->ring) out.outline = measured.edge->ring->outline;
  const bool as_seen = !out.outline.empty();
  for (int k = 0; k < 360 && !as_seen; ++k)
    if (const auto px = at(rad(k))) out.outline.push_back(*px);
  for (const ExcludedSector& sector : measured.feature.excluded) {
    double to = sector.to_deg;
    while (to < sector.from_deg) to += 360;
    std::vector<PixelPoint> stretch;
    const double step = std::min(1.0, std::max(0.1, (to - sector.from_deg) / 8));
    for (double d = sector.from_deg - 1; d <= to + 1; d += step)
      if (const auto px = at(rad(d))) stretch.push_back(*px);
    out.left_out.push_back(stretch);
  }
  const auto excluded = [&](double direction_deg) {
    return std::any_of(measured.feature.excluded.begin(), measured.feature.excluded.end(),
                       [&](const ExcludedSector& s) {
                         double span = std::fmod(s.to_deg - s.from_deg + 720, 360),
                                d = std::fmod(direction_deg - s.from_deg + 720, 360);
                         return d <= span;
                       });
  };
  for (std::size_t i = 0; i < measured.edge->points.size(); ++i) {
    const Eigen::Vector2d d = measured.edge->points[i].at.vec() - c.center.vec();
    if (!excluded(deg(wrap_direction_rad(std::atan2(d.y(), d.x())))))
      out.points.push_back(measured.edge->pixels[i]);
  }
  return out;
}

// One edge as a feature of the part; its kind and name are still to come.
Result<Feature> measure_edge(const RoundEdge& edge, const MeasuringPlane& plane,
                             const ReferenceScale* references, const OutlineOptions& outline) {
  const Circle rough = mean_circle(edge.points);
  OutlineOptions options = with_plane(outline, edge, plane, rough);
  auto feature = references
                     ? measure_outline(by_references(*references, edge, plane, rough, options), options)
                     : measure_outline(edge.points, options);
  if (!feature || !feature->circle) return feature;
  feature->source.type = SourceType::kPhoto;
  feature->warnings.insert(feature->warnings.end(), edge.warnings.begin(), edge.warnings.end());
  feature->warnings.insert(feature->warnings.end(), plane.warnings.begin(), plane.warnings.end());
  if (references)
    feature->warnings.push_back({references->contradicts_board() ? "reference-contradicts" : "reference",
                                 references->finding(!plane.outline.empty())});
  feature->pixel_from_part = affine_near(plane, feature->circle->center);
  return feature;
}

// Equal names are numbered, part by part as they are given out.
void number_names(std::vector<MeasuredEdge>& edges) {
  std::vector<std::string> taken;
  for (std::size_t part = 0; part < edges.size(); ++part)
    for (MeasuredEdge& e : edges) {
      if (e.part != static_cast<int>(part)) continue;
      const auto equal = 1 + std::ranges::count(taken, e.feature.name);
      taken.push_back(e.feature.name);
      e.found_as = equal == 1 ? e.feature.name : fmt::format("{} {}", e.feature.name, equal);
    }
}

void call(MeasuredEdge& edge, const std::string& name) {
  edge.dropped = is_not_the_part(name);
  edge.feature.name = name;
  edge.feature.kind = name == usual_name(Role::kBore) ? FeatureKind::kBore : FeatureKind::kOutside;
}

Result<void> apply_choices(
    std::vector<MeasuredEdge>& edges, const PhotoOptions& wanted,
    const std::function<Result<Feature>(const RoundEdge&, const OutlineOptions&)>& again) {
  number_names(edges);
  for (const EdgeChoice& choice : wanted.choices) {
    const auto edge = std::ranges::find(edges, choice.found_as, &MeasuredEdge::found_as);
    if (edge == edges.end()) {
      std::string names;
      for (const MeasuredEdge& e : edges) names += (names.empty() ? "" : ", ") + e.found_as;
      return Error{ErrorCode::kBadArgument, "found no edge '" + choice.found_as + "', there are: " + names};
    }
    if (!choice.left_out.empty() || !choice.taken_in.empty()) {
      OutlineOptions outline = wanted.outline;
      outline.left_out = choice.left_out, outline.taken_in = choice.taken_in;
      auto feature = again(*edge->edge, outline);
      if (!feature) return Error{feature.error().code, choice.found_as + ": " + feature.error().detail};
      if (!feature->circle) return Error{ErrorCode::kNoAnswer, choice.found_as + ": too little is left"};
      feature->name = edge->feature.name, feature->kind = edge->feature.kind;
      edge->feature = std::move(*feature);
      edge->circle = {edge->feature.circle->center, 0.5 * edge->feature.circle->diameter_mm};
    }
    if (!choice.called.empty()) call(*edge, choice.called);
  }
  return {};
}

}  // namespace

bool is_not_the_part(const std::string& called) {
  return called == "shadow" || called == "foot" || called == "mark" || called == "leave out";
}

Result<std::optional<ReferenceScale>> reference_scale(const Picture& picture, const MeasuringPlane& plane,
                                                      const std::vector<ReferencePiece>& pieces,
                                                      const EdgeOptions& edges) {
  if (pieces.empty()) return std::optional<ReferenceScale>();
  std::vector<ReferenceReading> readings;
  for (const ReferencePiece& piece : pieces) {
    auto reading = read_reference_piece(picture, plane, piece, edges);
    if (!reading) return reading.error();
    readings.push_back(std::move(*reading));
  }
  auto scale = ReferenceScale::from(std::move(readings), plane.u_scale_ratio);
  if (!scale) return scale.error();
  return std::optional<ReferenceScale>(std::move(*scale));
}

namespace {

// The board's size counted in the picture, where all its sides are seen.
Result<BoardSize> size_as_seen(const Picture& picture, double square_mm) {
  constexpr int kAny = 1000;
  const auto seen = find_board(picture, {kAny, kAny, square_mm});
  if (!seen) {
    if (seen.error().code != ErrorCode::kNoBoard) return seen.error();
    return Error{ErrorCode::kNoBoard,
                 "found no whole chessboard to count; needed one in focus with white paper "
                 "round it, or its size, such as --board 9x6"};
  }
  if (seen->border_left && seen->border_right && seen->border_top && seen->border_bottom)
    return BoardSize{seen->columns, seen->rows, square_mm};
  return Error{ErrorCode::kNoBoard,
               fmt::format("found {}x{} corners of a chessboard that goes on beyond; needed its "
                           "size, such as --board 9x6, or all of it in the picture",
                           seen->columns, seen->rows)};
}

// The plane of a board of known size; one whose squares were counted instead of its inner corners has one less each
// way.
Result<MeasuringPlane> plane_of_board(const Picture& picture, const BoardSize& told,
                                      const std::optional<CameraCalibration>& camera,
                                      const BoardPlaneOptions& options) {
  BoardSize size = told;
  if (told.columns == 0) {
    const auto seen = size_as_seen(picture, told.square_mm);
    if (!seen) return seen.error();
    size = *seen;
  }
  auto plane = plane_from_board(picture, size, camera, options);
  if (plane || plane.error().code != ErrorCode::kBoardMismatch || told.columns < 4 || told.rows < 4)
    return plane;
  auto by_corners =
      plane_from_board(picture, {told.columns - 1, told.rows - 1, told.square_mm}, camera, options);
  if (!by_corners) return plane;
  by_corners->warnings.push_back(
      {"board-squares-counted",
       fmt::format("the board has {} squares, so {}x{} inner corners: --board counts corners", told.text(),
                   told.columns - 1, told.rows - 1)});
  return by_corners;
}

}  // namespace

Result<MeasuringPlane> plane_of_photo(const Picture& picture, const PhotoOptions& options) {
  Result<MeasuringPlane> plane = [&]() -> Result<MeasuringPlane> {
    if (options.scan) return scan_plane(picture, *options.scan);
    if (options.scale_px_per_mm)
      return plane_of_scale(picture.width_px, picture.height_px, options.scale_px_per_mm->value,
                            options.scale_px_per_mm->u);
    if (options.board) {
      std::optional<CameraCalibration> camera;
      if (options.calibration) camera = options.calibration->camera;
      return plane_of_board(picture, *options.board, camera, options.board_options);
    }
    if (options.calibration) return plane_for(*options.calibration, picture);
    return Error{ErrorCode::kBadArgument, "found no scale, needed a calibration, a board or a known scale"};
  }();
  if (!plane || !options.height_mm || (options.height_mm->value == 0 && options.height_mm->u == 0))
    return plane;
  return at_height(*plane, options.height_mm->value, options.height_mm->u);
}

Result<PhotoMeasurement> measure_photo(const std::string& file, const PhotoOptions& options) {
  const auto picture = load_picture(file, options.channel);
  if (!picture) return picture.error();
  const auto plane = plane_of_photo(*picture, options);
  if (!plane) return plane.error();
  return measure_photo(*picture, *plane, options);
}

Result<PhotoMeasurement> measure_photo(const Picture& picture, const MeasuringPlane& plane,
                                       const PhotoOptions& wanted) {
  const auto scale = reference_scale(picture, plane, wanted.references, wanted.edges);
  if (!scale) return scale.error();
  const ReferenceScale* references = *scale ? &**scale : nullptr;
  std::vector<NotThePart> others;
  auto found = find_round_edges(picture, plane, wanted.edges);
  if (!found && found.error().code != ErrorCode::kNoRoundEdge) return found.error();
  const bool untold = !wanted.height_mm && plane.height_mm == 0 && plane.board_squares && !references;
  const bool flat =
      wanted.height_mm && plane.height_mm == 0 && plane.u_height_mm == 0 && plane.board_squares && found;
  if (plane.height_mm > 0 || untold || flat) {
    SolidOptions solid;
    if (!untold) solid.height_mm = Estimate{plane.height_mm, plane.u_height_mm};
    solid.linear_light = wanted.edges.linear_light;
    auto scene = weigh_solid_parts(picture, plane, found ? *found : std::vector<RoundEdge>{}, solid);
    others = std::move(scene.others);
    if (scene.edges.empty() && !scene.refused.empty()) return scene.refused.front();
    if (!scene.edges.empty()) found = std::move(scene.edges);
    if (!scene.refused.empty())
      found->front().warnings.push_back({"part-refused", scene.refused.front().detail});
  }
  if (!found) return found.error();
  std::vector<MeasuredEdge> edges;
  std::optional<Error> first_error;
  for (const RoundEdge& edge : *found) {
    if (references && references->is_piece(edge)) continue;
    auto feature = measure_edge(edge, plane, references, wanted.outline);
    if (!feature || !feature->circle) {
      if (!feature && !first_error) first_error = feature.error();
      continue;
    }
    const Circle circle{feature->circle->center, 0.5 * feature->circle->diameter_mm};
    edges.push_back({&edge, std::move(*feature), circle});
  }
  if (edges.empty() && !first_error)
    return Error{ErrorCode::kNoRoundEdge, "found the references alone, needed is a part in the picture"};
  if (edges.empty()) return *first_error;
  std::stable_sort(edges.begin(), edges.end(), [](const MeasuredEdge& a, const MeasuredEdge& b) {
    return a.circle.radius_mm > b.circle.radius_mm;
  });
  group(edges);
  name_edges(edges);
  tell_apart(edges);
  const auto again = [&](const RoundEdge& edge, const OutlineOptions& outline) {
    return measure_edge(edge, plane, references, outline);
  };
  if (const auto chosen = apply_choices(edges, wanted, again); !chosen) return chosen.error();
  add_eccentricity(edges);
  if (std::ranges::all_of(edges, &MeasuredEdge::dropped))
    return Error{ErrorCode::kNoRoundEdge, "all edges were left out by hand, needed one"};
  PhotoMeasurement out;
  // Part by part, its outside first.
  for (std::size_t part = 0; part < edges.size(); ++part)
    for (MeasuredEdge& e : edges) {
      if (e.part != static_cast<int>(part)) continue;
      if (e.dropped) {
        out.not_the_part.push_back({e.found_as, e.feature.name, draw(e, plane)});
        out.not_the_part.back().outline.label = e.feature.name, out.not_the_part.back().outline.aside = true;
        continue;
      }
      out.found_as.push_back(e.found_as);
      out.outlines.push_back(draw(e, plane));
      out.eccentricities_mm.push_back(e.eccentricity_mm);
      out.features.push_back(std::move(e.feature));
    }
  for (NotThePart& other : others) {
    OverlayOutline drawn;
    drawn.outline = std::move(other.outline), drawn.label = other.what, drawn.aside = true;
    out.not_the_part.push_back({"", other.what, std::move(drawn)});
  }
  return out;
}

}  // namespace rondure
