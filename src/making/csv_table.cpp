#include "csv_table.hpp"

#include <limits>
#include <map>
#include <mutex>

#include "rondure/core/builtin_data.hpp"

namespace rondure::plan {
namespace {
constexpr double kStepSlack_mm = 1e-9;  // rounding alone: 18 mm computed from inches is in the step up to 18
}  // namespace

const CsvTable& CsvTable::builtin(const std::string& name) {
  static std::map<std::string, CsvTable> tables;
  static std::mutex guard;
  const std::lock_guard lock(guard);
  return tables.try_emplace(name, builtin_data(name)).first->second;
}

double CsvTable::number(std::size_t row, std::string_view column) const {
  return rondure::CsvTable::number(row, column).value_or(std::numeric_limits<double>::quiet_NaN());
}

int CsvTable::step(double size_mm, std::string_view column, std::string_view value) const {
  for (std::size_t i = 0; i < rows(); ++i)
    if ((column.empty() || text(i, column) == value) && number(i, "over_mm") + kStepSlack_mm < size_mm &&
        size_mm <= number(i, "upto_mm") + kStepSlack_mm)
      return static_cast<int>(i);
  return -1;
}

}  // namespace rondure::plan
