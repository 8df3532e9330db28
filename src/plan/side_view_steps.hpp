// The steps of the replacement from the record's side view.
#pragma once
#include "plan_steps.hpp"

namespace rondure::plan {

// Left to right, each surface at its planned diameter, width and crown radius (as measured where nothing is planned of
// that name), chamfers and fillets as cones beside them. A crown whose top is not in its middle, and a groove, become
// cones that follow the arc. Empty: the record has no side view. Bores are left at 0. Errors: kFileDamaged.
Result<Profile> side_view_steps(const PartRecord& record, const ReplacementPlan& plan);

}  // namespace rondure::plan
