// A line on standard error for work that takes longer than two seconds, with the time left. Only on a
// terminal, wiped at the end; silent with --quiet or when standard output carries a result (--json -, --csv
// -).
#pragma once
#include <chrono>
#include <mutex>
#include <string>

namespace rondure::cli {

class Progress {
public:
  // `what` as it reads before a colon ("measuring 200 photographs"); `pieces` of work that make the whole.
  Progress(std::string what, double pieces, bool quiet);
  ~Progress() { wipe(); }
  Progress(const Progress&) = delete;
  Progress& operator=(const Progress&) = delete;
  void done(double pieces = 1);  // so many more; may be called from several threads
  void done_ratio(double of_the_whole);
  void wipe();  // before anything else is written on the terminal

private:
  void show();
  std::string what_;
  double pieces_, done_ = 0;
  bool shown_ = false, enabled_;
  std::chrono::steady_clock::time_point start_ = std::chrono::steady_clock::now(), last_shown_ = start_;
  std::mutex mutex_;
};

// "about 12 s", "about 3 min"
std::string time_words(double seconds);

}  // namespace rondure::cli
