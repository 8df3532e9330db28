// What a copy has to be, from the replacement plan of a record, as the measured features of a record give it.
#pragma once
#include <map>
#include <string>

#include "rondure/interpret/compare.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure::plan {

struct PlannedSizes {
  std::map<std::string, PlannedLimits> limits;  // by feature name, as diameters (an arc's radius doubled)
  std::map<std::string, double> u_mm;           // of the instrument named for each, where the plan names one
};
// Nothing when the record holds no plan.
PlannedSizes planned_sizes(const PartRecord& record);

}  // namespace rondure::plan
