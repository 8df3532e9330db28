// What a reading that does not fit may have been meant to be: the slips people make when they read dials and
// type.
//
// In the order in which they are believed (common practice, no source): axes swapped, sign, decimal point,
// inch for mm and mm for inch, thou for inch, two neighbouring digits exchanged, one digit off by one (a
// whole turn of the handwheel), any one digit wrong.
#pragma once
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/readings/reading_line.hpp"

namespace rondure {

struct Slip {
  std::string what;  // "x and y swapped", "one digit of x"
  std::string csv;   // the reading as it was meant, in the file's unit
  PartPoint at;
  int rank = 0;  // 0 = the likeliest kind
};

// All candidates for an x,y reading ("12.345,8.200"), the likeliest first. Empty for other readings.
std::vector<Slip> possible_slips(const std::string& csv, LengthUnit unit);

// The slip that makes the reading fit: the likeliest kind with a candidate whose `misfit` (deviation in
// standard deviations, any sign) is below `accepted`; of several the best. "Any one digit" only when a single
// one fits.
std::optional<Slip> explaining_slip(const std::string& csv, LengthUnit unit,
                                    const std::function<double(PartPoint)>& misfit, double accepted = 3);

// Readings typed as the dials show them, without the decimal sign: with 4 decimals "12345" is 1.2345 and
// "-50" is -0.0050. A number with a decimal sign or an exponent stays as it is. Worded readings stay as they
// are.
std::string with_decimals(const std::string& typed, int decimals);

}  // namespace rondure
