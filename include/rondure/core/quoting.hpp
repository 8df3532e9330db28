// Text for HTML, SVG and messages, and fields of CSV: the quoting that these ask for, once. The builders above it stay our
// own: a page or a drawing is some twenty kinds of element with fixed attributes, and a library for documents would hold
// a tree of them in memory to write the same lines.
#pragma once
#include <string>
#include <string_view>
#include <vector>

namespace rondure {

// & < > " ' replaced; control characters dropped, all but line feed and tab.
std::string escape_markup(std::string_view text);

// The fields of one line, without spaces at their ends; "..." keeps separators, "" inside is a quotation mark (RFC 4180).
std::vector<std::string> csv_fields(std::string_view line, char separator = ',');
// A field as it stands in a line, in quotation marks where it needs them; line breaks become spaces.
std::string csv_field(std::string_view text);

// Text for a message: at most 40 characters in quotes, what cannot be printed as '?'.
std::string quoted_for_message(std::string_view text);

}  // namespace rondure
