// Values as they are typed for `rondure original`: shares, ratios, speeds, features that could be measured.
#pragma once
#include <string>
#include <utility>

#include "rondure/core/length.hpp"
#include "rondure/core/result.hpp"
#include "rondure/interpret/original.hpp"

namespace rondure::cli {

// "NAME=VALUE" with the value after the last '='.
Result<std::pair<std::string, std::string>> name_and_value(const std::string& text, const char* needed);
Result<double> parse_confidence(const std::string& text);
// "NAME,KIND,ABOUT": a feature that could still be measured.
Result<PossibleMeasurement> parse_possible(const std::string& text, LengthUnit bare);
// "2.45", "2.45+-0.02", "2.45+-1%": the uncertainty may be a share.
Result<Estimate> parse_value_with_u(const std::string& text, const char* option);
// "47mm/s", "47mm/s+-1%", "1.85in/s", "1.85ips", "9m/min".
Result<Estimate> parse_speed_mm_s(const std::string& text, LengthUnit bare,
                                  const char* option = "--surface-speed");

}  // namespace rondure::cli
