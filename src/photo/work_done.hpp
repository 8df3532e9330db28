// The share of a task's pieces that is done.
#pragma once
#include <algorithm>
#include <atomic>
#include <functional>

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

}  // namespace rondure
