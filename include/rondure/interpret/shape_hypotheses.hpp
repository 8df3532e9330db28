// What an oval part (largest diameter A, smallest B) says of its original size, under three named hypotheses.
// Each gives the size x that the part had before it went oval (still shrunken: x = N (1 - g s)), and how
// probable such an ovality is.
//
//   uneven  shrank more one way than the other (flow, gate): the mean diameter shrank by g s, A by g s (1 -
//   r), B by
//           g s (1 + r): x = (A + B)/2. r half normal of kUnevenSpread, so that the original is at least A
//   bent    sprung or crept oval, the perimeter kept: x = perimeter/pi = (A + B)/2 + (A - B)^2/(8 (A + B))
//   for an ellipse worn    ran away on two sides: x is at least the largest circle, x = A + w, w exponential
//   with mean
//           kWornMore (A - B). A bore wears larger: x = B - w
// (trade rule derived from plane geometry.) Chance of the ovality A - B: uneven half normal of 2 r-spread g s
// x; bent and worn half normal of kOvalSpread x; each smeared by the uncertainty of the ovality. Prior
// chances in kPriorChance. All spreads and chances are judgement, no source: what the tool adds is that they
// are weighed by the same evidence.
#pragma once
#include <array>
#include <optional>
#include <string_view>
#include <vector>

#include "rondure/core/geometry.hpp"

namespace rondure {

enum class ShapeHypothesis { kRound, kUneven, kBent, kWorn };
std::string_view name(ShapeHypothesis shape);      // "round", "uneven", "bent", "worn"
std::string_view sentence(ShapeHypothesis shape);  // "uneven shrinkage: original at least the major diameter"
std::optional<ShapeHypothesis> parse_shape(std::string_view text);

inline constexpr double kUnevenSpread = 0.25;  // of r; cross-flow over flow shrinkage 1.6 is r = 0.23
inline constexpr double kOvalSpread = 0.005;   // of the diameter
inline constexpr double kWornMore = 0.5;       // mean further wear on the largest diameter, in units of A - B
inline constexpr double kRoundWear_ratio = 0.008;  // mean wear all round of a worn surface, of the diameter
inline constexpr std::array<double, 3> kPriorChance = {0.4, 0.35, 0.25};  // uneven, bent, worn

// One way to read a size. ln p(what was measured | x, s) = ln chance + ln p(ovality | s) + ln p(anchor | x).
struct ShapeReading {
  ShapeHypothesis shape = ShapeHypothesis::kRound;
  double chance = 1;
  double anchor_mm = 0;     // measured size that stands for x
  double wear_mean_mm = 0;  // 0: none. Otherwise x is beyond the anchor by an exponential amount of this mean
  int wear_sign = 1;        // +1 outside (x above the anchor), -1 bore (below)
};

struct OvalSize {
  double largest_mm = 0, smallest_mm = 0;
  double u_ovality_mm = 0;
  bool bore = false;
};
std::vector<ShapeReading> oval_readings(const OvalSize& oval, std::optional<ShapeHypothesis> known = {});
// A round surface that may have worn all round with this chance.
std::vector<ShapeReading> maybe_worn_readings(double size_mm, bool bore, double chance);

// Probability density of the ovality under the hypothesis, free_shrinkage = g s. 1 for kRound.
double ovality_density(ShapeHypothesis shape, const OvalSize& oval, double free_shrinkage_ratio);
// (A + B)/2 + (A - B)^2/(8 (A + B)): ISO 14405-1 (CC) of an ellipse, to the fourth order in A - B.
double ellipse_circumference_diameter_mm(double largest_mm, double smallest_mm);

}  // namespace rondure
