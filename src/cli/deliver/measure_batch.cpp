#include "cli/deliver/measure_batch.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "rondure/core/quoting.hpp"
#include "rondure/core/warning.hpp"

namespace rondure::cli {
namespace {

std::string csv_number(std::optional<double> value) { return value ? fmt::format("{:.6f}", *value) : ""; }

}  // namespace

std::string csv_table(const std::vector<MeasuredPhoto>& photos) {
  std::string text =
      "file,feature,kind,diameter_mm,u_diameter_mm,diameter95_lo_mm,diameter95_hi_mm,ovality_mm,u_ovality_mm,"
      "verdict,x_mm,y_mm,eccentricity_mm,u_eccentricity_mm,points,coverage_deg,error\n";
  for (const MeasuredPhoto& photo : photos) {
    if (photo.error)
      text += csv_field(photo.file) + ",,,,,,,,,,,,,,,," + csv_field(photo.error->message()) + "\n";
    for (std::size_t k = 0; k < photo.measured.features.size(); ++k) {
      const Feature& f = photo.measured.features[k];
      const auto& off = photo.measured.eccentricities_mm[k];
      const auto& c = *f.circle;
      const auto field = [&](auto value) { text += "," + csv_number(value); };
      text += csv_field(photo.file) + "," + csv_field(f.name) + "," + csv_field(std::string(f.kind.word()));
      field(std::optional(c.diameter_mm)), field(c.u_diameter_mm);
      field(c.diameter95_mm ? std::optional(c.diameter95_mm->lo) : std::nullopt);
      field(c.diameter95_mm ? std::optional(c.diameter95_mm->hi) : std::nullopt);
      field(f.ellipse ? std::optional(f.ellipse->ovality_mm) : std::nullopt);
      field(f.ellipse ? f.ellipse->u_ovality_mm : std::nullopt);
      text += "," + csv_field(std::string(name(f.verdict)));
      field(std::optional(c.center.x_mm)), field(std::optional(c.center.y_mm));
      field(off ? std::optional(off->value) : std::nullopt);
      field(off ? std::optional(off->u) : std::nullopt);
      text += fmt::format(",{},{:.0f},\n", f.points.used, f.points.coverage_deg);
    }
  }
  return text;
}

std::string batch_summary(const std::vector<MeasuredPhoto>& photos) {
  const auto failed =
      std::ranges::count_if(photos, [](const MeasuredPhoto& p) { return p.error.has_value(); });
  std::size_t features = 0, marked = 0;
  for (const MeasuredPhoto& photo : photos)
    for (const Feature& f : photo.measured.features) {
      ++features;
      marked += std::ranges::any_of(f.warnings, is_caution);
    }
  std::string text = fmt::format("{} of {} photographs measured, {} feature{}",
                                 photos.size() - static_cast<std::size_t>(failed), photos.size(), features,
                                 features == 1 ? "" : "s");
  if (marked > 0) text += fmt::format(", {} with a warning", marked);
  return text + (failed > 0 ? fmt::format("; {} could not be measured", failed) : "");
}

}  // namespace rondure::cli
