// A small table as the files of src/data have it: '#' comments, one header line, commas, quotes round text
// with commas.
#pragma once
#include <string>
#include <string_view>
#include <vector>

namespace rondure::plan {

class CsvTable {
public:
  explicit CsvTable(std::string_view text);
  // The built-in table of that name.
  static const CsvTable& builtin(const std::string& name);

  std::size_t rows() const { return rows_.size(); }
  bool has(std::string_view column) const;
  int line(std::size_t row) const { return lines_[row]; }  // of the file, counted from 1
  // Empty where the column or the field is missing.
  std::string_view text(std::size_t row, std::string_view column) const;
  // NaN where the field is empty or no number.
  double number(std::size_t row, std::string_view column) const;
  // The row whose half-open step over_mm < size <= upto_mm holds the size, and whose `column` is `value`
  // (unless the column name is empty); -1 = none.
  int step(double size_mm, std::string_view column = {}, std::string_view value = {}) const;

private:
  std::vector<std::string> header_;
  std::vector<std::vector<std::string>> rows_;
  std::vector<int> lines_;
};

}  // namespace rondure::plan
