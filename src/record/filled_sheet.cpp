#include "rondure/record/filled_sheet.hpp"

#include <algorithm>
#include <cmath>

#include "rondure/core/length.hpp"
#include "rondure/core/quoting.hpp"
#include "rondure/core/trimmed.hpp"

namespace rondure {
namespace {

struct Columns {
  char separator = ',';
  std::map<std::string, std::size_t> at;
  std::string operator()(const std::vector<std::string>& fields, const char* column) const {
    const auto found = at.find(column);
    return found == at.end() || found->second >= fields.size() ? "" : fields[found->second];
  }
};

Error bad_line(int line, const std::string& what) {
  return {ErrorCode::kBadLine, "line " + std::to_string(line) + ": " + what};
}

Result<Columns> header(const std::string& line, int number) {
  Columns columns;
  columns.separator = std::ranges::count(line, ';') > std::ranges::count(line, ',') ? ';' : ',';
  const auto names = csv_fields(line, columns.separator);
  for (std::size_t i = 0; i < names.size(); ++i) columns.at[names[i]] = i;
  for (const char* needed : {"name", "measured", "unit"})
    if (!columns.at.contains(needed))
      return bad_line(number, std::string("no column '") + needed +
                                  "', needed a part record or a check sheet with its "
                                  "header line");
  return columns;
}

Result<void> read_row(const std::vector<std::string>& fields, const Columns& column, int number,
                      const std::map<std::string, double>& usual_u_mm, FilledSheet& sheet) {
  if (column(fields, "measured").empty()) return {};
  const auto unit = parse_unit(column(fields, "unit"));
  if (!unit) return bad_line(number, unit.error().detail);
  Feature f;
  f.name = column(fields, "name");
  f.kind = FeatureKind::from_record(column(fields, "kind"));
  const double factor = 1 / f.kind.drawn_share();  // arcs are given by their radius
  std::optional<Error> wrong;
  const auto length = [&](const char* name) -> std::optional<double> {
    const std::string text = column(fields, name);
    if (text.empty()) return std::nullopt;
    const auto mm = parse_length_mm(text, *unit);
    if (mm && std::isfinite(*mm * factor)) return *mm * factor;
    wrong = bad_line(number,
                     std::string(name) + ": " +
                         (mm ? "found '" + text.substr(0, 40) + "', needed a length" : mm.error().message()));
    return std::nullopt;
  };
  const auto measured = length("measured"), u = length("u"), target = length("target");
  const PlannedLimits planned{target.value_or(0), {length("lower"), length("upper")}};
  if (wrong) return *wrong;
  if (u && *u < 0) return bad_line(number, "u is negative, needed a standard uncertainty");
  f.circle = CircleResult{};
  f.circle->diameter_mm = *measured;
  f.circle->u_diameter_mm = u;
  if (const auto usual = usual_u_mm.find(f.name); !u && usual != usual_u_mm.end())
    f.circle->u_diameter_mm = usual->second;
  if (target) sheet.limits[f.name] = planned;
  sheet.features.push_back(std::move(f));
  return {};
}

}  // namespace

Result<FilledSheet> parse_filled_sheet(const std::string& csv,
                                       const std::map<std::string, double>& usual_u_mm) {
  FilledSheet sheet;
  std::optional<Columns> columns;
  int number = 0;
  for (std::size_t at = 0; at < csv.size();) {
    const std::size_t end = std::min(csv.find('\n', at), csv.size());
    const std::string line(trimmed(csv.substr(at, end - at)));
    at = end + 1;
    ++number;
    if (line.empty() || line[0] == '#') continue;
    if (!columns) {
      auto read = header(line, number);
      if (!read) return read.error();
      columns = *std::move(read);
    } else if (const auto row =
                   read_row(csv_fields(line, columns->separator), *columns, number, usual_u_mm, sheet);
               !row) {
      return row.error();
    }
  }
  if (sheet.features.empty())
    return Error{ErrorCode::kNoAnswer, "found no measured value in the check sheet"};
  return sheet;
}

}  // namespace rondure
