// Colour on a terminal. What a colour says, the word says already.
#pragma once
#include <string>

#include "rondure/core/ink.hpp"

namespace rondure::cli {

// Columns of the terminal behind this stream; 80 where there is none or it does not say.
std::size_t terminal_columns(int file_descriptor);

// Is this stream a terminal that understands control sequences? (TERM=dumb does not.)
bool terminal_obeys(int file_descriptor);
// The same, and colour is wanted there: the environment variable NO_COLOR is unset or empty (an open
// convention).
bool wants_colour(int file_descriptor);

// Green for what is good, yellow for what is doubtful, red for what is bad, when standard output wants colour; else
// plain. For the writers of text (rondure/core/ink.hpp), who say which piece is which.
Ink terminal_ink();
// A reply of the desk that takes readings: a reading that is questioned or not taken stands out.
std::string painted_reply(const std::string& text);
// What goes to standard error: behind the program's name, on one line; at a terminal within its width (80 when it does
// not say).
std::string error_lines(const std::string& message);

}  // namespace rondure::cli
