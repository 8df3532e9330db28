// Blanks and letter case of one line of text.
#pragma once
#include <algorithm>
#include <cctype>
#include <string>
#include <string_view>

namespace rondure {

inline constexpr std::string_view kBlanks = " \t\v\f\r\n";

inline std::string_view trim(std::string_view s) {
  const auto first = s.find_first_not_of(kBlanks);
  if (first == std::string_view::npos) return {};
  return s.substr(first, s.find_last_not_of(kBlanks) - first + 1);
}

inline std::string lower(std::string_view s) {
  std::string t(s);
  std::transform(t.begin(), t.end(), t.begin(), [](unsigned char c) { return char(std::tolower(c)); });
  return t;
}

inline bool is_letter(char c) { return std::isalpha(static_cast<unsigned char>(c)) != 0; }
inline bool is_blank(char c) { return c == ' ' || c == '\t'; }

}  // namespace rondure
