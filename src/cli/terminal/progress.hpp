// A line on standard error for work that takes longer than two seconds, with the time left. Only on a
// terminal, wiped at the end; silent with --quiet or when standard output carries a result (--json -, --csv
// -). Where the environment says RONDURE_PROGRESS, a line "progress: 0.42 3.5" (done, seconds left) instead, for the
// program that started this one.
#pragma once
#include <chrono>
#include <mutex>
#include <string>
#include <string_view>

namespace rondure::cli {

inline constexpr const char* kProgressLines = "RONDURE_PROGRESS";
inline constexpr std::string_view kProgressMark = "progress: ";

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
  bool shown_ = false, enabled_, in_lines_;
  std::chrono::steady_clock::time_point start_ = std::chrono::steady_clock::now(), last_shown_ = start_;
  std::mutex mutex_;
};

// "about 12 s", "about 3 min"
std::string time_words(double seconds);

}  // namespace rondure::cli
