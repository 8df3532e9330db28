// Tables over nodes or rows (down) and designer's habits (across), and the two sums that a batch makes with them.
#pragma once
#include <Eigen/Core>
#include <vector>

#include "set_shrinkage.hpp"

namespace rondure {

using HabitTable = Eigen::Array<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

// Sum over the nodes of weight * table, for the rows asked for; `nodes`: outside of them the table is 0.
struct NodeRange {
  std::size_t first = 0, last = 0;
};
HabitTable project(const BatchRule& rule, const std::vector<std::size_t>& rows, const HabitTable& table,
                   NodeRange nodes);
// Sum over the rows of coefficients * weight, per node.
HabitTable project_back(const BatchRule& rule, const std::vector<std::size_t>& rows,
                        const HabitTable& coefficients);

}  // namespace rondure
