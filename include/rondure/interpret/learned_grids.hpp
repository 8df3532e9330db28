// Size grids learned from parts whose sizes do not age: shafts, pins and other metal.
//
// Each measured metal size counts on every grid that its likely drawn sizes lie on, in proportion to what the
// grid gave to them (one step of expectation maximisation), and for the unit system it was drawn in. The
// prior grids stay as kPriorCounts sizes of each system:
//   weight = (kPriorCounts * prior + counted) / (kPriorCounts + counted of the system)
// so that three parts hardly move them and fifty do.
#pragma once
#include <span>
#include <string>
#include <vector>

#include "rondure/interpret/original.hpp"

namespace rondure {

inline constexpr double kPriorCounts = 20;

struct LearnedGrids {
  struct Row {
    std::string grid;
    UnitSystem system = UnitSystem::kMetric;
    double step_mm = 0, weight = 0;
    double counted = 0;  // sizes, as expected counts
  };
  std::vector<Row> rows;
  std::size_t sizes = 0;  // metal sizes taken in
  double metric_counted = 0, inch_counted = 0;
};

// From the answers of one part or of a set. Errors: kNoAnswer (no feature of the kind metal).
Result<LearnedGrids> learn_grids(std::span<const OriginalResult> parts, const SizeGrids& prior);

// As a grids file (parse_size_grids), counts and trust in its comments.
std::string grids_csv(const LearnedGrids& learned);

}  // namespace rondure
