#include "cli/bench/check_sheet.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <sstream>
#include <vector>

#include "rondure/core/length.hpp"
#include "rondure/core/quoting.hpp"

namespace rondure::cli {
namespace {

using Cells = std::vector<std::string>;

struct Sheet {
  std::vector<std::string> lines;
  std::vector<Cells> cells;  // of each line; empty for comments
  Cells header;
};

std::string line_of(const Cells& cells) {
  std::string line;
  for (const std::string& cell : cells) line += (&cell == &cells.front() ? "" : ",") + csv_field(cell);
  return line;
}

Sheet read(const std::string& text) {
  Sheet sheet;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) {
    sheet.lines.push_back(line);
    const bool comment = line.empty() || line[0] == '#';
    sheet.cells.push_back(comment || sheet.header.empty() ? Cells() : csv_fields(line));
    if (!comment && sheet.header.empty()) sheet.header = csv_fields(line);
  }
  return sheet;
}

std::string* cell(const Sheet& sheet, Cells& row, const std::string& column) {
  const auto at = std::ranges::find(sheet.header, column) - sheet.header.begin();
  return at < std::ssize(sheet.header) && at < std::ssize(row) ? &row[std::size_t(at)] : nullptr;
}

// "2,981" and "2.981" alike; empty stays empty.
Result<std::string> figure(std::string text) {
  std::erase(text, ' ');
  if (text.empty()) return text;
  if (std::ranges::count(text, ',') == 1 && text.find('.') == std::string::npos)
    std::ranges::replace(text, ',', '.');
  if (text.size() > 20 || !parse_number(text))
    return Error{ErrorCode::kBadArgument,
                 "found '" + text.substr(0, 40) + "', needed a number such as 12.491"};
  return text;
}

// The figure in the other unit, to a hundredth of its own last place or better; as it is where either is not known.
std::string converted(const std::string& figure, const std::string& from, const std::string& to) {
  const auto of_figure = parse_unit(from), of_row = parse_unit(to);
  if (figure.empty() || !of_figure || !of_row || *of_figure == *of_row) return figure;
  const auto value = parse_number(figure);
  const auto point = figure.find('.');
  const int places = point == std::string::npos ? 0 : int(figure.size() - point - 1);
  const double times = mm_per(*of_figure) / mm_per(*of_row);
  return fmt::format("{:.{}f}", *value * times, std::max(0, places + 2 - int(std::floor(std::log10(times)))));
}

}  // namespace

Result<std::string> with_figure(const std::string& text, const std::string& row, const std::string& measured,
                                const std::string& u, const std::string& unit) {
  const auto new_measured = figure(measured), new_u = figure(u);
  if (!new_measured) return new_measured.error();
  if (!new_u) return new_u.error();
  Sheet sheet = read(text);
  bool filled = false;
  std::string out;
  for (std::size_t i = 0; i < sheet.lines.size(); ++i) {
    Cells& cells = sheet.cells[i];
    const std::string* name = cells.empty() ? nullptr : cell(sheet, cells, "name");
    if (name && *name == row && !filled) {
      std::string *m = cell(sheet, cells, "measured"), *s = cell(sheet, cells, "u");
      const std::string* of_row = cell(sheet, cells, "unit");
      if (m && s) {
        *m = converted(*new_measured, unit, of_row ? *of_row : "");
        *s = converted(*new_u, unit, of_row ? *of_row : "");
        filled = true;
      }
      out += line_of(cells) + "\n";
    } else {
      out += sheet.lines[i] + "\n";
    }
  }
  if (!filled) return Error{ErrorCode::kBadArgument, "found no row of that name on the check sheet"};
  return out;
}

bool has_figures(const std::string& text) {
  Sheet sheet = read(text);
  return std::ranges::any_of(sheet.cells, [&](Cells& row) {
    const std::string* m = row.empty() ? nullptr : cell(sheet, row, "measured");
    return m && !m->empty();
  });
}

std::string rows_json(const std::string& text) {
  Sheet sheet = read(text);
  nlohmann::json rows = nlohmann::json::array();
  for (const Cells& row : sheet.cells) {
    if (row.empty()) continue;
    nlohmann::json one = nlohmann::json::object();
    for (std::size_t i = 0; i < row.size() && i < sheet.header.size(); ++i) one[sheet.header[i]] = row[i];
    rows.push_back(std::move(one));
  }
  return rows.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

}  // namespace rondure::cli
