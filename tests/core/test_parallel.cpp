#include <atomic>
#include <catch2/catch.hpp>
#include <mutex>
#include <set>
#include <stdexcept>
#include <thread>
#include <vector>

#include "rondure/core/parallel.hpp"

using namespace rondure;

TEST_CASE("pieces of a task: each is done once, on any number of cores, and inside another",
          "[core][parallel]") {
  for (const int cores : {0, 1, 3, 64}) {
    std::vector<std::atomic<int>> done(100);
    in_parallel(
        100, [&](int i) { ++done[i]; }, cores);
    for (const auto& count : done) CHECK(count == 1);
  }
  in_parallel(0, [](int) { FAIL("nothing to do"); });
  std::vector<std::atomic<int>> inner(30);
  std::mutex guard;
  bool spread = false;
  in_parallel(
      3,
      [&](int k) {
        std::set<std::thread::id> on;
        in_parallel(
            10, [&](int i) { ++inner[10 * k + i], on.insert(std::this_thread::get_id()); }, 4);
        const std::lock_guard lock(guard);
        spread = spread || on.size() > 1;
      },
      2);
  for (const auto& count : inner) CHECK(count == 1);
  CHECK_FALSE(spread);
}

TEST_CASE("pieces of a task: what one throws comes out, the others are done", "[core][parallel]") {
  std::atomic<int> done{0};
  CHECK_THROWS_AS(in_parallel(
                      20,
                      [&](int i) {
                        ++done;
                        if (i == 7) throw std::runtime_error("seven");
                      },
                      2),
                  std::runtime_error);
  CHECK(done == 20);
}
