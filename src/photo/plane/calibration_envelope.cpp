#include "photo/plane/calibration_envelope.hpp"

#include <fstream>
#include <iterator>

namespace rondure {
namespace {

constexpr const char* kFormat = "rondure-calibration";
constexpr std::uintmax_t kMostBytes = 1u << 20;

}  // namespace

Json calibration_envelope(const std::string& kind, const std::vector<CalibrationSource>& made_from,
                          const std::string& when) {
  Json j = {{"format", kFormat}, {"version", 1}, {"kind", kind}};
  for (const CalibrationSource& s : made_from)
    j["made_from"].push_back({{"file", s.file}, {"sha256", s.sha256}});
  j["when"] = when;
  return j;
}

std::string calibration_text(const Json& calibration) {
  return calibration.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

std::optional<double> number_in(const Json& object, const char* key, double lo, double hi) {
  if (!object.is_object()) return {};
  const auto it = object.find(key);
  if (it == object.end() || !it->is_number()) return {};
  const double value = it->get<double>();
  if (!(value >= lo && value <= hi)) return {};
  return value;
}

std::string text_in(const Json& object, const char* key) {
  if (!object.is_object()) return {};
  const auto it = object.find(key);
  return it != object.end() && it->is_string() ? it->get<std::string>() : std::string();
}

Result<Json> open_calibration(const std::string& json_text, const std::string& kind,
                              const std::string& made_by) {
  Json j = Json::parse(json_text, nullptr, false);
  if (j.is_discarded()) return Error{ErrorCode::kFileDamaged, "the JSON breaks off or is wrong"};
  if (text_in(j, "format") != kFormat)
    return Error{ErrorCode::kFileDamaged, std::string("found no '") + kFormat + "'"};
  if (number_in(j, "version", 0, 1e6) != 1.0) return Error{ErrorCode::kFileDamaged, "found no version 1"};
  if (text_in(j, "kind") != kind)
    return Error{ErrorCode::kBadCalibration, "found a calibration of kind '" +
                                                 text_in(j, "kind").substr(0, 40) + "', needed " + kind +
                                                 " (rondure " + made_by + ")"};
  return j;
}

std::vector<CalibrationSource> sources_of(const Json& calibration) {
  std::vector<CalibrationSource> out;
  if (const auto made = calibration.find("made_from"); made != calibration.end() && made->is_array())
    for (const Json& m : *made) out.push_back({text_in(m, "file"), text_in(m, "sha256")});
  return out;
}

Result<std::string> calibration_bytes(const std::filesystem::path& file) {
  std::error_code ignored;
  if (!std::filesystem::exists(file, ignored)) return Error{ErrorCode::kFileMissing, file.string()};
  if (std::filesystem::is_directory(file, ignored))
    return Error{ErrorCode::kFileUnreadable, file.string() + " is a folder"};
  if (std::filesystem::file_size(file, ignored) > kMostBytes && !ignored)
    return Error{ErrorCode::kFileDamaged, file.string() + " is larger than any such file"};
  std::ifstream in(file, std::ios::binary);
  if (!in.is_open()) return Error{ErrorCode::kFileUnreadable, file.string()};
  return std::string{std::istreambuf_iterator<char>(in), {}};
}

}  // namespace rondure
