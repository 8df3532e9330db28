// How much of a part record, a set or a filled-in sheet is read before it is refused.
#pragma once
#include <cstddef>

namespace rondure::cli {

inline constexpr std::size_t kInputLimitBytes = 32u << 20;  // as a part record (record_file.cpp)

}  // namespace rondure::cli
