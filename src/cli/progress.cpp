#include "progress.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <iostream>

namespace rondure::cli {

Progress::Progress(std::string what, int steps, bool quiet)
    : what_(std::move(what)), steps_(steps), enabled_(!quiet && isatty(STDERR_FILENO) == 1) {}

Progress::~Progress() {
  if (shown_) std::cerr << "\r\033[K" << std::flush;
}

void Progress::step_done() {
  const std::lock_guard lock(mutex_);
  ++done_;
  if (!enabled_) return;
  const double spent = std::chrono::duration<double>(std::chrono::steady_clock::now() - start_).count();
  if (spent < 2) return;
  const double left = spent / done_ * (steps_ - done_);
  std::cerr << fmt::format("\r\033[K{}: {} of {}, about {:.0f} s left", what_, done_, steps_, left) << std::flush;
  shown_ = true;
}

}  // namespace rondure::cli
