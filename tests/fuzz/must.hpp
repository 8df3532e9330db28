// What a fuzz target insists on: stops the program where it does not hold, which the fuzzer reports.
#pragma once
#include <cstdlib>

inline void must(bool held) {
  if (!held) std::abort();
}
