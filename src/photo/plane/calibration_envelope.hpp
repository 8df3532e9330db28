// What small calibration files share: format, version, kind, sources.
#pragma once
#include <filesystem>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "rondure/photo/calibration.hpp"

namespace rondure {

using Json = nlohmann::ordered_json;

Json calibration_envelope(const std::string& kind, const std::vector<CalibrationSource>& made_from,
                          const std::string& when);
std::string calibration_text(const Json& calibration);
// Errors: kFileDamaged, kBadCalibration (another kind; `made_by` is the command that writes the right one).
Result<Json> open_calibration(const std::string& json_text, const std::string& kind,
                              const std::string& made_by);
std::vector<CalibrationSource> sources_of(const Json& calibration);

// Empty where the number is missing or outside [lo, hi].
std::optional<double> number_in(const Json& object, const char* key, double lo, double hi);
std::string text_in(const Json& object, const char* key);

// The text of a file of at most 1 MiB. Errors: kFileMissing, kFileUnreadable, kFileDamaged.
Result<std::string> calibration_bytes(const std::filesystem::path& file);

}  // namespace rondure
