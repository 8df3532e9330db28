#include "rondure/readings/notebook.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <map>
#include <thread>
#include <utility>

#include "rondure/core/quoting.hpp"
#include "rondure/readings/reading_line.hpp"

namespace rondure {
namespace {

namespace fs = std::filesystem;
constexpr off_t kLargestFile_bytes = 64 << 20;  // a million readings: nobody types them
constexpr double kOpenPatience_s = 1;           // for a writer that is at its line

Error system_error(ErrorCode code, const fs::path& file, const char* what) {
  return {code, file.string() + ": " + what + " (" + std::strerror(errno) + ")"};
}

bool same_file(const struct stat& a, const struct stat& b) {
  return a.st_dev == b.st_dev && a.st_ino == b.st_ino;
}

bool write_all(int fd, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t n = ::write(fd, bytes.data(), bytes.size());
    if (n < 0 && errno == EINTR) continue;
    if (n == 0) errno = ENOSPC;
    if (n <= 0) return false;
    bytes.remove_prefix(std::size_t(n));
  }
  return true;
}

bool sync_folder_of(const fs::path& file) {
  const fs::path folder = file.has_parent_path() ? file.parent_path() : fs::path(".");
  const int fd = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (fd < 0) return errno == EACCES;  // a folder that may be written but not listed cannot be synced
  const bool done = ::fsync(fd) == 0 || errno == EINVAL;
  ::close(fd);
  return done;
}

std::vector<std::string> lines_of(std::string_view text) {
  std::vector<std::string> lines;
  while (!text.empty()) {
    const auto end = text.find('\n');
    lines.emplace_back(text.substr(0, end));
    if (end == std::string_view::npos) break;
    text.remove_prefix(end + 1);
  }
  return lines;
}

// What a line says: a reading without its comment, whether it stands or was taken out; of a comment, all of it.
std::string said_in(std::string_view line) {
  for (bool again = true; again;) {
    again = false;
    for (const std::string_view mark : {"# deleted: ", "# corrected: ", "# undone: "})
      if (line.starts_with(mark)) line.remove_prefix(mark.size()), again = true;
  }
  if (!line.starts_with("#")) line = line.substr(0, line.find('#'));
  while (!line.empty() && (line.back() == ' ' || line.back() == '\r')) line.remove_suffix(1);
  return std::string(line);
}

// Everything that was said in ours is said in theirs, as often at least.
bool holds_all(const std::vector<std::string>& theirs, const std::vector<std::string>& ours) {
  std::map<std::string, int> said;
  for (const auto& line : theirs) ++said[said_in(line)];
  return std::ranges::all_of(ours, [&](const auto& line) { return said[said_in(line)]-- > 0; });
}

// One name, so that a killed writer leaves at most one, and the next one takes it over.
fs::path temporary_for(const fs::path& file) {
  return file.parent_path() / ("." + file.filename().string() + ".new");
}

std::string joined(const std::vector<std::string>& lines) {
  std::string text;
  for (const auto& line : lines) text += line + "\n";
  return text;
}

}  // namespace

Notebook::~Notebook() { let_go(); }

Notebook::Notebook(Notebook&& other) noexcept { *this = std::move(other); }

Notebook& Notebook::operator=(Notebook&& other) noexcept {
  if (this == &other) return *this;
  let_go();
  file_ = std::move(other.file_);
  fd_ = std::exchange(other.fd_, -1);
  size_ = other.size_;
  changed_ = other.changed_;
  is_new_ = other.is_new_;
  resting_ = other.resting_;
  lines_ = std::move(other.lines_);
  events_ = std::move(other.events_);
  return *this;
}

void Notebook::let_go() {
  if (fd_ >= 0) ::close(fd_);
  fd_ = -1;
}

