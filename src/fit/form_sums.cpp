#include "form_sums.hpp"

#include <algorithm>
#include <cmath>

namespace rondure {
namespace {

constexpr Eigen::Index kLanes = 8;
using Lanes = Eigen::Array<double, kLanes, 1>;

// L D L' of 1 + r A for several r side by side; one logarithm for many factors, none of which comes near 1e50 beside a form.
void sums_side_by_side(const Tridiagonal& form, const Lanes& r, Lanes& log_det, Lanes& explained) {
  // Looked at after every fourth: four more of up to 1e39 stay below the largest double, 1.8e308.
  constexpr double kLarge = 1e150;
  const auto m = form.diagonal.size();
  Lanes product = Lanes::Ones(), before = Lanes::Zero(), inverse = Lanes::Zero();
  log_det.setZero(), explained.setZero();
  for (Eigen::Index j = 0; j < m; ++j) {
    const double side = j > 0 ? form.beside[j - 1] : 0;
    const Lanes across = r * side, factor = across * inverse;
    const Lanes pivot = (1 + r * form.diagonal[j] - factor * across).max(1e-300);
    before = form.parts(3, j) - factor * before;
    inverse = pivot.inverse();
    explained += before.square() * inverse;
    product *= pivot;
    if ((j & 3) == 3 && product.maxCoeff() > kLarge) log_det += product.log(), product.setOnes();
  }
  log_det += product.log();
  explained *= r;
}

}  // namespace

void form_sums(const Tridiagonal& form, std::span<const double> r, std::span<FormSums> out) {
  for (std::size_t first = 0; first < r.size(); first += kLanes) {
    const std::size_t count = std::min<std::size_t>(kLanes, r.size() - first);
    Lanes some, log_det, explained;
    for (std::size_t k = 0; k < kLanes; ++k)
      some[static_cast<Eigen::Index>(k)] = r[first + std::min(k, count - 1)];
    sums_side_by_side(form, some, log_det, explained);
    for (std::size_t k = 0; k < count; ++k) {
      const auto at = static_cast<Eigen::Index>(k);
      out[first + k] = {log_det[at], explained[at]};
    }
  }
}

}  // namespace rondure
