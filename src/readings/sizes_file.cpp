#include "rondure/readings/sizes_file.hpp"

#include <map>
#include <set>

#include "line_text.hpp"
#include "rondure/core/quoting.hpp"
#include "rondure/readings/reading_line.hpp"

namespace rondure {
namespace {

Error bad_line(int line, const std::string& what) {
  return {ErrorCode::kBadLine, "line " + std::to_string(line) + ": " + what};
}

char separator_of(std::string_view header) {
  for (const char c : {';', '\t'})
    if (header.find(c) != std::string_view::npos) return c;
  return ',';
}

// One line, taken apart by the names of the header.
class Row {
public:
  Row(const std::map<std::string, std::size_t>& columns, std::vector<std::string> fields, int line)
      : columns_(columns), fields_(std::move(fields)), line_(line) {}

  std::string text(const std::string& column) const {
    const auto at = columns_.find(column);
    return at == columns_.end() || at->second >= fields_.size() ? std::string() : fields_[at->second];
  }

  // A length of at least 0; absent when the field is empty.
  Result<std::optional<double>> length(const std::string& column, LengthUnit bare) const {
    const std::string field = text(column);
    if (field.empty()) return std::optional<double>{};
    const auto mm = parse_length_mm(field, bare);
    if (!mm) {
      if (mm.error().code == ErrorCode::kNotFinite)
        return Error{ErrorCode::kNotFinite,
                     "line " + std::to_string(line_) + ": " + quoted_for_message(field)};
      return bad_line(line_, "found " + quoted_for_message(field) + " for " + column + ", needed a length");
    }
    if (*mm < 0)
      return bad_line(line_, "found " + quoted_for_message(field) + " for " + column + ", needed 0 or more");
    return std::optional(*mm);
  }

private:
  const std::map<std::string, std::size_t>& columns_;
  std::vector<std::string> fields_;
  int line_;
};

Result<SizeLine> read_row(const Row& row, int line, LengthUnit bare) {
  SizeLine size;
  size.line = line;
  size.name = row.text("name");
  if (size.name.empty()) return bad_line(line, "found no name");
  const std::string kind = lower(row.text("kind"));
  const auto known = FeatureKind::parse(kind);
  if (!known)
    return bad_line(line, "found the kind " + quoted_for_message(kind) + ", needed " + FeatureKind::kWords);
  size.kind = *known;
  LengthUnit unit = bare;
  if (const std::string text = row.text("unit"); !text.empty()) {
    const auto parsed = parse_unit(lower(text));
    if (!parsed)
      return bad_line(line, "found the unit " + quoted_for_message(text) + ", needed mm, in, thou or um");
    unit = *parsed;
  }
  const auto value = row.length("size", unit), u = row.length("u", unit), made = row.length("u_made", unit),
             minor = row.length("minor", unit);
  for (const auto* field : {&value, &u, &made, &minor})
    if (!*field) return field->error();
  if (!*value || !(**value > 0)) return bad_line(line, "found no size above 0");
  if (!*u) return bad_line(line, "found no u, needed the standard uncertainty of the measuring");
  size.size_mm = **value;
  size.u_mm = **u;
  size.u_made_mm = *made;
  size.minor_mm = *minor;
  if (size.u_mm >= size.size_mm) return bad_line(line, "found an uncertainty u as large as the size");
  if (size.minor_mm && (*size.minor_mm > size.size_mm || *size.minor_mm <= 0))
    return bad_line(line,
                    "needed minor (the smallest diameter) above 0 and no larger than size (the largest)");
  return size;
}

Result<std::map<std::string, std::size_t>> columns_of(const std::vector<std::string>& header, int line) {
  std::map<std::string, std::size_t> columns;
  for (std::size_t i = 0; i < header.size(); ++i) columns[lower(header[i])] = i;
  for (const char* needed : {"name", "kind", "size", "u"})
    if (!columns.count(needed))
      return bad_line(line, std::string("found no column '") + needed +
                                "', needed the header name,kind,size,u,unit[,u_made]");
  return columns;
}

}  // namespace

Result<std::vector<SizeLine>> parse_sizes(const std::string& text, LengthUnit bare) {
  std::vector<SizeLine> sizes;
  std::set<std::string> names;
  std::map<std::string, std::size_t> columns;
  char separator = ',';
  std::string_view rest(text);
  if (rest.starts_with("\xEF\xBB\xBF")) rest.remove_prefix(3);
  for (int number = 1; !rest.empty(); ++number) {
    const auto end = rest.find('\n');
    std::string_view line = trimmed(rest.substr(0, end));
    rest = end == std::string_view::npos ? std::string_view{} : rest.substr(end + 1);
    if (line.starts_with('#')) {
      const std::string comment = lower(trimmed(line.substr(1)));
      if (!comment.starts_with("unit:")) continue;
      const auto unit = parse_unit(trimmed(std::string_view(comment).substr(5)));
      if (!unit)
        return bad_line(
            number, "found the unit " + quoted_for_message(comment.substr(5)) + ", needed mm, in or thou");
      bare = *unit;
      continue;
    }
    line = trimmed(line.substr(0, line.find('#')));
    if (line.empty()) continue;
    if (columns.empty()) {
      separator = separator_of(line);
      const auto header = columns_of(csv_fields(line, separator), number);
      if (!header) return header.error();
      columns = *header;
      continue;
    }
    const auto size = read_row(Row(columns, csv_fields(line, separator), number), number, bare);
    if (!size) return size.error();
    if (!names.insert(size->name).second)
      return bad_line(number, "found the name " + quoted_for_message(size->name) + " a second time");
    sizes.push_back(*size);
    if (sizes.size() > kMostSizes)
      return bad_line(number, "found more than 200 sizes, needed those of one part");
  }
  if (sizes.empty())
    return Error{ErrorCode::kNoAnswer,
                 "found no sizes, needed the header name,kind,size,u,unit[,u_made] and a line"};
  return sizes;
}

}  // namespace rondure
