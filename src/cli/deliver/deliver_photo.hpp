// What is found in one photograph, delivered with what is no part of it.
#pragma once
#include <vector>

#include "cli/terminal/command.hpp"
#include "rondure/record/not_the_part.hpp"

namespace rondure::cli {

// deliver() of command.hpp. Of several parts each record gets the edges nearest to its part.
int deliver(std::vector<Feature> features, const std::vector<EdgeAside>& aside, const CommonOptions& options,
            bool all_figures);

// The names that deliver() gives them, for what is drawn and listed before: all different, and with --save clear of what
// other sources left in the record of their part, or in the one record of many photographs. Errors: those of reading it.
Result<void> name_as_kept(std::vector<Feature>& features, const CommonOptions& options, bool in_one_record);

}  // namespace rondure::cli
