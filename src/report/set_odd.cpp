#include "set_odd.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace rondure {
namespace {

constexpr double kMostOdds = 1e6;  // beyond, the model is the weaker: no figure is said
constexpr double kOneOfTwo = 0.2;  // of the likelier reason: the other is said too

std::string reason(const OddPart& odd) {
  const double likeliest = std::max({odd.p_worn, odd.p_other_drawing, odd.p_stranger});
  if (odd.p_stranger == likeliest) return "is of another make or another material than stated";
  const bool worn = odd.p_worn > kOneOfTwo * likeliest, other = odd.p_other_drawing > kOneOfTwo * likeliest;
  if (!worn) return "is not of the drawing of the others";
  return other ? "is worn, or is not of the drawing of the others" : "is worn";
}

}  // namespace

std::string odd_words(const OddPart& odd) {
  if (odd.odds < 1) return fmt::format("may not fit the set: {:.2g} to 1 that it {}.", odd.odds, reason(odd));
  return fmt::format("does not fit the set: {} to 1 that it {}.",
                     odd.odds > kMostOdds ? "more than a million" : fmt::format("{:.3g}", odd.odds),
                     reason(odd));
}

}  // namespace rondure
