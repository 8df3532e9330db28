#include "set_tables.hpp"

#include <algorithm>

#include "rondure/core/vector_clones.hpp"

namespace rondure {
namespace {

// out += sum over k of weight[k] * table[k], four rows at a time.
RONDURE_VECTOR_CLONES void add_weighted(const double* table, std::size_t width, const double* weight,
                                        std::size_t count, double* out) {
  std::size_t k = 0;
  for (; k + 4 <= count; k += 4) {
    const double *a = table + k * width, *b = a + width, *c = b + width, *d = c + width;
    const double wa = weight[k], wb = weight[k + 1], wc = weight[k + 2], wd = weight[k + 3];
    for (std::size_t h = 0; h < width; ++h) out[h] += (wa * a[h] + wb * b[h]) + (wc * c[h] + wd * d[h]);
  }
  for (; k < count; ++k)
    for (std::size_t h = 0; h < width; ++h) out[h] += weight[k] * table[k * width + h];
}

// table[k] += weight[k] * row, for every k.
RONDURE_VECTOR_CLONES void add_outer(const double* weight, std::size_t count, const double* row,
                                     std::size_t width, double* table) {
  for (std::size_t k = 0; k < count; ++k)
    for (std::size_t h = 0; h < width; ++h) table[k * width + h] += weight[k] * row[h];
}

}  // namespace

HabitTable project(const BatchRule& rule, const std::vector<std::size_t>& rows, const HabitTable& table,
                   NodeRange nodes) {
  const auto width = static_cast<std::size_t>(table.cols());
  HabitTable sums = HabitTable::Zero(static_cast<Eigen::Index>(rows.size()), table.cols());
  for (std::size_t j = 0; j < rows.size(); ++j) {
    const BatchRule::Row& row = rule.rows()[rows[j]];
    const std::size_t from = std::max(nodes.first, row.first);
    const std::size_t to = std::min(nodes.last, row.first + row.weight.size());
    if (from < to)
      add_weighted(table.data() + from * width, width, row.weight.data() + (from - row.first), to - from,
                   sums.data() + j * width);
  }
  return sums;
}

HabitTable project_back(const BatchRule& rule, const std::vector<std::size_t>& rows,
                        const HabitTable& coefficients) {
  const auto width = static_cast<std::size_t>(coefficients.cols());
  HabitTable sums = HabitTable::Zero(static_cast<Eigen::Index>(rule.nodes().size()), coefficients.cols());
  for (std::size_t j = 0; j < rows.size(); ++j) {
    const BatchRule::Row& row = rule.rows()[rows[j]];
    add_outer(row.weight.data(), row.weight.size(), coefficients.data() + j * width, width,
              sums.data() + row.first * width);
  }
  return sums;
}

}  // namespace rondure
