// The page of one part, from its record and the photographs it was measured in.
#pragma once
#include <optional>
#include <string>

#include "rondure/core/result.hpp"
#include "rondure/report/page.hpp"

namespace rondure::cli {

class Progress;

struct PageWishes {
  LengthUnit unit = LengthUnit::kMm;       // stands first
  bool quiet = false;                      // no notes on standard error: the page has them too
  Progress* progress = nullptr;            // told when a part is done, and its features on the way
  std::string earlier = {}, planned = {};  // records whose side view, or plan, the part's is held against
};

// `set`: the page of the set that the part is one of. Notes on changed sources go to standard error.
Result<std::string> part_page(const std::string& record_file, const std::optional<SetLink>& set,
                              const PageWishes& how);
// Now, as a page prints it.
std::string page_time();

}  // namespace rondure::cli
