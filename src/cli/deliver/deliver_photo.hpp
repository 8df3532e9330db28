// What is found in one photograph, delivered with what is no part of it.
#pragma once
#include <vector>

#include "cli/terminal/command.hpp"
#include "rondure/record/not_the_part.hpp"

namespace rondure::cli {

// deliver() of command.hpp. Of several parts each record gets the edges nearest to its part.
int deliver(std::vector<Feature> features, const std::vector<EdgeAside>& aside, const CommonOptions& options,
            bool all_figures);

}  // namespace rondure::cli
