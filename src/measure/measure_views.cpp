#include "rondure/measure/measure_views.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <future>
#include <thread>

#include "measured_edges.hpp"

namespace rondure {
namespace {

OutlineOptions with_views(const OutlineOptions& stated, const JointRim& edge, double u_scale_ratio) {
  OutlineOptions options = stated;
  options.correlated = true;
  options.u_edge_offset_mm = edge.edge.u_edge_offset_mm;
  options.u_scale_ratio = u_scale_ratio;
  options.second_harmonic_mm2 = edge.second_harmonic_mm2;
  if (edge.u_place_mm > 0) options.more.push_back({UncertaintySource::kBoardAndLens, edge.u_place_mm});
  const double u_height_mm = std::hypot(edge.u_height_mm, edge.edge.ring ? edge.edge.ring->u_diameter_mm : 0);
  if (u_height_mm > 0) options.more.push_back({UncertaintySource::kHeight, u_height_mm});
  return options;
}

Result<PartView> view_of(const std::string& file, const PhotoOptions& options) {
  auto picture = load_picture(file, options.channel);
  if (!picture) return picture.error();
  PhotoOptions at_board = options;
  at_board.height_mm.reset();
  auto plane = plane_of_photo(*picture, at_board);
  if (!plane) return Error{plane.error().code, file + ": " + plane.error().detail};
  return PartView{file, std::move(*picture), std::move(*plane)};
}

// Read side by side, a few at a time: pictures are large.
Result<std::vector<PartView>> views_of(const std::vector<std::string>& files, const PhotoOptions& options) {
  std::vector<PartView> views;
  const std::size_t together = std::max(1u, std::thread::hardware_concurrency());
  for (std::size_t i = 0; i < files.size(); i += together) {
    std::vector<std::future<Result<PartView>>> reading;
    for (std::size_t k = i; k < std::min(files.size(), i + together); ++k)
      reading.push_back(std::async(std::launch::async, [&, k] { return view_of(files[k], options); }));
    std::optional<Error> error;
    for (auto& one : reading) {
      auto view = one.get();
      if (!view && !error) error = view.error();
      if (view) views.push_back(std::move(*view));
    }
    if (error) return *error;
  }
  return views;
}

Result<void> one_camera(const std::vector<PartView>& views) {
  for (const PartView& v : views) {
    const Picture &a = views.front().picture, &b = v.picture;
    if (std::minmax(a.width_px, a.height_px) != std::minmax(b.width_px, b.height_px))
      return Error{
          ErrorCode::kCalibrationMismatch,
          fmt::format("{} is {} x {} px, {} is {} x {}: another camera or zoom; needed views of one camera",
                      v.name, b.width_px, b.height_px, views.front().name, a.width_px, a.height_px)};
  }
  return {};
}

// One picture given twice shows no height, and counts its noise twice.
Result<void> no_picture_twice(const std::vector<PartView>& views) {
  for (std::size_t i = 1; i < views.size(); ++i)
    for (std::size_t j = 0; j < i; ++j)
      if (views[i].picture.grey8 == views[j].picture.grey8 &&
          views[i].picture.grey16 == views[j].picture.grey16)
        return Error{
            ErrorCode::kBadArgument,
            fmt::format("--one-part: {} is the same picture as {}, needed photographs from different "
                        "places (15 to 25 degrees apart)",
                        views[i].name,
                        i == j + 1 && views[i].name == views[j].name ? "the one before it" : views[j].name)};
  return {};
}

Result<Feature> feature_of(const JointRim& edge, double u_scale_ratio, const OutlineOptions& stated) {
  auto feature = measure_outline(edge.edge.points, with_views(stated, edge, u_scale_ratio));
  if (!feature || !feature->circle) return feature;
  feature->source.type = SourceType::kPhoto;
  feature->warnings.insert(feature->warnings.end(), edge.edge.warnings.begin(), edge.edge.warnings.end());
  feature->height_mm = edge.edge.height_mm, feature->u_height_mm = edge.edge.u_height_mm;
  return feature;
}

}  // namespace

Result<ViewsMeasurement> measure_one_part(const std::vector<std::string>& files,
                                          const PhotoOptions& options) {
  if (files.size() < 2)
    return Error{ErrorCode::kBadArgument, "--one-part: found one photograph, needed two or more of one part"};
  if (!options.board || options.scan || options.scale_px_per_mm || !options.references.empty())
    return Error{ErrorCode::kBadArgument,
                 "--one-part: needed the board in every picture (--board, --square) and no other scale"};
  auto views = views_of(files, options);
  if (!views) return views.error();
  if (const auto same = one_camera(*views); !same) return same.error();
  if (const auto twice = no_picture_twice(*views); !twice) return twice.error();
  ViewsOptions wanted;
  wanted.height_mm = options.height_mm, wanted.near = options.edges.near;
  wanted.linear_light = options.edges.linear_light;
  if (options.calibration && options.calibration->camera)
    wanted.lens_covariance = options.calibration->camera->covariance;
  auto part = find_part_in_views(*views, wanted);
  if (!part) return part.error();

  ViewsMeasurement out;
  out.views = std::move(part->views);
  out.calibration = views->front().board.description;
  std::vector<MeasuredEdge> edges;
  std::vector<const JointRim*> from;
  const double u_scale_ratio = views->front().board.u_scale_ratio;
  for (const JointRim& edge : part->edges) {
    auto feature = feature_of(edge, u_scale_ratio, options.outline);
    if (!feature) {
      if (edge.outside) return feature.error();
      continue;
    }
    if (!feature->circle) continue;
    const Circle circle{feature->circle->center, 0.5 * feature->circle->diameter_mm};
    edges.push_back({&edge.edge, std::move(*feature), circle});
    from.push_back(&edge);
  }
  if (edges.empty()) return Error{ErrorCode::kNoRoundEdge, "found no round edge that can be measured"};
  name_edges(edges);
  out.outlines.resize(views->size());
  for (std::size_t i = 0; i < edges.size(); ++i) {
    MeasuredEdge& e = edges[i];
    if (i == 0)
      e.feature.warnings.insert(e.feature.warnings.end(), part->warnings.begin(), part->warnings.end());
    for (std::size_t v = 0; v < views->size(); ++v) {
      if (from[i]->outlines[v].empty()) continue;
      OverlayOutline drawn;
      drawn.outline = from[i]->outlines[v];
      drawn.label = fmt::format("{} {:.3f} mm", e.feature.name, e.feature.circle->diameter_mm);
      if (e.feature.circle->u_diameter_mm)
        drawn.label += fmt::format(" +-{:.3f}", *e.feature.circle->u_diameter_mm);
      out.outlines[v].push_back(std::move(drawn));
    }
    out.measured.found_as.push_back(e.found_as);
    out.measured.eccentricities_mm.push_back(e.eccentricity_mm);
    out.measured.features.push_back(std::move(e.feature));
  }
  for (NotThePart& other : part->others) {
    OverlayOutline drawn;
    drawn.outline = std::move(other.outline), drawn.label = usual_name(other.role), drawn.aside = true;
    if (!drawn.outline.empty() && !out.outlines.empty()) out.outlines.front().push_back(drawn);
    out.on_the_board.push_back({drawn.label, other.circle});
    out.measured.not_the_part.push_back({"", drawn.label, drawn, other.circle});
  }
  return out;
}

}  // namespace rondure
