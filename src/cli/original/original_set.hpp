// `rondure original A.json B.json ...`: several records as one machine.
#pragma once
#include <string>
#include <vector>

#include "cli/original/original_arguments.hpp"
#include "rondure/core/length.hpp"
#include "rondure/core/result.hpp"
#include "rondure/interpret/original_set.hpp"

namespace rondure::cli {

// "a" for "old/a.json" where that tells the parts apart, else the file as given.
std::vector<std::string> part_names(const std::vector<std::string>& files);

// "a:outside/b:outside=2.00+-0.01"
Result<SizeTie> parse_tie(const std::string& text, double belt_mm);

// The records of `arguments.parts` as one set.
Result<SetResult> infer_asked_set(const OriginalArguments& arguments);

}  // namespace rondure::cli
