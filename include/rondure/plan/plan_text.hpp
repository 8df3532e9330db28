// The plan for a terminal: what to dial first. Within 40 lines of 80 columns as a rule, or all there is; the unit asked
// for in front. Cautions are never left out.
#pragma once
#include <string>

#include "rondure/core/shown.hpp"
#include "rondure/plan/replacement_plan.hpp"

namespace rondure::plan {

std::string plan_text(const ReplacementPlan& plan, const TextOptions& options);

// Of a plan's warnings: one that only says what was done, and asks for no care.
bool is_note(const Warning& warning);

// "varies +-0.21 %, eccentricity not known": how the speed varies in a turn; of a size whose form was not seen either (a
// calliper's alone), that it is not known, which is not 0.
std::string variation_words(const SpeedRow& row);

}  // namespace rondure::plan
