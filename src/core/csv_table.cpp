#include "rondure/core/csv_table.hpp"

#include <cctype>
#include <map>
#include <mutex>

#include "rondure/core/builtin_data.hpp"
#include "rondure/core/length.hpp"
#include "rondure/core/quoting.hpp"
#include "rondure/core/trimmed.hpp"

namespace rondure {
CsvTable::CsvTable(std::string_view text) {
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  for (int number = 1; !text.empty(); ++number) {
    const auto end = text.find('\n');
    const std::string_view line = trimmed(text.substr(0, end));
    text = end == std::string_view::npos ? std::string_view{} : text.substr(end + 1);
    if (line.empty() || line.front() == '#') continue;
    if (header_.empty()) {
      header_ = csv_fields(line);
    } else {
      rows_.push_back(csv_fields(line));
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

std::optional<double> CsvTable::number(std::size_t row, std::string_view column) const {
  const auto value = parse_number(text(row, column));
  return value ? std::optional(*value) : std::nullopt;
}

std::optional<std::size_t> CsvTable::find(std::string_view column, std::string_view value) const {
  for (std::size_t i = 0; i < rows(); ++i)
    if (text(i, column) == value) return i;
  return std::nullopt;
}

std::string folded(std::string_view text) {
  std::string out(trimmed(text));
  for (char& c : out) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return out;
}

}  // namespace rondure
