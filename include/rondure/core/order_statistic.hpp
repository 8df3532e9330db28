// Order statistics, in O(n).
#pragma once
#include <algorithm>
#include <cstddef>
#include <vector>

namespace rondure {

// The value that `rank` others come before, were they in order; rank < count. The values change places.
template <class T>
T order_statistic(std::vector<T>& values, std::size_t rank) {
  const auto at = values.begin() + static_cast<std::ptrdiff_t>(rank);
  std::nth_element(values.begin(), at, values.end());
  return *at;
}

// The value that this share of the others lies below; share in [0, 1], at least one value. Not interpolated.
template <class T>
T quantile(std::vector<T> values, double share) {
  return order_statistic(values, static_cast<std::size_t>(share * static_cast<double>(values.size() - 1)));
}

}  // namespace rondure
