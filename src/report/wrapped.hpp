// Text broken into lines for a terminal.
#pragma once
#include <algorithm>
#include <string>

#include "rondure/core/ink.hpp"

namespace rondure {

inline constexpr std::size_t kLineWidth = 100;

// `text` in lines of at most kLineWidth, the first behind `first`, the others behind `other`.
inline std::string wrapped(const std::string& text, const std::string& first, const std::string& other) {
  std::string out, line = first;
  std::size_t at = 0;
  while (at < text.size()) {
    const auto space = std::min(text.find(' ', at), text.size());
    const std::string word = text.substr(at, space - at);
    if (line.size() + word.size() + 1 > kLineWidth && line.size() > first.size()) {
      out += line + '\n';
      line = other;
    }
    if (!line.empty() && line.back() != ' ') line += ' ';
    line += word;
    at = space + 1;
  }
  return out + line + '\n';
}

// The same behind a label that is marked.
inline std::string wrapped(const std::string& text, const std::string& before, const std::string& label,
                           const std::string& other, const Ink& ink, Says says) {
  std::string out = wrapped(text, before + label + " ", other);
  return out.replace(before.size(), label.size(), ink(says, label));
}

}  // namespace rondure
