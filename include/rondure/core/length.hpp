// Lengths as people write them: "12.7mm", "0.5in", "15.5thou", "12um", "12,7 mm" (decimal comma), and with an
// uncertainty "12.30mm+-0.15mm". Parsed and printed here and nowhere else. 1 in = 25.4 mm, 1 thou = 0.001 in.
#pragma once
#include <optional>
#include <string>
#include <string_view>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"

namespace rondure {

enum class LengthUnit { kMm, kInch, kThou, kMicrometre };

double mm_per(LengthUnit unit);
std::string_view symbol(LengthUnit unit);  // "mm", "in", "thou", "um"
Result<LengthUnit> parse_unit(std::string_view text);

// A plain number, "." or "," as the decimal sign; the whole text must be used. Errors: kBadLength, kNotFinite.
Result<double> parse_number(std::string_view text);
// A length in mm; a bare number is in `bare`. Errors: kBadLength, kNotFinite.
Result<double> parse_length_mm(std::string_view text, LengthUnit bare = LengthUnit::kMm);
// "VALUE" or "VALUE+-U" ("±" and "+/-" too); u = 0 where none is given. A unit at the end serves both numbers.
Result<Estimate> parse_length_with_u_mm(std::string_view text, LengthUnit bare = LengthUnit::kMm);
// "0.3%" or "0.003" -> 0.003; "0.3%+-0.2%" -> {0.003, 0.002}.
Result<double> parse_ratio(std::string_view text);
Result<Estimate> parse_ratio_with_u(std::string_view text);
// "23C" or "23" -> 23; "73.4F" -> 23. Degrees Celsius.
Result<double> parse_temperature_c(std::string_view text);

// "12.345 mm (0.48602 in)": mm with `decimals`, inch with the number of decimals that shows as much.
std::string mm_and_inch(double mm, int decimals = 4);
std::string format_mm(double mm, int decimals = 4);
std::string format_inch(double mm, int decimals = 5);
// Decimals that show two significant figures of a standard uncertainty, within [1, 6].
int decimals_for_u(double u_mm);

}  // namespace rondure
