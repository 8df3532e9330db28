// What a piece of text for a terminal says, told by who writes it; who shows it chooses the colour. Text that nobody
// colours is the same, letter by letter.
#pragma once
#include <functional>
#include <string>
#include <utility>

namespace rondure {

enum class Says { kGood, kDoubtful, kBad };

// The piece as it is to be shown: it may be longer, but takes the same room on the screen.
using Ink = std::function<std::string(Says, std::string)>;
inline std::string plain_ink(Says, std::string text) { return text; }

}  // namespace rondure
