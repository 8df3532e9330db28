// The common shrinkage of a batch: nodes of the trapezium rule in z, and the shrinkage s = F^-1(Phi(z)) there.
#pragma once
#include <vector>

#include "rondure/interpret/materials.hpp"

namespace rondure {

inline constexpr double kReach_z = 6.5;  // 8e-11 of a normal law lie further out

// F^-1(Phi(z)) for many z, ascending. Not for an exact law.
std::vector<double> shrinkage_quantiles(const ShrinkageLaw& law, const std::vector<double>& z);

// A batch: its z nodes, and for every (likeness, z_batch) the rule's weights over them.
class BatchRule {
public:
  struct Row {
    double chance;  // of the likeness, times the rule's weight of z_batch
    std::size_t likeness;
    std::size_t first;           // node of weight[0]
    std::vector<double> weight;  // of the nodes, given z_batch
  };
  BatchRule();  // of a part whose shrinkage is known exactly: one node, one row
  // `parts`: how many hang on z_batch. `z_step`: between nodes.
  BatchRule(const std::vector<double>& likeness, std::size_t parts, double z_step, double step_scale);
  const std::vector<double>& nodes() const { return nodes_; }
  const std::vector<Row>& rows() const { return rows_; }
  const std::vector<double>& alone() const { return alone_; }  // weights of a part by itself
  // sum over rows of coefficients * weight, per node.
  std::vector<double> project_back(const std::vector<double>& coefficients) const;

private:
  std::vector<double> alone_;
  std::vector<double> nodes_;
  std::vector<Row> rows_;
};

}  // namespace rondure
