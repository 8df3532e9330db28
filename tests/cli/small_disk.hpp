// A file system of a few kilobytes of its own, mounted at a folder for as long as one scenario runs. Header
// only.
#pragma once
#include <fcntl.h>
#include <sched.h>
#include <sys/mount.h>
#include <sys/wait.h>
#include <unistd.h>

#include <optional>
#include <string>
#include <vector>

namespace small_disk {

inline bool write_text(const char* file, const std::string& text) {
  const int to = open(file, O_WRONLY);
  const bool done = to >= 0 && write(to, text.data(), text.size()) == static_cast<ssize_t>(text.size());
  if (to >= 0) close(to);
  return done;
}

inline bool mount_here(const std::string& folder, const char* size) {
  const uid_t user = getuid();
  const gid_t group = getgid();
  if (unshare(CLONE_NEWUSER | CLONE_NEWNS) != 0) return false;
  write_text("/proc/self/setgroups", "deny");
  write_text("/proc/self/uid_map", "0 " + std::to_string(user) + " 1\n");
  write_text("/proc/self/gid_map", "0 " + std::to_string(group) + " 1\n");
  return mount("rondure", folder.c_str(), "tmpfs", 0, size) == 0;
}

// The `count` numbers that `scenario(std::vector<int>&)` leaves, run in a child process with a tmpfs of that size
// ("size=96k") at `folder`. Nothing where the system does not let us mount; `broken` where the child told nothing.
template <class Scenario>
std::optional<std::vector<int>> numbers_of(const std::string& folder, const char* size, std::size_t count,
                                           int broken, Scenario scenario) {
  std::vector<int> told(count + 1, broken);
  int result[2];
  if (pipe(result)) return told;
  const auto bytes = told.size() * sizeof(int);
  const pid_t child = fork();
  if (child == 0) {
    std::vector<int> numbers(count, 0);
    const bool mounted = mount_here(folder, size);
    if (mounted) scenario(numbers);
    numbers.resize(count);
    numbers.push_back(mounted);
    _exit(write(result[1], numbers.data(), bytes) == static_cast<ssize_t>(bytes) ? 0 : 1);
  }
  close(result[1]);
  const bool heard = read(result[0], told.data(), bytes) == static_cast<ssize_t>(bytes);
  close(result[0]);
  waitpid(child, nullptr, 0);
  if (heard && told.back() == 0) return std::nullopt;
  told.pop_back();
  return told;
}

}  // namespace small_disk
