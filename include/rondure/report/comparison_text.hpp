// A comparison as text for a terminal: the answer per feature in one table, then only what changed.
#pragma once
#include <string>

#include "rondure/core/shown.hpp"
#include "rondure/interpret/compare.hpp"

namespace rondure {

std::string comparison_text(const Comparison& comparison, const std::string& label_a,
                            const std::string& label_b, const TextOptions& options = {});

}  // namespace rondure
