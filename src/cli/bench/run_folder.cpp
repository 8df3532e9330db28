#include "cli/bench/run_folder.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <chrono>
#include <string>

namespace fs = std::filesystem;

namespace rondure::cli {
namespace {

const std::string kPrefix = "rondure-bench-";
// A folder younger than this may be of a run that has not yet locked it.
constexpr auto kSettled = std::chrono::hours(1);

// The lock, or -1: another has it, or the folder is not this user's.
int locked(const fs::path& folder) {
  const int fd = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
  if (fd < 0) return -1;
  struct stat about {};
  if (::fstat(fd, &about) == 0 && about.st_uid == ::geteuid() && ::flock(fd, LOCK_EX | LOCK_NB) == 0)
    return fd;
  ::close(fd);
  return -1;
}

void remove_what_killed_runs_left(const fs::path& among) {
  std::error_code code;
  for (fs::directory_iterator at(among, code), end; !code && at != end; at.increment(code)) {
    if (!at->path().filename().string().starts_with(kPrefix)) continue;
    std::error_code none;
    const auto changed = fs::last_write_time(at->path(), none);
    if (none || fs::file_time_type::clock::now() - changed < kSettled) continue;
    const int lock = locked(at->path());
    if (lock < 0) continue;
    fs::remove_all(at->path(), none);
    ::close(lock);
  }
}

}  // namespace

Result<std::unique_ptr<RunFolder>> RunFolder::make() {
  std::error_code code;
  const fs::path among = fs::temp_directory_path(code);
  std::string name = (among / (kPrefix + "XXXXXX")).string();
  const int lock = code || !::mkdtemp(name.data()) ? -1 : locked(name);
  if (lock < 0)
    return Error{ErrorCode::kFileUnwritable, "no folder for drawings could be made in " + among.string()};
  remove_what_killed_runs_left(among);
  return std::unique_ptr<RunFolder>(new RunFolder(name, lock));
}

RunFolder::RunFolder(fs::path path, int lock) : path_(std::move(path)), lock_(lock) {}

RunFolder::~RunFolder() {
  std::error_code code;
  fs::remove_all(path_, code);
  ::close(lock_);
}

}  // namespace rondure::cli
