// What a copy has to be: limits from a record's replacement plan, and the filled-in check sheet that goes
// with it.
#pragma once
#include <map>
#include <string>
#include <vector>

#include "rondure/interpret/compare.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure {

struct PlannedSizes {
  std::map<std::string, PlannedLimits> limits;  // by feature name, as diameters (an arc's radius doubled)
  std::map<std::string, double> u_mm;           // of the instrument named for each, where the plan names one
};
// Nothing when the record holds no plan. Errors: kFileDamaged (a plan that cannot be read).
Result<PlannedSizes> planned_sizes(const PartRecord& record);

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
