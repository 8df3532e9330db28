// A feature as text for a terminal: one look, both units.
#pragma once
#include <string>

#include "rondure/interpret/feature.hpp"

namespace rondure {

std::string feature_text(const Feature& feature);

}  // namespace rondure
