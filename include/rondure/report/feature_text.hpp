// A feature as text for a terminal: one look, both units.
#pragma once
#include <string>
#include <vector>

#include "rondure/core/ink.hpp"
#include "rondure/interpret/feature.hpp"

namespace rondure {

std::string feature_text(const Feature& feature, const Ink& ink = plain_ink);

// Many features, one line each, with the file they come from; aligned, both units. The last column names the
// warnings.
std::string feature_table(const std::vector<Feature>& features);

}  // namespace rondure
