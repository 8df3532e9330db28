// The section "replacement" of a part record: the plan of what to make.
#pragma once
#include <string>

#include "rondure/core/result.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure {

// Replaces the plan. Fields that a newer version wrote into the one before go with it: they belong to that one.
void put_plan(PartRecord& record, plan::ReplacementPlan plan);

// The section alone, as JSON text, and back. Values that are absent leave no key; unknown keys are skipped.
std::string plan_json(const plan::ReplacementPlan& plan);
// Errors: kFileDamaged (what and where).
Result<plan::ReplacementPlan> parse_plan(const std::string& json_text);

}  // namespace rondure
