// Independent pieces of one task on several processor cores.
#pragma once
#include <functional>

namespace rondure {

// Calls work(0) ... work(count - 1), each once, in any order and at the same time; the caller works too. Within such a
// call another one runs on its own core alone. What one of them throws is thrown on when all are done. cores: 0 = as set
// by use_cores.
void in_parallel(int count, const std::function<void(int)>& work, int cores = 0);

// Cores that in_parallel uses from now on; 0 = all of the machine, as at the start.
void use_cores(int cores);

}  // namespace rondure
