// How many decimals a length is shown with.
#pragma once
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>

#include "rondure/core/length.hpp"

namespace rondure {

// Of mm, for a standard uncertainty of u_mm: two figures of u as long as those are tenths of a micrometre or
// more, then one; never so few that u reads 0. Without u four.
inline int shown_decimals(std::optional<double> u_mm) {
  if (!u_mm || !(*u_mm > 0)) return 4;
  const int two_figures = decimals_for_u(*u_mm);
  return two_figures <= 4 ? two_figures : std::max(4, two_figures - 1);
}

// A standard uncertainty with that many decimals; what would round to 0 is told as "<0.00001".
inline std::string u_text(double u, int decimals) {
  const double last = std::pow(10.0, -decimals);
  return u < last / 2 ? fmt::format("<{:.{}f}", last, decimals) : fmt::format("{:.{}f}", u, decimals);
}

}  // namespace rondure
