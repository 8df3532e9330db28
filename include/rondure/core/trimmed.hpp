// A text without the white space at its ends.
#pragma once
#include <string_view>

namespace rondure {

inline constexpr std::string_view kBlanks = " \t\v\f\r\n";

constexpr std::string_view trimmed(std::string_view text) {
  const auto first = text.find_first_not_of(kBlanks);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(kBlanks) - first + 1);
}

}  // namespace rondure
