// What is said of the parts of a set: which features are of one drawing or tied, and whether that can be.
#pragma once
#include <map>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "rondure/interpret/original_set.hpp"

namespace rondure {

// Index of the feature; empty when the part has none of that name.
std::optional<std::size_t> find_feature(const SetPart& part, const std::string& name);
// Features that carry one word, by part and feature.
using Members = std::vector<std::pair<std::size_t, std::size_t>>;
std::map<std::string, Members> marked_alike(std::span<const SetPart> parts);
// Errors: kBadArgument.
Result<void> check_said(std::span<const SetPart> parts, const SetOptions& options);
// A warning for each name of features that measure alike and are not said to be of one drawing.
std::vector<Warning> alike_but_not_said(std::span<const SetPart> parts, const SetOptions& options);

}  // namespace rondure
