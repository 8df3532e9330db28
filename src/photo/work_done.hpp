// Pieces of work shared among threads, and the share of them that is done.
#pragma once
#include <algorithm>
#include <atomic>
#include <functional>
#include <thread>
#include <vector>

namespace rondure {

// Counts pieces of work and tells the share that is done.
class WorkDone {
public:
  WorkDone(std::size_t pieces, const std::function<void(double)>& tell)
      : pieces_(static_cast<double>(pieces)), tell_(tell) {}
  // One piece, done when it goes out of scope.
  class Piece {
  public:
    explicit Piece(WorkDone& of) : of_(of) {}
    Piece(const Piece&) = delete;
    Piece& operator=(const Piece&) = delete;
    ~Piece() { of_.add(); }

  private:
    WorkDone& of_;
  };

private:
  void add() {
    const int done = ++done_;
    if (tell_) tell_(std::min(0.98, done / pieces_));
  }
  double pieces_;
  const std::function<void(double)>& tell_;
  std::atomic<int> done_{0};
};

template <class Task>
void in_parallel(std::size_t count, int threads, Task task) {
  std::atomic<std::size_t> next{0};
  const auto run = [&] {
    for (std::size_t i; (i = next++) < count;) task(i);
  };
  std::vector<std::thread> pool;
  for (int t = 1; t < threads && static_cast<std::size_t>(t) < count; ++t) pool.emplace_back(run);
  run();
  for (auto& thread : pool) thread.join();
}

}  // namespace rondure
