// The middle value, in O(n).
#pragma once
#include <algorithm>
#include <vector>

namespace rondure {

// Of an even count the upper of the two middle ones; 0 for none.
inline double median(std::vector<double> values) {
  if (values.empty()) return 0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

}  // namespace rondure
