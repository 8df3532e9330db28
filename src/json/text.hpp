// The document as text, and places in the text.
#pragma once
#include <string>

#include "json/object.hpp"

namespace rondure::json {

inline constexpr int kDeepestNesting = 64;  // a record nests a few levels; bounds the stack

// What fits on a line stays on a line; the rest is indented by two. Ends with a newline. Text that is not
// UTF-8 is replaced by U+FFFD.
std::string print_document(const Json& document);

// Parses the text; throws TextDamage with the place.
struct TextDamage {
  std::string where_and_what;  // "line 3, column 7: ..."
};
Json read_document(const std::string& text);

// "line 12, column 20" of the value at a JSON pointer; the nearest enclosing value where the pointer leads
// nowhere.
std::string place_of(const std::string& text, const std::string& pointer);

// "features[0].circle.diameter_mm" for "/features/0/circle/diameter_mm".
std::string readable(const std::string& pointer);

}  // namespace rondure::json
