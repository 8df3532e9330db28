// A text file of lines that loses nothing: what append() or replace() reported as done is on the disk.
//
//   append   one write of the whole line, then fsync; a line that could not be written whole is taken back
//   replace  a temporary file beside it, fsync, rename, fsync of the folder: the old lines or the new ones,
//   never half
//
// Killed at any instant or cut off from power, the file holds every line that was reported as done, and at
// most the beginning of one more: on opening, a last line without its end is set aside as "# unfinished: ..."
// (nothing is thrown away), and NUL bytes that a power cut left behind it are removed. One writer at a time
// (a lock of the system on the file; a killed writer leaves none behind). A writer that waits for its next line may
// rest(): others write meanwhile, and catch_up() takes over what they wrote, when it holds everything of ours.
//
// Before each change the file is looked at: when somebody replaced or changed it, theirs is left alone and
// all lines of ours go to a new file beside it (roller.csv -> roller.kept-1.csv), where the notebook goes on;
// when it is gone, it is written again. events() tells.
#pragma once
#include <sys/types.h>

#include <ctime>
#include <filesystem>
#include <string>
#include <vector>

#include "rondure/core/result.hpp"

namespace rondure {

class Notebook {
public:
  // Opens the file, or makes it with `first_lines`. Errors: kFileUnwritable, kFileUnreadable (also: larger
  // than 64 MiB, not a plain file), kFileLocked.
  static Result<Notebook> open(const std::filesystem::path& file,
                               const std::vector<std::string>& first_lines);
  ~Notebook();
  Notebook(Notebook&& other) noexcept;
  Notebook& operator=(Notebook&& other) noexcept;

  const std::vector<std::string>& lines() const { return lines_; }
  const std::filesystem::path& file() const { return file_; }
  bool is_new() const { return is_new_; }

  // `line` without its end. Errors: kFileUnwritable; then the file and lines() are as before.
  Result<void> append(const std::string& line);
  Result<void> replace(std::vector<std::string> lines);

  // Lets others write until the next change or catch_up().
  void rest();
  // Takes hold again (waits up to kPatience_s for who is writing); true when lines() are others now. Errors: kFileLocked.
  Result<bool> catch_up();
  static constexpr double kPatience_s = 5;

  // What the user has to know since the last call, one sentence each.
  std::vector<std::string> events();

private:
  Notebook() = default;
  Result<void> take_hold(double patience_s = 0);
  Result<std::string> bytes_on_disk() const;
  void note_state();
  Result<void> read_lines();
  Result<void> look();
  Result<void> move_aside();
  Result<void> write_whole(const std::filesystem::path& to, const std::vector<std::string>& lines);
  void let_go();

  std::filesystem::path file_;
  int fd_ = -1;
  off_t size_ = 0;      // of the file as we left it
  timespec changed_{};  // and when
  bool is_new_ = false, resting_ = false;
  std::vector<std::string> lines_;
  std::vector<std::string> events_;
};

}  // namespace rondure
