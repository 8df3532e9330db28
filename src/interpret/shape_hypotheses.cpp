#include "rondure/interpret/shape_hypotheses.hpp"

#include <cmath>

#include "rondure/core/normal_law.hpp"

namespace rondure {
namespace {

// Density at o of |normal(0, spread)| + normal(0, u): half normal smeared by the reading.
double smeared_half_normal(double o, double spread, double u) {
  const double total = std::hypot(spread, u);
  const double share = u > 0 ? normal_cdf(o * spread / (u * total)) : 1;
  return 2 * std::exp(-0.5 * (o / total) * (o / total)) / (total * std::sqrt(2 * kPi)) * share;
}

// The ovality's own uncertainty keeps the densities proper for a perfectly sharp reading.
constexpr double kLeastOvalityU_mm = 1e-4;

}  // namespace

std::string_view name(ShapeHypothesis shape) {
  switch (shape) {
    case ShapeHypothesis::kRound:
      return "round";
    case ShapeHypothesis::kUneven:
      return "uneven";
    case ShapeHypothesis::kBent:
      return "bent";
    case ShapeHypothesis::kWorn:
      return "worn";
  }
  return "round";
}

std::string_view sentence(ShapeHypothesis shape) {
  switch (shape) {
    case ShapeHypothesis::kRound:
      return "round, not worn";
    case ShapeHypothesis::kUneven:
      return "shrank unevenly: original at least the major diameter";
    case ShapeHypothesis::kBent:
      return "bent, perimeter kept: original from the perimeter";
    case ShapeHypothesis::kWorn:
      return "worn: original beyond the largest circle (a bore: inside the smallest)";
  }
  return "";
}

std::optional<ShapeHypothesis> parse_shape(std::string_view text) {
  for (const auto shape : {ShapeHypothesis::kUneven, ShapeHypothesis::kBent, ShapeHypothesis::kWorn})
    if (text == name(shape)) return shape;
  return std::nullopt;
}

double ellipse_circumference_diameter_mm(double largest_mm, double smallest_mm) {
  const double sum = largest_mm + smallest_mm, difference = largest_mm - smallest_mm;
  return sum / 2 + difference * difference / (8 * sum);
}

std::vector<ShapeReading> oval_readings(const OvalSize& oval, std::optional<ShapeHypothesis> known) {
  const double a = oval.largest_mm, b = oval.smallest_mm;
  const double worn_anchor = oval.bore ? b : a;
  const std::vector<ShapeReading> all = {
      {ShapeHypothesis::kUneven, kPriorChance[0], (a + b) / 2, 0, 1},
      {ShapeHypothesis::kBent, kPriorChance[1], ellipse_circumference_diameter_mm(a, b), 0, 1},
      {ShapeHypothesis::kWorn, kPriorChance[2], worn_anchor, kWornMore * (a - b), oval.bore ? -1 : 1}};
  if (!known) return all;
  for (ShapeReading r : all)
    if (r.shape == *known) return r.chance = 1, std::vector{r};
  return all;
}

std::vector<ShapeReading> maybe_worn_readings(double size_mm, bool bore, double chance) {
  std::vector<ShapeReading> readings;
  if (chance < 1) readings.push_back({ShapeHypothesis::kRound, 1 - chance, size_mm, 0, 1});
  if (chance > 0)
    readings.push_back({ShapeHypothesis::kWorn, chance, size_mm, kRoundWear_ratio * size_mm, bore ? -1 : 1});
  return readings;
}

double ovality_density(ShapeHypothesis shape, const OvalSize& oval, double free_shrinkage_ratio) {
  if (shape == ShapeHypothesis::kRound) return 1;
  const double size = (oval.largest_mm + oval.smallest_mm) / 2;
  const double spread = shape == ShapeHypothesis::kUneven
                            ? 2 * kUnevenSpread * std::abs(free_shrinkage_ratio) * size
                            : kOvalSpread * size;
  return smeared_half_normal(oval.largest_mm - oval.smallest_mm, spread,
                             std::max(oval.u_ovality_mm, kLeastOvalityU_mm));
}

}  // namespace rondure
