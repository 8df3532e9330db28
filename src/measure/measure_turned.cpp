#include "rondure/measure/measure_turned.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "rondure/core/parallel.hpp"

namespace rondure {
namespace {

constexpr double kOneSize_ratio = 0.01;  // apart by more is another part or edge; by judgement

// The outside as one picture shows it.
Result<Feature> outside_in(const std::string& file, const PhotoOptions& options) {
  auto measured = measure_photo(file, options);
  if (!measured) {
    const bool named = measured.error().detail.find(file) != std::string::npos;
    return named ? measured.error() : Error{measured.error().code, file + ": " + measured.error().detail};
  }
  return std::move(measured->features.front());
}

// What is wrong in all pictures alike stays as the first has it; the false ovality is measured now.
OutlineOptions with_shared(const OutlineOptions& stated, const Feature& first, double u_second_harmonic_mm) {
  OutlineOptions options = stated;
  options.correlated = true;
  options.second_harmonic_mm2 = u_second_harmonic_mm * u_second_harmonic_mm * Eigen::Matrix2d::Identity();
  for (const BudgetLine& line : first.budget) {
    if (of_the_fit(line.source) || line.source == UncertaintySource::kTemperature) continue;
    if (line.source == UncertaintySource::kScale)
      options.u_scale_ratio = line.u_mm / first.circle->diameter_mm;
    else if (line.source == UncertaintySource::kEdgeOffset)
      options.u_edge_offset_mm = line.u_mm / 2;
    else
      options.more.push_back(line);
  }
  return options;
}

}  // namespace

Result<TurnedMeasurement> measure_turned(const std::vector<std::string>& files, const PhotoOptions& options,
                                         const std::vector<double>& angles_deg) {
  if (files.size() < 3)
    return Error{
        ErrorCode::kBadArgument,
        fmt::format("--turned: found {} pictures, needed three or more of the part turned", files.size())};
  PhotoOptions cold = options;  // brought to 20 degrees once, at the end
  cold.outline.temperature_c.reset();
  std::vector<std::optional<Result<Feature>>> seen(files.size());
  in_parallel(static_cast<int>(files.size()), [&](int k) {
    seen[static_cast<std::size_t>(k)] = outside_in(files[static_cast<std::size_t>(k)], cold);
  });
  TurnedMeasurement out;
  std::vector<TurnedOutline> outlines;
  for (std::size_t k = 0; k < files.size(); ++k) {
    if (!*seen[k]) return seen[k]->error();
    const Feature& f = **seen[k];
    const double first_mm = (*seen.front())->circle->diameter_mm;
    if (std::abs(f.circle->diameter_mm - first_mm) > kOneSize_ratio * first_mm)
      return Error{ErrorCode::kNoAnswer,
                   fmt::format("{} shows {:.3f} mm, {} {:.3f} mm: another part or edge; needed one part",
                               files[k], f.circle->diameter_mm, files[0], first_mm)};
    outlines.push_back({0.5 * f.circle->diameter_mm, f.profile});
    out.pictures.push_back({files[k], 0, f.circle->diameter_mm, 0});
  }
  std::vector<double> angles = angles_deg;
  if (angles.empty()) {
    const auto found = turned_angles(outlines);
    if (!found) return found.error();
    angles = *found, out.angles_found = true;
  }
  auto divided = divide_turned(outlines, angles);
  if (!divided) return divided.error();
  out.harmonics = divided->harmonics;
  const TurnedHarmonic& oval = out.harmonics.front();
  const Feature& first = **seen.front();
  auto feature = measure_outline(divided->points, with_shared(options.outline, first, oval.u_part_mm));
  if (!feature) return feature.error();
  if (!feature->circle) return Error{ErrorCode::kNoAnswer, "the pictures' outlines give no circle together"};
  feature->name = first.name, feature->kind = first.kind;
  feature->source = first.source, feature->source.file = files.front();
  feature->height_mm = first.height_mm, feature->u_height_mm = first.u_height_mm;
  feature->circle->center = first.circle->center;
  for (std::size_t k = 0; k < files.size(); ++k) {
    out.pictures[k].angle_deg = angles[k];
    double a = 0, b = 0, n = 0;
    for (const ProfilePoint& p : outlines[k].profile)
      if (p.used)
        a += p.deviation_mm * std::cos(2 * rad(p.angle_deg)),
            b += p.deviation_mm * std::sin(2 * rad(p.angle_deg)), n += 1;
    out.pictures[k].ovality_mm = 8 * std::hypot(a, b) / std::max(1.0, n);
  }
  out.ovality_part_mm = 4 * oval.part_mm, out.u_ovality_part_mm = 4 * oval.u_part_mm;
  out.ovality_picture_mm = 4 * oval.picture_mm, out.u_ovality_picture_mm = 4 * oval.u_picture_mm;
  out.picture_axis_deg = oval.picture_phase_deg;
  out.stretch_ratio = 2 * oval.picture_mm / divided->radius_mm,
  out.u_stretch_ratio = 2 * oval.u_picture_mm / divided->radius_mm;
  feature->warnings.insert(
      feature->warnings.begin(),
      {{"turns-with-part", fmt::format("turns with the part: oval by {:.4f} +- {:.4f} mm",
                                       out.ovality_part_mm, out.u_ovality_part_mm)},
       {"stays-with-picture",
        fmt::format("stays in the pictures: oval by {:.4f} +- {:.4f} mm, long axis at {:.0f} deg, as if "
                    "board, camera or "
                    "scanner stretched by {:.3f} +- {:.3f} % that way; taken off",
                    out.ovality_picture_mm, out.u_ovality_picture_mm, out.picture_axis_deg,
                    100 * out.stretch_ratio, 100 * out.u_stretch_ratio)}});
  out.feature = std::move(*feature);
  return out;
}

}  // namespace rondure
