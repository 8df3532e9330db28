// The sizes that designers write on drawings, and how readily they write each.
//
// A grid of step d has 1/d members per mm; choosing "a size on this grid" with probability w therefore gives
// each of its members the weight w d, per mm of size. A size that lies on several grids adds up their
// weights:
//   prior(N) = sum over grids that hold N of weight * step      (one sum for metric, one for inch)
// Built in: src/data/size_grid_prior.csv (judgement, no published source). A user's own file has the same
// columns system,grid,step_mm,weight; the weights of each system are scaled to sum to 1. A system without
// grids is ruled out. A shop that drew inch bores on metric parts says so with a row such as "metric,1/16
// in,1.5875,0.02".
#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "rondure/core/result.hpp"

namespace rondure {

// Nearer than this, two sizes of the tables are one.
inline constexpr double kSameSize_mm = 1e-6;

enum class UnitSystem { kMetric, kInch };
std::string_view name(UnitSystem system);  // "metric", "inch"

struct SizeGrid {
  std::string name;
  double step_mm = 0, weight = 0;
};

struct SizeGrids {
  std::vector<SizeGrid> metric, inch;
  const std::vector<SizeGrid>& of(UnitSystem system) const {
    return system == UnitSystem::kMetric ? metric : inch;
  }
};

const SizeGrids& builtin_size_grids();
// Errors: kBadLine (wrong system, step below kFinestStep_mm, negative weight), kNoAnswer (no grid at all).
Result<SizeGrids> parse_size_grids(std::string_view text);
inline constexpr double kFinestStep_mm = 0.001;

struct GridSize {
  double size_mm = 0;
  double prior_weight = 0;  // per mm
};
// All members of the grids in [lo, hi], each once, ascending.
std::vector<GridSize> sizes_between(const std::vector<SizeGrid>& grids, double lo_mm, double hi_mm);

// As it stands on a drawing: "12.5 mm"; "31/64 in", "1 1/8 in", "0.490 in".
std::string size_label(double size_mm, UnitSystem system);

}  // namespace rondure
