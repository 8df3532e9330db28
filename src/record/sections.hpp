// The sections of a part record, each as JSON and back. Reading throws Damage.
#pragma once
#include "json/object.hpp"
#include "rondure/interpret/feature.hpp"
#include "rondure/interpret/original.hpp"
#include "rondure/making/replacement.hpp"

namespace rondure::record {

using namespace json;

inline constexpr const char* kSameKey = "same";  // of a feature: see part_facts.hpp

Json feature_to_json(const Feature& feature);
Feature feature_from_json(const Object& object);
Json original_to_json(const OriginalResult& original);
OriginalResult original_from_json(const Object& object);
Json plan_to_json(const plan::ReplacementPlan& plan);
plan::ReplacementPlan plan_from_json(const Object& object);
Json warnings_to_json(const std::vector<Warning>& warnings);
std::vector<Warning> warnings_from_json(const Object& parent);

}  // namespace rondure::record
