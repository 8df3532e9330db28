// A line on standard error for work that takes longer than two seconds, with the time left. Only on a terminal.
#pragma once
#include <chrono>
#include <mutex>
#include <string>

namespace rondure::cli {

class Progress {
 public:
  Progress(std::string what, int steps, bool quiet = false);
  ~Progress();  // wipes the line
  Progress(const Progress&) = delete;
  Progress& operator=(const Progress&) = delete;
  void step_done();  // may be called from several threads

 private:
  std::string what_;
  int steps_, done_ = 0;
  bool shown_ = false, enabled_;
  std::chrono::steady_clock::time_point start_ = std::chrono::steady_clock::now();
  std::mutex mutex_;
};

}  // namespace rondure::cli
