// Which of several equal parts has worn most, as JSON: format "rondure-wear", version 1.
//
//   {"format":"rondure-wear","version":1,"feature":..,"against":"drawing|plan",
//    "drawn":{"best":..,"size_mm":..,"probability":..,"u_mm":..},                   not against a plan
//    "parts":[{"name":..,"measured_mm":..,"u_mm":..,"unworn_mm":..,"u_unworn_mm":..,
//              "missing_mm":..,"u_missing_mm":..,"chance_most":p}],                 most missing first
//    "left_out":[names]}
//
// It is only ever written: nothing in the project reads it back.
#pragma once
#include <string>

#include "rondure/interpret/set_wear.hpp"

namespace rondure {

std::string wear_json(const SetWear& wear);

}  // namespace rondure
