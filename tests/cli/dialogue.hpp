// A program that is talked to line by line: a line in, a line out. Header only.
#pragma once
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <functional>
#include <optional>
#include <stdexcept>
#include <string>
#include <vector>

class Dialogue {
public:
  Dialogue(const std::vector<std::string>& arguments, const std::function<void()>& prepare = {},
           const std::string& program = RONDURE_PROGRAM) {
    int in[2], out[2];
    if (pipe2(in, O_CLOEXEC) || pipe2(out, O_CLOEXEC)) throw std::runtime_error("pipe");
    std::vector<char*> argv{const_cast<char*>(program.c_str())};
    for (const auto& argument : arguments) argv.push_back(const_cast<char*>(argument.c_str()));
    argv.push_back(nullptr);
    child_ = fork();
    if (child_ < 0) throw std::runtime_error("fork");
    if (child_ == 0) {
      dup2(in[0], 0), dup2(out[1], 1);
      if (const int nowhere = open("/dev/null", O_WRONLY); nowhere >= 0) dup2(nowhere, 2);
      const int image = open(argv[0], O_RDONLY | O_CLOEXEC);  // before another user may not reach it
      if (prepare) prepare();
      fexecve(image, argv.data(), environ);
      _exit(127);
    }
    close(in[0]), close(out[1]);
    ::signal(SIGPIPE, SIG_IGN);
    in_ = in[1], out_ = out[0];
  }
  Dialogue(const Dialogue&) = delete;
  Dialogue& operator=(const Dialogue&) = delete;
  ~Dialogue() { end(); }

  bool send(const std::string& line) {
    const std::string bytes = line + "\n";
    return write(in_, bytes.data(), bytes.size()) == ssize_t(bytes.size());
  }
  // The next line of the answer; nothing when the program has ended or is silent for so long.
  std::optional<std::string> hear(int patience_ms = 20000) {
    for (;;) {
      if (const auto end = heard_.find('\n'); end != std::string::npos) {
        std::string line = heard_.substr(0, end);
        heard_.erase(0, end + 1);
        return line;
      }
      pollfd p{out_, POLLIN, 0};
      if (poll(&p, 1, patience_ms) <= 0) return std::nullopt;
      char block[4096];
      const ssize_t n = read(out_, block, sizeof block);
      if (n <= 0) return std::nullopt;
      heard_.append(block, std::size_t(n));
    }
  }
  std::string ask(const std::string& line) { return send(line) ? hear().value_or("<nothing>") : "<ended>"; }
  void kill_now() { ::kill(child_, SIGKILL); }
  // Closes the input and waits; the exit status, -1 when a signal ended it.
  int end() {
    if (child_ < 0) return status_;
    close(in_);
    while (hear()) {
    }
    close(out_);
    int status = 0;
    waitpid(child_, &status, 0);
    child_ = -1;
    return status_ = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  }

private:
  pid_t child_ = -1;
  int in_ = -1, out_ = -1, status_ = -1;
  std::string heard_;
};
