#include "json/calibration_frame.hpp"

#include <algorithm>
#include <fstream>
#include <iterator>

namespace rondure::json {
namespace {

constexpr const char* kFormat = "rondure-calibration";

}  // namespace

std::string calibration_text(std::string_view kind, const Json& fields) {
  Json j = {{"format", kFormat}, {"version", 1}, {"kind", kind}};
  j.update(fields);
  return j.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

Error damaged_calibration(const std::string& text, const Damage& damage) {
  const std::string what = readable(damage.pointer);
  return {ErrorCode::kFileDamaged,
          place_of(text, damage.pointer) + (what.empty() ? "" : ", " + what) + ": " + damage.what};
}

Result<Json> open_calibration(const std::string& text, std::initializer_list<std::string_view> kinds,
                              const std::string& needed) {
  try {
    Json document = read_document(text);
    const Object top(document, "");
    const Json *format = top.find("format"), *version = top.find("version");
    if (!format || *format != kFormat)
      return Error{ErrorCode::kFileDamaged, std::string("found no '") + kFormat + "'"};
    if (!version || *version != 1)
      return Error{ErrorCode::kFileDamaged, "found version " + (version ? excerpt(*version) : "none") +
                                                " of the calibration, needed 1"};
    const Json* kind = top.find("kind");
    if (std::none_of(kinds.begin(), kinds.end(), [&](std::string_view k) { return kind && *kind == k; }))
      return Error{ErrorCode::kBadCalibration,
                   "found a calibration of kind " + (kind ? excerpt(*kind) : "none") + ", needed " + needed};
    return document;
  } catch (const TextDamage& damage) {
    return Error{ErrorCode::kFileDamaged, damage.where_and_what};
  } catch (const Damage& damage) {
    return damaged_calibration(text, damage);
  }
}

Result<std::string> calibration_bytes(const std::filesystem::path& file, std::uintmax_t most_bytes) {
  std::error_code ignored;
  if (!std::filesystem::exists(file, ignored)) return Error{ErrorCode::kFileMissing, file.string()};
  if (std::filesystem::is_directory(file, ignored))
    return Error{ErrorCode::kFileUnreadable, file.string() + " is a folder"};
  if (std::filesystem::file_size(file, ignored) > most_bytes && !ignored)
    return Error{ErrorCode::kFileDamaged, file.string() + " is larger than any calibration of its kind"};
  std::ifstream in(file, std::ios::binary);
  if (!in.is_open()) return Error{ErrorCode::kFileUnreadable, file.string()};
  std::string text{std::istreambuf_iterator<char>(in), {}};
  if (in.bad()) return Error{ErrorCode::kFileUnreadable, file.string()};
  return text;
}

}  // namespace rondure::json
