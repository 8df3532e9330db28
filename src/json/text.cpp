#include "json/text.hpp"

#include <algorithm>
#include <vector>

namespace rondure::json {
namespace {

constexpr std::size_t kLineLength = 110;  // columns: what a wide terminal shows

std::string compact(const Json& value) { return value.dump(-1, ' ', false, Json::error_handler_t::replace); }

void print(const Json& value, std::size_t indent, std::size_t before, std::string& out) {
  const std::string line = compact(value);
  if (!value.is_structured() || value.empty() || indent + before + line.size() <= kLineLength) {
    out += line;
    return;
  }
  const std::string margin(indent + 2, ' ');
  out += value.is_object() ? "{\n" : "[\n";
  bool first = true;
  for (const auto& [key, element] : value.items()) {
    if (!first) out += ",\n";
    first = false;
    const std::string label = value.is_object() ? compact(Json(key)) + ": " : std::string();
    out += margin + label;
    print(element, indent + 2, label.size(), out);
  }
  out += '\n' + std::string(indent, ' ') + (value.is_object() ? '}' : ']');
}

std::string line_and_column(const std::string& text, std::size_t offset) {
  const auto end = text.begin() + static_cast<std::ptrdiff_t>(std::min(offset, text.size()));
  const auto line = 1 + std::count(text.begin(), end, '\n');
  const auto newline = std::find(std::make_reverse_iterator(end), text.rend(), '\n');
  const auto column = 1 + (newline.base() == text.begin() ? end - text.begin() : end - newline.base());
  return "line " + std::to_string(line) + ", column " + std::to_string(column);
}

// Refuses nesting that no record has, before a parser or printer has to follow it.
void check_nesting(const std::string& text) {
  int depth = 0;
  bool in_text = false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    if (in_text) {
      if (c == '\\')
        ++i;
      else if (c == '"')
        in_text = false;
      continue;
    }
    if (c == '"') in_text = true;
    if (c == '{' || c == '[') ++depth;
    if (c == '}' || c == ']') --depth;
    if (depth > kDeepestNesting)
      throw TextDamage{line_and_column(text, i) + ": nested more than " + std::to_string(kDeepestNesting) +
                       " deep"};
  }
}

// The end of the library's message, behind its own position: "unexpected end of input; expected '}'".
std::string reason(const std::string& message) {
  const auto at = message.find("column ");
  const auto colon = at == std::string::npos ? at : message.find(": ", at);
  return colon == std::string::npos ? message : message.substr(colon + 2);
}

// Walks the document as events and remembers where the value at a pointer ends; the text is read through an
// iterator that counts.
struct CountingIterator {
  using iterator_category = std::input_iterator_tag;
  using value_type = char;
  using difference_type = std::ptrdiff_t;
  using pointer = const char*;
  using reference = const char&;
  const char* at;
  std::size_t* furthest;
  const char* begin;
  reference operator*() const { return *at; }
  CountingIterator& operator++() {
    ++at;
    *furthest = static_cast<std::size_t>(at - begin);
    return *this;
  }
  bool operator==(const CountingIterator& other) const { return at == other.at; }
  bool operator!=(const CountingIterator& other) const { return at != other.at; }
};

class PlaceFinder {
public:
  PlaceFinder(std::string pointer, const std::size_t& furthest)
      : pointer_(std::move(pointer)), furthest_(furthest) {}
  std::size_t offset() const { return best_offset_; }

  bool null() { return value(); }
  bool boolean(bool) { return value(); }
  bool number_integer(Json::number_integer_t) { return value(); }
  bool number_unsigned(Json::number_unsigned_t) { return value(); }
  bool number_float(Json::number_float_t, const std::string&) { return value(); }
  bool string(std::string&) { return value(); }
  bool binary(Json::binary_t&) { return value(); }
  bool start_object(std::size_t) { return open(false); }
  bool start_array(std::size_t) { return open(true); }
  bool end_object() { return close(); }
  bool end_array() { return close(); }
  bool key(std::string& name) {
    std::string escaped;
    for (const char c : name) escaped += c == '~' ? "~0" : c == '/' ? "~1" : std::string(1, c);
    levels_.back().key = escaped;
    return true;
  }
  bool parse_error(std::size_t, const std::string&, const nlohmann::detail::exception&) { return false; }

private:
  struct Level {
    bool array;
    std::size_t index = 0;
    std::string key;
  };
  std::string here() {
    std::string path;
    for (const Level& level : levels_) path += "/" + (level.array ? std::to_string(level.index) : level.key);
    return path;
  }
  void note() {
    const std::string path = here();
    const bool encloses =
        pointer_.starts_with(path) && (path.size() == pointer_.size() || pointer_[path.size()] == '/');
    if (encloses && path.size() >= best_length_)
      best_length_ = path.size(), best_offset_ = furthest_ ? furthest_ - 1 : 0;
  }
  void next() {
    if (!levels_.empty()) ++levels_.back().index;
  }
  bool value() { return note(), next(), true; }
  bool open(bool array) { return note(), levels_.push_back({array, 0, {}}), true; }
  bool close() { return levels_.pop_back(), next(), true; }

  std::string pointer_;
  const std::size_t& furthest_;
  std::vector<Level> levels_;
  std::size_t best_length_ = 0, best_offset_ = 0;
};

}  // namespace

namespace {
// The last guard: whatever a section lets through, no field of an object is NaN or infinite.
void drop_not_finite(Json& value) {
  if (!value.is_structured()) return;
  for (auto at = value.begin(); at != value.end();) {
    drop_not_finite(*at);
    const bool goes = value.is_object() && at->is_number_float() && !std::isfinite(at->get<double>());
    if (goes)
      at = value.erase(at);
    else
      ++at;
  }
}
}  // namespace

std::string print_document(const Json& given) {
  Json document = given;
  drop_not_finite(document);
  std::string out;
  print(document, 0, 0, out);
  return out + '\n';
}

Json read_document(const std::string& text) {
  check_nesting(text);
  try {
    return Json::parse(text);
  } catch (const Json::parse_error& error) {
    throw TextDamage{line_and_column(text, error.byte ? error.byte - 1 : 0) + ": " + reason(error.what())};
  } catch (const Json::exception& error) {
    throw TextDamage{reason(error.what())};
  }
}

std::string place_of(const std::string& text, const std::string& pointer) {
  std::size_t furthest = 0;
  PlaceFinder finder(pointer, furthest);
  const char* begin = text.data();
  Json::sax_parse(CountingIterator{begin, &furthest, begin},
                  CountingIterator{begin + text.size(), &furthest, begin}, &finder);
  return line_and_column(text, finder.offset());
}

std::string readable(const std::string& pointer) {
  std::string out;
  for (std::size_t at = 0; at < pointer.size();) {
    const std::size_t next = std::min(pointer.find('/', at + 1), pointer.size());
    const std::string part = pointer.substr(at + 1, next - at - 1);
    const bool index =
        !part.empty() && std::ranges::all_of(part, [](char c) { return c >= '0' && c <= '9'; });
    out += index ? "[" + part + "]" : (out.empty() ? "" : ".") + part;
    at = next;
  }
  return out.empty() ? "the document" : out;
}

}  // namespace rondure::json
