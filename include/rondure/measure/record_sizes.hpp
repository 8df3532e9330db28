// From a part record to the sizes that the original is inferred from (original.hpp): arcs by their radius; an ovality
// counts where the verdict says oval and a round part would seldom show as much; 0.01 mm where the record states no
// uncertainty (a warning says so); features without a size or of a kind that nobody draws are left out (a warning).
#pragma once
#include <vector>

#include "rondure/core/result.hpp"
#include "rondure/interpret/original.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure {

struct RecordSizes {
  std::vector<SizeObservation> sizes;
  std::vector<Warning> warnings;
};

// Errors: kNoAnswer (no feature with a size).
Result<RecordSizes> sizes_from_record(const PartRecord& record);

}  // namespace rondure
