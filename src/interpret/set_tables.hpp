// Tables over nodes or rows (down) and designer's habits (across), and the two sums that a batch makes with them.
#pragma once
#include <Eigen/Core>
#include <vector>

#include "set_shrinkage.hpp"

namespace rondure {

using HabitTable = Eigen::Array<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

struct NodeRange {
  std::size_t first = 0, last = 0;
  std::size_t count() const { return last > first ? last - first : 0; }
};

// A table that is 0 but for the nodes of a range, whose rows alone it holds; or one of rows. One object serves one such table after the
// other: a set has thousands of them, and asking the system for their memory anew takes longer than the sums.
class NodeTable {
public:
  // All 0.
  void reset(NodeRange nodes, std::size_t habits) {
    nodes_ = nodes;
    habits_ = habits;
    values_.assign(nodes.count() * habits, 0.0);
  }
  NodeRange nodes() const { return nodes_; }
  std::size_t habits() const { return habits_; }
  double* row(std::size_t node) { return values_.data() + (node - nodes_.first) * habits_; }
  const double* row(std::size_t node) const { return values_.data() + (node - nodes_.first) * habits_; }
  using Row = Eigen::Array<double, 1, Eigen::Dynamic>;
  Eigen::Map<Row> of_node(std::size_t k) { return {row(k), static_cast<Eigen::Index>(habits_)}; }
  Eigen::Map<const Row> of_node(std::size_t k) const { return {row(k), static_cast<Eigen::Index>(habits_)}; }
  Eigen::Map<HabitTable> table() {
    return {values_.data(), static_cast<Eigen::Index>(nodes_.count()), static_cast<Eigen::Index>(habits_)};
  }

private:
  NodeRange nodes_;
  std::size_t habits_ = 0;
  std::vector<double> values_;
};

// Sum over the nodes of weight * table, for the rows asked for.
HabitTable project(const BatchRule& rule, const std::vector<std::size_t>& rows, const HabitTable& table);
void project(const BatchRule& rule, const std::vector<std::size_t>& rows, const NodeTable& table,
             NodeTable& sums);
// Sum over the rows of coefficients * weight, per node: of all nodes, and of those that `back` is of.
HabitTable project_back(const BatchRule& rule, const std::vector<std::size_t>& rows,
                        const HabitTable& coefficients);
void project_back(const BatchRule& rule, const std::vector<std::size_t>& rows,
                  const Eigen::Map<HabitTable>& coefficients, NodeTable& back);

}  // namespace rondure