// Opens and locks; starts over when the file was replaced between the two.
Result<void> Notebook::take_hold(double patience_s) {
  const auto until = std::chrono::steady_clock::now() + std::chrono::duration<double>(patience_s);
  for (int attempt = 0; attempt < 100;) {
    let_go();
    fd_ = ::open(file_.c_str(), O_RDWR | O_APPEND | O_CLOEXEC | O_NONBLOCK | O_CREAT, 0666);
    if (fd_ < 0) return system_error(ErrorCode::kFileUnwritable, file_, "cannot be opened for writing");
    struct stat held {
    }, named{};
    if (::fstat(fd_, &held) != 0) return system_error(ErrorCode::kFileUnreadable, file_, "cannot be read");
    if (!S_ISREG(held.st_mode))
      return Error{ErrorCode::kFileUnwritable, file_.string() + ": found something that is no plain file"};
    if (::flock(fd_, LOCK_EX | LOCK_NB) != 0) {
      if (errno == EWOULDBLOCK && std::chrono::steady_clock::now() < until) {
        std::this_thread::sleep_for(std::chrono::milliseconds(2));
        continue;
      }
      if (errno == EWOULDBLOCK) return Error{ErrorCode::kFileLocked, file_.string()};
      return system_error(ErrorCode::kFileUnwritable, file_, "cannot be locked");
    }
    if (::stat(file_.c_str(), &named) == 0 && same_file(held, named)) return {};
    ++attempt;
  }
  return Error{ErrorCode::kFileLocked, file_.string()};
}

Result<Notebook> Notebook::open(const fs::path& file, const std::vector<std::string>& first_lines) {
  Notebook book;
  std::error_code ignored;
  // a symbolic link is followed once and for all, so that replace() does not put a file in its place
  book.file_ = fs::is_symlink(file, ignored) ? fs::weakly_canonical(file, ignored) : file;
  if (book.file_.empty()) book.file_ = file;
  if (const auto held = book.take_hold(kOpenPatience_s); !held) return held.error();
  ::unlink(temporary_for(book.file_).c_str());
  if (const auto read = book.read_lines(); !read) return read.error();
  if (!book.lines_.empty()) return book;
  book.is_new_ = true;
  if (const auto done = book.replace(first_lines); !done) return done.error();
  return book;
}

Result<std::string> Notebook::bytes_on_disk() const {
  struct stat s {};
  if (::fstat(fd_, &s) != 0) return system_error(ErrorCode::kFileUnreadable, file_, "cannot be read");
  if (s.st_size > kLargestFile_bytes)
    return Error{ErrorCode::kFileUnreadable, file_.string() + ": found " + std::to_string(s.st_size) +
                                                 " bytes, needed a file of readings"};
  std::string text(std::size_t(s.st_size), '\0');
  for (std::size_t at = 0; at < text.size();) {
    const ssize_t n = ::pread(fd_, text.data() + at, text.size() - at, off_t(at));
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) return system_error(ErrorCode::kFileUnreadable, file_, "cannot be read");
    if (n == 0) text.resize(at);
    at += std::size_t(n);
  }
  return text;
}

// Size and time of the file as we left it.
void Notebook::note_state() {
  struct stat s {};
  if (::fstat(fd_, &s) == 0) size_ = s.st_size, changed_ = s.st_mtim;
}

Result<void> Notebook::read_lines() {
  auto read = bytes_on_disk();
  if (!read) return read.error();
  std::string& text = *read;
  note_state();
  const std::size_t kept = text.find_last_not_of('\0') + 1;
  const bool nul_tail = kept < text.size();
  text.resize(kept);
  lines_ = lines_of(text);
  const bool torn = !text.empty() && text.back() != '\n';
  if (!torn && !nul_tail) return {};
  std::vector<std::string> mended = lines_;
  if (torn) {
    mended.back() = "# unfinished: " + lines_.back();
    events_.push_back("the last line had no end and was set aside: " + quoted_for_message(lines_.back()) +
                      "; type it again if it is wanted");
  }
  return replace(std::move(mended));
}

Result<void> Notebook::write_whole(const fs::path& to, const std::vector<std::string>& lines) {
  const fs::path temporary = temporary_for(to);
  const auto failed = [&](int fd, const char* what) {
    const Error error = system_error(ErrorCode::kFileUnwritable, to, what);
    if (fd >= 0) ::close(fd);
    ::unlink(temporary.c_str());
    return error;
  };
  const std::string text = joined(lines);
  const int fd = ::open(temporary.c_str(), O_RDWR | O_APPEND | O_CREAT | O_TRUNC | O_CLOEXEC, 0666);
  if (fd < 0) return failed(fd, "no new file can be made beside it");
  struct stat held {};
  if (fd_ >= 0 && ::fstat(fd_, &held) == 0) {
    (void)!::fchown(fd, held.st_uid, held.st_gid);
    (void)!::fchmod(fd, held.st_mode & 07777);
  }
  if (::flock(fd, LOCK_EX | LOCK_NB) != 0) return failed(fd, "cannot be locked");
  if (!write_all(fd, text) || ::fsync(fd) != 0) return failed(fd, "cannot be written");
  if (::rename(temporary.c_str(), to.c_str()) != 0) return failed(fd, "cannot be replaced");
  let_go();
  fd_ = fd;
  note_state();
  if (!sync_folder_of(to))
    events_.push_back(
        system_error(ErrorCode::kFileUnwritable, to, "its folder cannot be synced to disk").detail);
  return {};
}

