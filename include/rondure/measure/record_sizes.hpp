// From a part record to the sizes that the original is inferred from (original.hpp): arcs by their radius; an ovality
// counts where the verdict says oval and a round part would seldom show as much; 0.01 mm where the record states no
// uncertainty (a warning says so); features without a size or of a kind that nobody draws are left out (a warning). A
// surface that was seen from above and from the side counts once (record/one_surface.hpp).
#pragma once
#include <vector>

#include "rondure/core/result.hpp"
#include "rondure/interpret/original.hpp"
#include "rondure/record/one_surface.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure {

struct RecordSizes {
  std::vector<SizeObservation> sizes;
  std::vector<SharedSurface> shared;  // surfaces under two names; the size has the side view's
  std::vector<Warning> warnings;
};

// Errors: kNoAnswer (no feature with a size).
Result<RecordSizes> sizes_from_record(const PartRecord& record);

// A surface with two names is called by the one of them that stands among `asked`, the features that somebody asks for;
// where neither does, by the side view's, or, `from_above`, by the other: parts of a set are seldom all seen from the side.
// Errors: kBadArgument (both).
Result<void> call_as_asked(RecordSizes& sizes, const std::vector<std::string>& asked, bool from_above);

}  // namespace rondure
