// The answer of a set as JSON: format "rondure-set", version 1.
//
//   {"format":"rondure-set","version":1,"unit_system":{"metric":p,"inch":p},
//    "shrinkage":{"mean":..,"interval95":[lo,hi],"material":..,"likeness":..},      of a further part of the batch
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

#include "rondure/interpret/original_set.hpp"

namespace rondure {

// `files`: one a part, in the order of the parts.
std::string set_json(const SetResult& set, const std::vector<std::string>& files);

}  // namespace rondure
