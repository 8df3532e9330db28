#include "rondure/measure/measure_photo.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <string>

#include "eccentricity.hpp"
#include "measured_edges.hpp"
#include "rondure/core/length.hpp"
#include "rondure/core/parallel.hpp"
#include "rondure/core/warning.hpp"
#include "rondure/photo/solid_part.hpp"

namespace rondure {
namespace {

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
  // Light and shade along the wall of a bore or a hub step move its rim here and there: of bores and hubs that are round,
  // in 55 ray-traced edges, the coefficients of orders 2 to 15 are 0.5 to 2.1 times the offset's uncertainty (rms).
  if (edge.ring) {
    options.u_lobes_mm = edge.u_edge_offset_mm;
    options.second_harmonic_mm2 +=
        edge.u_edge_offset_mm * edge.u_edge_offset_mm * Eigen::Matrix2d::Identity();
  }
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

// A part is seldom so much taller than wide: a slip of the point in the height changes every size by as much.
constexpr double kTallest_ratio = 2;
void doubt_height(std::vector<MeasuredEdge>& edges, const MeasuringPlane& plane, const PhotoOptions& wanted) {
  if (!wanted.height_mm || edges.empty()) return;
  const double widest_mm = 2 * edges.front().circle.radius_mm;  // largest first
  if (plane.height_mm < kTallest_ratio * widest_mm) return;
  edges.front().feature.warnings.insert(
      edges.front().feature.warnings.begin(),
      {"height-unlikely",
       fmt::format("the edge was told to stand {:.4g} mm above the board, {:.1f} times the part's own "
                   "diameter: is that a slip of the point? Every size hangs on it",
                   plane.height_mm, plane.height_mm / widest_mm)});
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
  if (references && references->in_picture())
    feature->warnings.push_back(
        {references->contradicts_board() ? WarningCode("reference-contradicts") : WarningCode("reference"),
         references->finding(!plane.outline.empty())});
  feature->pixel_from_part = affine_near(plane, feature->circle->center);
  if (edge.u_height_mm || plane.height_mm != 0) {
    feature->height_mm = edge.height_mm.value_or(plane.height_mm);
    feature->u_height_mm = edge.u_height_mm.value_or(plane.u_height_mm);
  }
  return feature;
}

void call(MeasuredEdge& edge, const std::string& name) {
  edge.dropped = is_not_the_part(name);
  edge.feature.name = name;
  edge.feature.kind = kind_of(role_of_word(name).value_or(EdgeRole::kOutside));
  std::erase_if(edge.feature.warnings,
                [](const Warning& w) { return w.code == WarningCode("inner-edge-not-answered"); });
}

Result<void> apply_choices(
    std::vector<MeasuredEdge>& edges, const PhotoOptions& wanted,
    const std::function<Result<Feature>(const RoundEdge&, const OutlineOptions&)>& again) {
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

Result<std::vector<ReferenceReading>> read_all(const Picture& picture, const MeasuringPlane& plane,
                                               const std::vector<ReferencePiece>& pieces,
                                               const EdgeOptions& edges) {
  std::vector<ReferenceReading> readings;
  for (const ReferencePiece& piece : pieces) {
    auto reading = read_reference_piece(picture, plane, piece, edges);
    if (!reading) return reading.error();
    readings.push_back(std::move(*reading));
  }
  return readings;
}

Result<std::optional<ReferenceScale>> combined(std::vector<ReferenceReading> readings, double u_scale_ratio) {
  if (readings.empty()) return std::optional<ReferenceScale>();
  auto scale = ReferenceScale::from(std::move(readings), u_scale_ratio);
  if (!scale) return scale.error();
  return std::optional<ReferenceScale>(std::move(*scale));
}

// The pieces in the picture, and the one that a scanner's axes were learned from.
Result<std::optional<ReferenceScale>> scale_of_references(const Picture& picture, const MeasuringPlane& plane,
                                                          const PhotoOptions& wanted) {
  constexpr double kScaleNotKnown_ratio = 1;  // but by the pieces
  auto readings = read_all(picture, plane, wanted.references, wanted.edges);
  if (!readings) return readings.error();
  const bool learned = wanted.scan && wanted.scan->scanner && wanted.scan->scanner->reference;
  if (learned) readings->push_back(*wanted.scan->scanner->reference);
  return combined(std::move(*readings), learned ? kScaleNotKnown_ratio : plane.u_scale_ratio);
}

}  // namespace

bool is_not_the_part(const std::string& called) {
  const auto role = role_of_word(called);
  return called == "leave out" || (role && !is_of_the_part(*role));
}

Result<std::optional<ReferenceScale>> reference_scale(const Picture& picture, const MeasuringPlane& plane,
                                                      const std::vector<ReferencePiece>& pieces,
                                                      const EdgeOptions& edges) {
  auto readings = read_all(picture, plane, pieces, edges);
  if (!readings) return readings.error();
  return combined(std::move(*readings), plane.u_scale_ratio);
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
  const auto scale = scale_of_references(picture, plane, wanted);
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
  std::vector<Result<Feature>> measured(found->size(), Error{});
  in_parallel(static_cast<int>(found->size()), [&](int i) {
    const RoundEdge& edge = (*found)[i];
    if (!references || !references->is_piece(edge))
      measured[i] = measure_edge(edge, plane, references, wanted.outline);
  });
  for (std::size_t i = 0; i < found->size(); ++i) {
    const RoundEdge& edge = (*found)[i];
    if (references && references->is_piece(edge)) continue;
    Result<Feature>& feature = measured[i];
    if (!feature || !feature->circle) {
      if (!feature && !first_error) first_error = feature.error();
      continue;
    }
    const Circle circle{feature->circle->center, 0.5 * feature->circle->diameter_mm};
    edges.push_back({&edge, std::move(*feature), circle});
  }
  if (edges.empty() && !first_error)
    return Error{ErrorCode::kNoRoundEdge, "found the references alone, needed a part in the picture"};
  if (edges.empty()) return *first_error;
  std::stable_sort(edges.begin(), edges.end(), [](const MeasuredEdge& a, const MeasuredEdge& b) {
    return a.circle.radius_mm > b.circle.radius_mm;
  });
  name_edges(edges);
  const auto again = [&](const RoundEdge& edge, const OutlineOptions& outline) {
    return measure_edge(edge, plane, references, outline);
  };
  if (const auto chosen = apply_choices(edges, wanted, again); !chosen) return chosen.error();
  add_eccentricity(edges, plane, wanted.height_mm.has_value());
  doubt_height(edges, plane, wanted);
  if (std::ranges::all_of(edges, &MeasuredEdge::dropped))
    return Error{ErrorCode::kNoRoundEdge, "all edges were left out by hand, needed one"};
  PhotoMeasurement out;
  // Part by part, its outside first.
  for (std::size_t part = 0; part < edges.size(); ++part)
    for (MeasuredEdge& e : edges) {
      if (e.part != static_cast<int>(part)) continue;
      if (e.dropped) {
        out.not_the_part.push_back({e.found_as, e.feature.name, draw(e, plane), e.circle});
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
    drawn.outline = std::move(other.outline), drawn.label = usual_name(other.role), drawn.aside = true;
    out.not_the_part.push_back({"", drawn.label, drawn, other.circle});
  }
  return out;
}

}  // namespace rondure
