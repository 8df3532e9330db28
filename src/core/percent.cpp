#include "rondure/core/percent.hpp"

#include <fmt/format.h>

namespace rondure {

std::string percent(double p) {
  if (p < 0.01) return "under 1 %";
  if (p > 0.995) return "over 99 %";
  return fmt::format("{:.0f} %", 100 * p);
}

}  // namespace rondure
