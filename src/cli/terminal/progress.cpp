#include "cli/terminal/progress.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <iostream>

#include "cli/terminal/paint.hpp"

namespace rondure::cli {
namespace {

constexpr double kWorthTelling_s = 2;  // the whole takes longer than this
constexpr double kFirstLook_s = 0.3;   // sooner the estimate is worth nothing
constexpr double kBetween_s = 0.2;     // more often nobody reads it

double seconds_since(std::chrono::steady_clock::time_point then) {
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - then).count();
}

}  // namespace

std::string time_words(double seconds) {
  if (seconds < 90) return fmt::format("about {:.0f} s", std::max(1.0, std::ceil(seconds)));
  return fmt::format("about {:.0f} min", std::ceil(seconds / 60));
}

Progress::Progress(std::string what, double pieces, bool quiet)
    : what_(std::move(what)),
      pieces_(pieces),
      enabled_(!quiet && terminal_obeys(STDERR_FILENO)),
      in_lines_(std::getenv(kProgressLines) != nullptr) {}

void Progress::done(double pieces) {
  const std::lock_guard lock(mutex_);
  done_ += pieces;
  show();
}

void Progress::done_ratio(double of_the_whole) {
  const std::lock_guard lock(mutex_);
  done_ = std::max(done_, of_the_whole * pieces_);
  show();
}

void Progress::show() {
  if ((!enabled_ && !in_lines_) || !(done_ > 0)) return;
  const double spent_s = seconds_since(start_);
  const double ratio = std::min(1.0, done_ / pieces_), left_s = spent_s / ratio - spent_s;
  if (in_lines_) {
    std::cerr << fmt::format("{}{:.3f} {:.1f}\n", kProgressMark, ratio, left_s) << std::flush;
    return;
  }
  if (spent_s < kFirstLook_s || (!shown_ && spent_s + left_s < kWorthTelling_s)) return;
  if (shown_ && seconds_since(last_shown_) < kBetween_s) return;
  std::cerr << fmt::format("\r\033[K{}: {:.0f} %, {} left", what_, 100 * ratio, time_words(left_s))
            << std::flush;
  last_shown_ = std::chrono::steady_clock::now();
  shown_ = true;
}

void Progress::wipe() {
  const std::lock_guard lock(mutex_);
  if (shown_) std::cerr << "\r\033[K" << std::flush;
  shown_ = enabled_ = false;
}

}  // namespace rondure::cli
