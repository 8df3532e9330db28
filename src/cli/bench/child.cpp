#include "cli/bench/child.hpp"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <sstream>

#include "cli/terminal/progress.hpp"

extern char** environ;

namespace rondure::cli {
namespace {

constexpr std::size_t kMostOutput = std::size_t(64) << 20;  // bytes; no command says so much: a fault
constexpr int kNice = 5;                                    // steps of priority below the page's own

struct Pipe {
  int read = -1, write = -1;
  Pipe() {
    int ends[2];
    if (::pipe2(ends, O_CLOEXEC) == 0) read = ends[0], write = ends[1];
  }
  ~Pipe() { close_read(), close_write(); }
  Pipe(const Pipe&) = delete;
  Pipe& operator=(const Pipe&) = delete;
  void close_read() {
    if (read >= 0) ::close(read), read = -1;
  }
  void close_write() {
    if (write >= 0) ::close(write), write = -1;
  }
  bool good() const { return read >= 0; }
};

pid_t start(const std::filesystem::path& folder, const std::vector<std::string>& arguments, const Pipe& in,
            const Pipe& out, const Pipe& err) {
  std::string program = "/proc/self/exe";
  std::vector<char*> argv{program.data()};
  std::vector<std::string> kept = arguments;
  for (std::string& argument : kept) argv.push_back(argument.data());
  argv.push_back(nullptr);
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_adddup2(&actions, in.read, 0);
  posix_spawn_file_actions_adddup2(&actions, out.write, 1);
  posix_spawn_file_actions_adddup2(&actions, err.write, 2);
  posix_spawn_file_actions_addchdir_np(&actions, folder.c_str());
  posix_spawnattr_t attributes;
  posix_spawnattr_init(&attributes);
  sigset_t none;
  sigemptyset(&none);
  posix_spawnattr_setsigmask(&attributes, &none);
  sigset_t usual;
  sigemptyset(&usual);
  sigaddset(&usual, SIGPIPE);
  posix_spawnattr_setsigdefault(&attributes, &usual);
  posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF);
  std::string tells = std::string(kProgressLines) + "=1";
  std::vector<char*> environment;
  for (char** entry = environ; *entry; ++entry) environment.push_back(*entry);
  environment.push_back(tells.data());
  environment.push_back(nullptr);
  pid_t child = -1;
  if (posix_spawn(&child, program.c_str(), &actions, &attributes, argv.data(), environment.data()) != 0)
    child = -1;
  posix_spawnattr_destroy(&attributes);
  posix_spawn_file_actions_destroy(&actions);
  return child;
}

// False at the end of the stream.
bool take(int from, std::string& into) {
  std::array<char, 65536> block;
  const ssize_t n = ::read(from, block.data(), block.size());
  if (n > 0) into.append(block.data(), std::size_t(n));
  return n > 0 || (n < 0 && (errno == EINTR || errno == EAGAIN));
}

// Takes the lines of progress out of what a command says, and tells the last of them.
void take_progress(std::string& err, Work* work) {
  std::string kept, line;
  std::size_t from = 0;
  for (std::size_t end; (end = err.find('\n', from)) != std::string::npos; from = end + 1) {
    line = err.substr(from, end - from);
    double ratio = 0, left_s = 0;
    if (std::istringstream in(line.substr(std::min(line.size(), kProgressMark.size())));
        line.starts_with(kProgressMark) && in >> ratio >> left_s) {
      if (work) work->tell(ratio, left_s);
    } else {
      kept += line + '\n';
    }
  }
  err = kept + err.substr(from);
}

}  // namespace

void Work::tell(double done_ratio, double left_s) {
  const std::scoped_lock lock(mutex_);
  done_ratio_ = done_ratio, left_s_ = left_s, told_ = std::chrono::steady_clock::now();
}

Work::State Work::state() const {
  const std::scoped_lock lock(mutex_);
  const auto now = std::chrono::steady_clock::now();
  const auto seconds = [&](auto since) { return std::chrono::duration<double>(now - since).count(); };
  return {seconds(start_), done_ratio_, std::max(0.0, left_s_ - seconds(told_))};
}

ChildAnswer run_self(const std::filesystem::path& folder, const std::vector<std::string>& arguments,
                     const std::string& input, double allowed_s, Work* work) {
  ChildAnswer answer;
  Pipe in, out, err;
  if (!in.good() || !out.good() || !err.good()) return answer;
  const pid_t child = start(folder, arguments, in, out, err);
  if (child < 0) return answer;
  // below this program's own priority: who types a reading does not wait for a photograph
  ::setpriority(PRIO_PROCESS, static_cast<id_t>(child), std::min(19, ::getpriority(PRIO_PROCESS, 0) + kNice));
  in.close_read(), out.close_write(), err.close_write();
  ::fcntl(in.write, F_SETFL, O_NONBLOCK);
  std::size_t sent = 0;
  if (input.empty()) in.close_write();
  const auto start_time = std::chrono::steady_clock::now();
  bool stopped = false;
  while (out.read >= 0 || err.read >= 0) {
    const double passed_s =
        std::chrono::duration<double>(std::chrono::steady_clock::now() - start_time).count();
    if ((work && work->stopped()) || passed_s > allowed_s ||
        answer.out.size() + answer.err.size() > kMostOutput) {
      stopped = true;
      break;
    }
    std::array<pollfd, 3> waits{pollfd{out.read, POLLIN, 0}, pollfd{err.read, POLLIN, 0},
                                pollfd{in.write, POLLOUT, 0}};
    if (::poll(waits.data(), waits.size(), 100) < 0 && errno != EINTR) break;
    if (waits[0].revents && !take(out.read, answer.out)) out.close_read();
    if (waits[1].revents) {
      if (!take(err.read, answer.err)) err.close_read();
      take_progress(answer.err, work);
    }
    if (waits[2].revents) {
      const ssize_t n = ::write(in.write, input.data() + sent, input.size() - sent);
      if (n > 0) sent += std::size_t(n);
      if (sent == input.size() || (n < 0 && errno != EAGAIN && errno != EINTR)) in.close_write();
    }
  }
  if (stopped) ::kill(child, SIGKILL);
  int status = 0;
  while (::waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  if (!stopped && WIFEXITED(status)) answer.exit_code = WEXITSTATUS(status);
  return answer;
}

}  // namespace rondure::cli
