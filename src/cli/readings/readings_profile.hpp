// Readings along the axis, of `record` and `fit`: option, answer, delivery.
#pragma once
#include <optional>
#include <string>

#include "cli/terminal/command.hpp"
#include "rondure/measure/measure_profile.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure::cli {

void add_along_option(CLI::App& command, std::string& word);
Result<std::optional<ProfileReading>> read_along(const std::string& word);

// What a file of profile readings gives, as a record: the profile and its features. Errors: those of measure_profile.
Result<PartRecord> record_of_profile(const std::string& file, const Readings& readings,
                                     const StageCalibration* stage, std::optional<double> sigma_mm);
// Text, record and JSON of a file of profile readings. `file`: as the record names it.
int deliver_readings_profile(const std::string& file, const Readings& readings, const StageCalibration* stage,
                             std::optional<double> sigma_mm, const CommonOptions& common);
// "pieces so far: face crown face; R 12.94 +- 0.05 mm", in one line.
std::string profile_so_far(const Readings& readings, const StageCalibration* stage);

}  // namespace rondure::cli
