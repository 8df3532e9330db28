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

// Of a table whose first row is that of the node nodes.first.
void project_rows(const BatchRule& rule, const std::vector<std::size_t>& rows, const double* table,
                  std::size_t width, NodeRange nodes, double* sums) {
  for (std::size_t j = 0; j < rows.size(); ++j) {
    const BatchRule::Row& row = rule.rows()[rows[j]];
    const std::size_t from = std::max(nodes.first, row.first);
    const std::size_t to = std::min(nodes.last, row.first + row.weight.size());
    if (from < to)
      add_weighted(table + (from - nodes.first) * width, width, row.weight.data() + (from - row.first),
                   to - from, sums + j * width);
  }
}

void project_rows_back(const BatchRule& rule, const std::vector<std::size_t>& rows,
                       const double* coefficients, std::size_t width, double* table, NodeRange nodes) {
  for (std::size_t j = 0; j < rows.size(); ++j) {
    const BatchRule::Row& row = rule.rows()[rows[j]];
    const std::size_t from = std::max(nodes.first, row.first);
    const std::size_t to = std::min(nodes.last, row.first + row.weight.size());
    if (from < to)
      add_outer(row.weight.data() + (from - row.first), to - from, coefficients + j * width, width,
                table + (from - nodes.first) * width);
  }
}

}  // namespace

HabitTable project(const BatchRule& rule, const std::vector<std::size_t>& rows, const HabitTable& table) {
  HabitTable sums = HabitTable::Zero(static_cast<Eigen::Index>(rows.size()), table.cols());
  project_rows(rule, rows, table.data(), static_cast<std::size_t>(table.cols()), {0, rule.nodes().size()},
               sums.data());
  return sums;
}

void project(const BatchRule& rule, const std::vector<std::size_t>& rows, const NodeTable& table,
             NodeTable& sums) {
  sums.reset({0, rows.size()}, table.habits());
  project_rows(rule, rows, table.row(table.nodes().first), table.habits(), table.nodes(), sums.row(0));
}

HabitTable project_back(const BatchRule& rule, const std::vector<std::size_t>& rows,
                        const HabitTable& coefficients) {
  HabitTable sums = HabitTable::Zero(static_cast<Eigen::Index>(rule.nodes().size()), coefficients.cols());
  project_rows_back(rule, rows, coefficients.data(), static_cast<std::size_t>(coefficients.cols()),
                    sums.data(), {0, rule.nodes().size()});
  return sums;
}

void project_back(const BatchRule& rule, const std::vector<std::size_t>& rows,
                  const Eigen::Map<HabitTable>& coefficients, NodeTable& back) {
  project_rows_back(rule, rows, coefficients.data(), back.habits(), back.row(back.nodes().first),
                    back.nodes());
}

}  // namespace rondure
