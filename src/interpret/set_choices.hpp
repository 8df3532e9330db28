// Sizes for the shared drawings: all choices that some of the parts come near.
#pragma once
#include <vector>

#include "set_part_table.hpp"
#include "set_posterior.hpp"

namespace rondure {

// One size for every drawing.
struct SizeChoice {
  std::vector<std::size_t> index;  // of the candidates of each drawing
  std::vector<double> prior;       // per habit of the system, ties included
  double log_bound = 0;            // of prior times what all parts contribute, for any habit
};

// The sizes that size_choices may keep: where parts share a single drawing, by bounds that take a fraction of the time
// of the tables; otherwise all.
WorthTabulating sizes_worth_tabulating(const SetModel& model, const std::vector<PartTable>& tables);

// Errors: kNoAnswer (too many).
Result<std::vector<SizeChoice>> size_choices(const SetModel& model, std::size_t system,
                                             const std::vector<PartTable>& tables);

}  // namespace rondure
