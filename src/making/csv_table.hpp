// The table of core/csv_table.hpp with sizes in steps (over_mm, upto_mm), as the tables of limits have them.
#pragma once
#include "rondure/core/csv_table.hpp"

namespace rondure::plan {

class CsvTable : public rondure::CsvTable {
public:
  using rondure::CsvTable::CsvTable;
  // The built-in table of that name.
  static const CsvTable& builtin(const std::string& name);

  // NaN where the field is empty or no number.
  double number(std::size_t row, std::string_view column) const;
  // The row whose half-open step over_mm < size <= upto_mm holds the size, and whose `column` is `value`
  // (unless the column name is empty); -1 = none.
  int step(double size_mm, std::string_view column = {}, std::string_view value = {}) const;
};

}  // namespace rondure::plan
