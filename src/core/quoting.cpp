#include "rondure/core/quoting.hpp"

#include "rondure/core/trimmed.hpp"

namespace rondure {

std::string escape_markup(std::string_view text) {
  std::string out;
  out.reserve(text.size());
  for (const char c : text) switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      case '\'':
        out += "&#39;";
        break;
      default:
        if (static_cast<unsigned char>(c) >= 0x20 || c == '\n' || c == '\t') out += c;
    }
  return out;
}

std::vector<std::string> csv_fields(std::string_view line, char separator) {
  std::vector<std::string> fields(1);
  bool quoted = false;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const char c = line[i];
    if (c == '"' && quoted && i + 1 < line.size() && line[i + 1] == '"')
      fields.back() += line[++i];
    else if (c == '"')
      quoted = !quoted;
    else if (c == separator && !quoted)
      fields.emplace_back();
    else
      fields.back() += c;
  }
  for (std::string& field : fields) field = std::string(trimmed(field));
  return fields;
}

std::string csv_field(std::string_view text) {
  std::string plain(text);
  for (char& c : plain)
    if (c == '\n' || c == '\r') c = ' ';
  plain = std::string(trimmed(plain));  // as it will be read again
  if (plain.find_first_of(",;\"") == std::string::npos) return plain;
  std::string quoted = "\"";
  for (const char c : plain) {
    if (c == '"') quoted += '"';
    quoted += c;
  }
  return quoted + '"';
}

std::string quoted_for_message(std::string_view text) {
  constexpr std::size_t kLongest = 40;  // bytes: half of a terminal's line, enough to find the place
  std::string t(text.substr(0, kLongest));
  // not in the middle of a UTF-8 letter
  if (text.size() > kLongest)
    while (!t.empty() && (static_cast<unsigned char>(text[t.size()]) & 0xC0) == 0x80) t.pop_back();
  for (char& c : t)
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7F) c = '?';
  return "'" + t + (text.size() > kLongest ? "..." : "") + "'";
}

}  // namespace rondure
