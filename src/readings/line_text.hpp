// Blanks and letter case of one line of text.
#pragma once
#include <algorithm>
#include <cctype>
#include <string>
#include <string_view>

#include "rondure/core/trimmed.hpp"

namespace rondure {

inline std::string lower(std::string_view s) {
  std::string t(s);
  std::transform(t.begin(), t.end(), t.begin(), [](unsigned char c) { return char(std::tolower(c)); });
  return t;
}

inline bool is_letter(char c) { return std::isalpha(static_cast<unsigned char>(c)) != 0; }
inline bool is_blank(char c) { return c == ' ' || c == '\t'; }

}  // namespace rondure
