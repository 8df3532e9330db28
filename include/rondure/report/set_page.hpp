// One self-contained HTML page of a set of parts: one line a part, what they share, which do not fit. No network, no
// script; prints on A4 and Letter, readable on a phone.
#pragma once
#include <string>
#include <vector>

#include "rondure/core/length.hpp"
#include "rondure/interpret/original_set.hpp"

namespace rondure {

struct SetPageOptions {
  std::string title;
  std::vector<std::string> part_pages;  // one a part: where its page lies, relative to this one; empty: none
  std::string made_at;                  // date and time of the page, as it is to be printed
  LengthUnit unit = LengthUnit::kMm;    // that stands first: in and thou lead with inches
};

// "1/2 in (51 %)"
std::string best_words(const BestAnswer& best);

std::string set_page(const SetResult& set, const SetPageOptions& options);

// The set in one sentence.
std::string set_sentence(const SetResult& set);

}  // namespace rondure
