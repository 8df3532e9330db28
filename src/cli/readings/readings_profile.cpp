#include "cli/readings/readings_profile.hpp"

#include <fmt/format.h>

#include "cli/deliver/deliver_profile.hpp"
#include "cli/deliver/side_features.hpp"
#include "rondure/record/part_record.hpp"
#include "rondure/record/profile_section.hpp"

namespace rondure::cli {
namespace {

std::vector<Feature> features_of_file(const std::string& file, const Readings& readings,
                                      const SideProfile& profile) {
  std::vector<Feature> features = features_of(profile);
  for (Feature& f : features) {
    f.source.type = SourceType::kReadings, f.source.file = file, f.source.time = now_utc();
    f.points.count = f.points.used = static_cast<int>(readings.points.size());
  }
  return features;
}

}  // namespace

void add_along_option(CLI::App& command, std::string& word) {
  command
      .add_option(
          "--along", word,
          "readings along the axis, a profile: position, and there the radius, the diameter, or an edge "
          "across the axis (larger: farther out)")
      ->type_name("radius|diameter|edge");
}

Result<std::optional<ProfileReading>> read_along(const std::string& word) {
  if (word.empty()) return std::optional<ProfileReading>{};
  const auto what = parse_profile_word(word);
  if (!what)
    return Error{ErrorCode::kBadArgument, "--along: found '" + word + "', needed radius, diameter or edge"};
  return what;
}

Result<PartRecord> record_of_profile(const std::string& file, const Readings& readings,
                                     const StageCalibration* stage, std::optional<double> sigma_mm) {
  const auto profile = measure_profile(readings, stage, {sigma_mm, {}});
  if (!profile) return profile.error();
  PartRecord record;
  record.features = features_of_file(file, readings, *profile);
  put_profile(record, *profile);
  return record;
}

int deliver_readings_profile(const std::string& file, const Readings& readings, const StageCalibration* stage,
                             std::optional<double> sigma_mm, const CommonOptions& common) {
  if (const auto ok = refuse_given({{"--feature", !common.feature.empty()},
                                    {"--kind", !common.kind.empty()},
                                    {"--temperature", !common.temperature.empty()}},
                                   "has no effect on a profile");
      !ok)
    return report_error(ok.error());
  const auto profile = measure_profile(readings, stage, {sigma_mm, {}});
  if (!profile) return report_error(profile.error(), file);
  return deliver_profile(features_of_file(file, readings, *profile), *profile, common);
}

std::string profile_so_far(const Readings& readings, const StageCalibration* stage) {
  const auto profile = measure_profile(readings, stage, {});
  if (!profile) return "no pieces yet: " + profile.error().detail;
  std::string text = "pieces so far:";
  for (const ProfileSegment& s : profile->segments) {
    text += std::string(" ") + segment_word(s.kind);
    if (s.kind == SegmentKind::kArc && s.radius_mm)
      text += fmt::format(" (R {:.3f} mm)", s.radius_mm->value);
    else if (s.kind == SegmentKind::kCylinder && s.diameter_mm)
      text += fmt::format(" ({:.3f} mm)", s.diameter_mm->value);
  }
  return text;
}

}  // namespace rondure::cli
