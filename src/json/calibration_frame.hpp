// What every calibration file has, and how one is opened: "format":"rondure-calibration","version":1,"kind":... before
// the fields of its kind, which a list of fields gives (json/field_list.hpp).
#pragma once
#include <filesystem>
#include <initializer_list>
#include <string>
#include <string_view>

#include "json/text.hpp"
#include "json/warning_fields.hpp"
#include "rondure/core/calibration_source.hpp"
#include "rondure/core/result.hpp"

namespace rondure::json {

// The file's text: the frame, then the fields. Text that is not UTF-8 is replaced by U+FFFD. Ends with a newline.
std::string calibration_text(std::string_view kind, const Json& fields);

// The document, when it is a calibration of one of those kinds. Errors: kFileDamaged (what and where), kBadCalibration
// (another kind; `needed` says which: "'stage'").
Result<Json> open_calibration(const std::string& text, std::initializer_list<std::string_view> kinds,
                              const std::string& needed);

// "line 12, column 20, lens.focal_x_px: found -1, needed a number from 1 to 1e+08".
Error damaged_calibration(const std::string& text, const Damage& damage);

// Opens and reads: read(Object) may throw Damage.
template <class Read>
auto read_calibration(const std::string& text, std::initializer_list<std::string_view> kinds,
                      const std::string& needed, Read read)
    -> Result<decltype(read(std::declval<const Object&>()))> {
  const auto document = open_calibration(text, kinds, needed);
  if (!document) return document.error();
  try {
    return read(Object(*document, ""));
  } catch (const Damage& damage) {
    return damaged_calibration(text, damage);
  }
}

// The text of a file of at most so many bytes. Errors: kFileMissing, kFileUnreadable, kFileDamaged (larger).
Result<std::string> calibration_bytes(const std::filesystem::path& file, std::uintmax_t most_bytes);

// parse(text) of the file; an error says which file. Errors: those of both.
template <class Parse>
auto load_calibration_file(const std::filesystem::path& file, std::uintmax_t most_bytes, Parse parse)
    -> decltype(parse(std::string())) {
  const auto text = calibration_bytes(file, most_bytes);
  if (!text) return text.error();
  auto read = parse(*text);
  if (!read) return Error{read.error().code, file.string() + ": " + read.error().detail};
  return read;
}

// Fields that several kinds have.
struct FrameFields : WarningFields {
  using WarningFields::list;
  template <class Io>
  static void list(Io& io, CalibrationSource& v) {
    io.always("file", v.file);
    io.always("sha256", v.sha256);
  }
};

}  // namespace rondure::json
