// The sections of a part record, each as JSON and back. Reading throws Damage.
#pragma once
#include "json/object.hpp"
#include "rondure/interpret/feature.hpp"
#include "rondure/interpret/original.hpp"
#include "rondure/making/replacement.hpp"
#include "rondure/profile/side_profile.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure::record {

using namespace json;

inline constexpr const char* kSameKey = "same";  // of a feature: see part_facts.hpp

Json feature_to_json(const Feature& feature);
Feature feature_from_json(const Object& object);
Json original_to_json(const OriginalResult& original);
OriginalResult original_from_json(const Object& object);
Json plan_to_json(const plan::ReplacementPlan& plan);
plan::ReplacementPlan plan_from_json(const Object& object);
Json profile_to_json(const SideProfile& profile);
SideProfile profile_from_json(const Object& object);
Json warnings_to_json(const std::vector<Warning>& warnings);
std::vector<Warning> warnings_from_json(const Object& parent);

// Takes the section out of the document as it was read: none of its unknown fields comes back.
void forget_section(PartRecord& record, const char* key);

}  // namespace rondure::record