// Whether the file is still as we left it; if not, ours goes on elsewhere.
Result<void> Notebook::look() {
  struct stat held {
  }, named{};
  if (resting_) {
    const auto changed = catch_up();
    if (!changed) return changed.error();
    if (*changed) return Error{ErrorCode::kFileLocked, file_.string() + " was written by another meanwhile"};
  }
  if (fd_ < 0 || ::fstat(fd_, &held) != 0) return move_aside();
  if (::stat(file_.c_str(), &named) != 0) {
    if (errno != ENOENT) return system_error(ErrorCode::kFileUnwritable, file_, "cannot be reached");
    if (const auto done = write_whole(file_, lines_); !done) return done;
    events_.push_back(file_.string() + " was gone and has been written again with all readings");
    return {};
  }
  if (!same_file(held, named) || held.st_size != size_) return move_aside();
  if (held.st_mtim.tv_sec == changed_.tv_sec && held.st_mtim.tv_nsec == changed_.tv_nsec) return {};
  if (const auto bytes = bytes_on_disk(); !bytes || *bytes != joined(lines_)) return move_aside();
  note_state();
  return {};
}

Result<void> Notebook::move_aside() {
  const fs::path theirs = file_;
  for (int number = 1; number < 1000; ++number) {
    const fs::path ours = theirs.parent_path() / (theirs.stem().string() + ".kept-" + std::to_string(number) +
                                                  theirs.extension().string());
    const int free = ::open(ours.c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (free < 0 && errno == EEXIST) continue;
    if (free < 0)
      return system_error(ErrorCode::kFileUnwritable, ours, "no file can be made beside the changed one");
    ::close(free);
    if (auto done = write_whole(ours, lines_); !done) {
      ::unlink(ours.c_str());
      return done;
    }
    file_ = ours;
    events_.push_back(theirs.string() +
                      " was changed by another program and left as it is; all readings are in " +
                      ours.string() + ", and go on there");
    return {};
  }
  return Error{ErrorCode::kFileUnwritable, theirs.string() + ": changed by another program again and again"};
}

void Notebook::rest() {
  if (fd_ >= 0 && ::flock(fd_, LOCK_UN) == 0) resting_ = true;
}

Result<bool> Notebook::catch_up() {
  if (!resting_) return false;
  struct stat named {};
  if (::stat(file_.c_str(), &named) != 0) return resting_ = false, false;  // gone: look() writes it again
  if (const auto held = take_hold(kPatience_s); !held) return held.error();
  resting_ = false;
  const auto bytes = bytes_on_disk();
  if (!bytes) return bytes.error();
  if (*bytes == joined(lines_)) return note_state(), false;
  if (!holds_all(lines_of(*bytes), lines_)) return size_ = -1, false;  // look() lets them have it
  const auto ours = lines_;
  if (const auto read = read_lines(); !read) return read.error();
  return lines_ != ours;
}

Result<void> Notebook::append(const std::string& line) {
  if (const auto ready = look(); !ready) return ready;
  const std::string bytes = line + "\n";
  if (!write_all(fd_, bytes) || ::fsync(fd_) != 0) {
    const Error error = system_error(ErrorCode::kFileUnwritable, file_, "cannot be written");
    if (::ftruncate(fd_, size_) == 0) {
      (void)!::fsync(fd_);
      note_state();
    } else {
      let_go();  // half a line stays: the next change goes to a file beside it
    }
    return error;
  }
  note_state();
  lines_.push_back(line);
  return {};
}

Result<void> Notebook::replace(std::vector<std::string> lines) {
  if (const auto ready = look(); !ready) return ready;
  if (const auto done = write_whole(file_, lines); !done) return done;
  lines_ = std::move(lines);
  return {};
}

std::vector<std::string> Notebook::events() { return std::exchange(events_, {}); }

}  // namespace rondure
