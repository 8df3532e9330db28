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

}  // namespace rondure
