// The filled-in check sheet that goes with a plan.
#pragma once
#include <map>
#include <string>
#include <vector>

#include "rondure/core/result.hpp"
#include "rondure/interpret/compare.hpp"

namespace rondure {

// A check sheet as CSV: comment lines with #, a header with at least name, measured and unit, and as known
// kind, target, lower, upper, u. Rows without a measured value are left out. A row without u takes
// `usual_u_mm` of its name, else stays without. Errors: kBadLine, kNoAnswer (nothing filled in).
struct FilledSheet {
  std::vector<Feature> features;
  std::map<std::string, PlannedLimits> limits;
};
Result<FilledSheet> parse_filled_sheet(const std::string& csv,
                                       const std::map<std::string, double>& usual_u_mm = {});

}  // namespace rondure
