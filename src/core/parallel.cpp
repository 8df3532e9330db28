#include "rondure/core/parallel.hpp"

#include <algorithm>
#include <atomic>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

namespace rondure {
namespace {

std::atomic<int> asked_cores{0};
thread_local bool inside = false;

int cores_for(int asked) {
  if (asked <= 0) asked = asked_cores;
  return asked > 0 ? asked : std::max(1, static_cast<int>(std::thread::hardware_concurrency()));
}

}  // namespace

void use_cores(int cores) { asked_cores = cores; }

void in_parallel(int count, const std::function<void(int)>& work, int cores) {
  std::atomic<int> next{0};
  std::exception_ptr thrown;
  std::mutex guard;
  const int threads = inside ? 1 : std::min(cores_for(cores), count);
  const auto take = [&] {
    const bool was_inside = inside;
    inside = was_inside || threads > 1;
    for (int i = next++; i < count; i = next++) try {
        work(i);
      } catch (...) {
        const std::lock_guard lock(guard);
        if (!thrown) thrown = std::current_exception();
      }
    inside = was_inside;
  };
  std::vector<std::thread> helpers;
  for (int n = 1; n < threads; ++n) helpers.emplace_back(take);
  take();
  for (std::thread& helper : helpers) helper.join();
  if (thrown) std::rethrow_exception(thrown);
}

}  // namespace rondure
