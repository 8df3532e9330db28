// Colour on a terminal. It is laid over the finished text, by its own words: what a colour says, the word
// says already.
#pragma once
#include <string>

namespace rondure::cli {

// Is this stream a terminal that understands control sequences? (TERM=dumb does not.)
bool terminal_obeys(int file_descriptor);
// The same, and colour is wanted there: the environment variable NO_COLOR is unset or empty (an open
// convention).
bool wants_colour(int file_descriptor);

// The text with its verdict words and the labels of warnings coloured, when standard output wants it; else as
// it is.
//   green   round, drawn as, within, none falls short
//   yellow  oval, lobed, irregular, undecided; the labels note, warning and Caution; a reading that is
//   questioned
//           or not taken
//   red     outside the limits, falls short; a reading that could not be kept
std::string painted(const std::string& text);
// The program's name at the head of an error line, for standard error.
std::string error_label();

}  // namespace rondure::cli
