// A small table of text: '#' comments, one header line, commas, quotes round a field that holds commas. For
// the tables of src/data and for those that a user puts in their place; a row remembers its line in the file
// for messages.
#pragma once
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace rondure {

class CsvTable {
public:
  explicit CsvTable(std::string_view text);
  // The built-in table of that name (core/builtin_data.hpp); without rows when there is none.
  static const CsvTable& builtin(const std::string& name);

  std::size_t rows() const { return rows_.size(); }
  bool has(std::string_view column) const;
  int line(std::size_t row) const { return lines_[row]; }  // of the file, counted from 1
  // Empty where the column or the field is missing.
  std::string_view text(std::size_t row, std::string_view column) const;
  // Absent where the field is empty or no finite number.
  std::optional<double> number(std::size_t row, std::string_view column) const;
  // The first row whose `column` is `value`.
  std::optional<std::size_t> find(std::string_view column, std::string_view value) const;

private:
  std::vector<std::string> header_;
  std::vector<std::vector<std::string>> rows_;
  std::vector<int> lines_;
};

// Without spaces at the ends and in lower case, for comparing names.
std::string folded(std::string_view text);

}  // namespace rondure
