#include "csv_table.hpp"

#include <limits>
#include <map>
#include <mutex>

#include "rondure/core/builtin_data.hpp"
#include "rondure/core/length.hpp"

namespace rondure::plan {
namespace {

std::vector<std::string> split(std::string_view line) {
  std::vector<std::string> fields(1);
  bool quoted = false;
  for (const char c : line) {
    if (c == '"') {
      quoted = !quoted;
    } else if (c == ',' && !quoted) {
      fields.emplace_back();
    } else if (c != '\r') {
      fields.back() += c;
    }
  }
  for (std::string& f : fields) {
    const auto first = f.find_first_not_of(" \t");
    f = first == std::string::npos ? "" : f.substr(first, f.find_last_not_of(" \t") - first + 1);
  }
  return fields;
}

// Sizes a hair above a step by conversion from inches still belong to the step.
constexpr double kStepSlack_mm = 1e-9;

}  // namespace

CsvTable::CsvTable(std::string_view text) {
  int number = 0;
  while (!text.empty()) {
    const auto end = text.find('\n');
    const std::string_view line = text.substr(0, end);
    text = end == std::string_view::npos ? std::string_view{} : text.substr(end + 1);
    ++number;
    const auto first = line.find_first_not_of(" \t\r");
    if (first == std::string_view::npos || line[first] == '#') continue;
    if (header_.empty()) {
      header_ = split(line);
    } else {
      rows_.push_back(split(line));
      lines_.push_back(number);
    }
  }
}

const CsvTable& CsvTable::builtin(const std::string& name) {
  static std::map<std::string, CsvTable> tables;
  static std::mutex mutex;
  const std::lock_guard lock(mutex);
  const auto found = tables.find(name);
  if (found != tables.end()) return found->second;
  return tables.emplace(name, CsvTable(builtin_data(name))).first->second;
}

bool CsvTable::has(std::string_view column) const {
  for (const std::string& h : header_)
    if (h == column) return true;
  return false;
}

std::string_view CsvTable::text(std::size_t row, std::string_view column) const {
  for (std::size_t i = 0; i < header_.size(); ++i)
    if (header_[i] == column)
      return i < rows_[row].size() ? std::string_view(rows_[row][i]) : std::string_view{};
  return {};
}

double CsvTable::number(std::size_t row, std::string_view column) const {
  const auto field = text(row, column);
  if (field.empty()) return std::numeric_limits<double>::quiet_NaN();
  return parse_number(field).value_or(std::numeric_limits<double>::quiet_NaN());
}

int CsvTable::step(double size_mm, std::string_view column, std::string_view value) const {
  for (std::size_t i = 0; i < rows(); ++i)
    if ((column.empty() || text(i, column) == value) && number(i, "over_mm") + kStepSlack_mm < size_mm &&
        size_mm <= number(i, "upto_mm") + kStepSlack_mm)
      return static_cast<int>(i);
  return -1;
}

}  // namespace rondure::plan
