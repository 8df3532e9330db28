// Runs the built program as a user would: arguments, standard input, and what comes back. Header only.
//
//   const Folder folder;                                  // a folder of its own, removed at the end
//   folder.write("points.csv", "# unit: in\n0.1,0.2\n");
//   const Run run = rondure_run({"fit", folder.path("points.csv"), "--json", "-"});
//   CHECK(run.exit_code == 0);
#pragma once
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <functional>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

struct Run {
  int exit_code = -1;  // -1: ended by a signal
  int signal = 0;      // the signal that ended it; SIGKILL also when it ran longer than allowed
  std::string out, err;
  // "one clear line": exactly one line on standard error
  bool one_line_on_error() const { return !err.empty() && err.find('\n') == err.size() - 1; }
};

struct RunOptions {
  std::string in;        // standard input
  std::string folder;    // working folder; empty = the test's own
  std::string out_file;  // standard output goes into this file or device instead of Run::out
  std::string program = std::filesystem::absolute(RONDURE_PROGRAM).string();
  double allowed_s = 300;         // then it is killed: only a hang takes so long, sanitizers included
  double kill_after_s = -1;       // kill -9 after so long; < 0 = never
  std::function<void()> prepare;  // in the child before the program starts: limits, user
};

inline Run rondure_run(const std::vector<std::string>& arguments, const RunOptions& options = {}) {
  int in[2], out[2], err[2];
  if (pipe2(in, O_CLOEXEC) || pipe2(out, O_CLOEXEC) || pipe2(err, O_CLOEXEC))
    throw std::runtime_error("pipe");
  const std::string program =
      std::filesystem::absolute(options.program).string();  // also from another folder
  std::vector<char*> argv{const_cast<char*>(program.c_str())};
  for (const std::string& argument : arguments) argv.push_back(const_cast<char*>(argument.c_str()));
  argv.push_back(nullptr);
  const pid_t child = fork();
  if (child < 0) throw std::runtime_error("fork");
  if (child == 0) {
    const int out_to = options.out_file.empty()
                           ? out[1]
                           : open(options.out_file.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0666);
    dup2(in[0], 0), dup2(out_to, 1), dup2(err[1], 2);
    if (!options.folder.empty() && chdir(options.folder.c_str())) _exit(126);
    // Opened first: another user may not reach it by its path (a checkout in somebody's home).
    const int image = open(argv[0], O_RDONLY | O_CLOEXEC);
    if (options.prepare) options.prepare();
    ::signal(SIGPIPE, SIG_DFL);
    fexecve(image, argv.data(), environ);
    _exit(127);
  }
  close(in[0]), close(out[1]), close(err[1]);
  ::signal(SIGPIPE, SIG_IGN);  // a program that does not read its input is no failure of the test
  fcntl(in[1], F_SETFL, O_NONBLOCK);

  using Clock = std::chrono::steady_clock;
  const auto start = Clock::now();
  const auto seconds = [&] { return std::chrono::duration<double>(Clock::now() - start).count(); };
  const double end_s = options.kill_after_s >= 0 ? options.kill_after_s : options.allowed_s;
  Run run;
  std::size_t sent = 0;
  bool in_open = true, out_open = true, err_open = true, killed = false;
  const auto close_input = [&] { close(in[1]), in_open = false; };
  if (options.in.empty()) close_input();
  const auto take = [](int from, std::string& into) {
    char block[65536];
    const ssize_t count = read(from, block, sizeof block);
    if (count > 0) into.append(block, static_cast<std::size_t>(count));
    return count > 0;
  };
  while (out_open || err_open) {
    pollfd watched[3] = {{out_open ? out[0] : -1, POLLIN, 0},
                         {err_open ? err[0] : -1, POLLIN, 0},
                         {in_open ? in[1] : -1, POLLOUT, 0}};
    const double left_s = end_s - seconds();
    const double wait_s = std::max(0.0, left_s);
    const timespec wait{static_cast<time_t>(wait_s), static_cast<long>((wait_s - std::floor(wait_s)) * 1e9)};
    ppoll(watched, 3, killed ? nullptr : &wait, nullptr);
    if (!killed && seconds() >= end_s) kill(child, SIGKILL), killed = true;
    if (watched[0].revents) out_open = take(out[0], run.out);
    if (watched[1].revents) err_open = take(err[0], run.err);
    if (watched[2].revents) {
      const ssize_t count = write(in[1], options.in.data() + sent, options.in.size() - sent);
      if (count > 0) sent += static_cast<std::size_t>(count);
      if ((count < 0 && errno != EAGAIN) || sent == options.in.size()) close_input();
    }
  }
  if (in_open) close_input();
  close(out[0]), close(err[0]);
  int status = 0;
  waitpid(child, &status, 0);
  if (WIFEXITED(status)) run.exit_code = WEXITSTATUS(status);
  if (WIFSIGNALED(status)) run.signal = WTERMSIG(status);
  return run;
}

inline std::string text_of(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

inline std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  return lines;
}

// The words of a text that was wrapped to a width, in one line.
inline std::string one_line(const std::string& text) {
  std::istringstream words(text);
  std::string out;
  for (std::string word; words >> word;) out += (out.empty() ? "" : " ") + word;
  return out;
}

// A folder for one test.
class Folder {
public:
  Folder() {
    std::string name = (std::filesystem::temp_directory_path() / "rondure-test-XXXXXX").string();
    if (!mkdtemp(name.data())) throw std::runtime_error("no temporary folder");
    folder_ = name;
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  ~Folder() {
    std::error_code failed;
    std::filesystem::permissions(folder_, std::filesystem::perms::owner_all, failed);
    std::filesystem::remove_all(folder_, failed);
  }
  std::string path(const std::string& name = {}) const {
    return name.empty() ? folder_.string() : (folder_ / name).string();
  }
  std::string write(const std::string& name, const std::string& text) const {
    std::ofstream(path(name), std::ios::binary) << text;
    return path(name);
  }
  std::string read(const std::string& name) const { return text_of(path(name)); }
  bool has(const std::string& name) const { return std::filesystem::exists(path(name)); }
  // Names in the folder, for "nothing half-written is left".
  std::vector<std::string> names() const {
    std::vector<std::string> found;
    for (const auto& entry : std::filesystem::directory_iterator(folder_))
      found.push_back(entry.path().filename().string());
    std::sort(found.begin(), found.end());
    return found;
  }

private:
  std::filesystem::path folder_;
};
