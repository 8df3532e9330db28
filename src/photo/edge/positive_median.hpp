// The middle of many values that are 0 or more, quicker than by sorting about it: by counting.
#pragma once
#include <algorithm>
#include <array>
#include <bit>
#include <cstdint>
#include <vector>

namespace rondure {

// Of an even count the upper of the two middle ones; 0 for none. The values, none below 0 nor a NaN, change places.
inline double positive_median(std::vector<double>& values) {
  constexpr std::size_t kFew = 128;  // of fewer the 2048 counts would cost more than sorting
  constexpr int kShift = 20;  // leaves the exponent and three bits: values of a bin are within an eighth
  if (values.empty()) return 0;
  auto first = values.begin(), last = values.end();
  std::size_t rank = values.size() / 2;
  if (values.size() > kFew) {  // of values above 0 the order is that of their bits
    const auto bin = [](double value) {
      return std::bit_cast<std::uint32_t>(static_cast<float>(value) + 0.0f) >> kShift;
    };
    std::array<std::uint32_t, (std::size_t{1} << 31 >> kShift)> counts{};
    for (const double value : values) ++counts[bin(value)];
    std::uint32_t middle = 0;
    for (; counts[middle] <= rank; ++middle) rank -= counts[middle];
    last = std::partition(first, last, [&](double value) { return bin(value) == middle; });
  }
  const auto at = first + static_cast<std::ptrdiff_t>(rank);
  std::nth_element(first, at, last);
  return *at;
}

}  // namespace rondure
