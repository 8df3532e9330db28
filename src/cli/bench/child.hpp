// Runs this very program with other arguments, in a folder, and takes what it prints: the page at the bench does
// nothing that a command does not do. No shell is involved.
#pragma once
#include <atomic>
#include <chrono>
#include <filesystem>
#include <mutex>
#include <string>
#include <vector>

namespace rondure::cli {

struct ChildAnswer {
  int exit_code = -1;  // -1: could not be started, was stopped, or printed more than allowed
  std::string out, err;
};

// A command at work, looked at and stopped from another thread.
class Work {
public:
  struct State {
    double passed_s = 0, done_ratio = 0, left_s = 0;  // ratio 0: the command has not told yet
  };
  void stop() { stopped_ = true; }
  bool stopped() const { return stopped_; }
  void tell(double done_ratio, double left_s);
  State state() const;

private:
  std::atomic<bool> stopped_{false};
  mutable std::mutex mutex_;
  double done_ratio_ = 0, left_s_ = 0;
  std::chrono::steady_clock::time_point start_ = std::chrono::steady_clock::now(), told_ = start_;
};

// Stopped after `allowed_s`, or when `work` is; output beyond 64 MiB ends it too.
ChildAnswer run_self(const std::filesystem::path& folder, const std::vector<std::string>& arguments,
                     const std::string& input = {}, double allowed_s = 120, Work* work = nullptr);

}  // namespace rondure::cli
