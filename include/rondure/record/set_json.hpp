// The answer of a set as JSON: format "rondure-set", version 1.
//
//   {"format":"rondure-set","version":1,"unit_system":{"metric":p,"inch":p},
//    "shrinkage":{"mean":..,"interval95":[lo,hi],"material":..,"likeness":..},      of a further part of the batch
//    "habits":[{"system":"metric","grid":"0.5 mm","share":p}],                      absent when they were told
//    "same_drawing":[..],
//    "parts":[{"file":..,"name":..,"original":{as in the part record},
//              "alone":{"best":..,"size_mm":..,"probability":..},
//              "odd":{"other_drawing":p,"stranger":p}}],
//    "odd_parts":[{"name":..,"odds":..,"changes":[{"part":..,"feature":..,
//                  "with":{"best":..,"size_mm":..,"probability":..},"without":{..}}]}],
//    "warnings":[..]}
#pragma once
#include <string>
#include <vector>

#include "rondure/core/result.hpp"
#include "rondure/interpret/original_set.hpp"

namespace rondure {

// `files`: one a part, in the order of the parts.
std::string set_json(const SetResult& set, const std::vector<std::string>& files);

// Back from the text. Keys that are not known are passed over.
struct SetFile {
  SetResult set;
  std::vector<std::string> files;  // one a part, as they were called
};
// Whether the text is one of this format, whole or damaged.
bool is_set_json(const std::string& text);
// Errors: kFileDamaged (place and what was found).
Result<SetFile> parse_set_json(const std::string& text);

}  // namespace rondure
