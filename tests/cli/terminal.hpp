// Runs the built program at a terminal of its own (a pseudo-terminal), as a person sees it. Header only.
#pragma once
#include <pty.h>

#include <chrono>
#include <map>

#include "process.hpp"

struct AtTerminal {
  bool out = true, err = true;  // which of the two streams is the terminal; the other goes nowhere
  std::map<std::string, std::string> environment;  // set for the program; NO_COLOR is unset before
  std::string typed;                               // by the person, all at once
  double took_s = 0;                               // filled in
};

// What the terminal showed (both streams mixed, line ends as the terminal has them), and the exit status.
inline Run terminal_run(const std::vector<std::string>& arguments, AtTerminal& how) {
  const std::string program = std::filesystem::absolute(RONDURE_PROGRAM).string();
  std::vector<char*> argv{const_cast<char*>(program.c_str())};
  for (const std::string& argument : arguments) argv.push_back(const_cast<char*>(argument.c_str()));
  argv.push_back(nullptr);
  const auto start = std::chrono::steady_clock::now();
  int screen = -1;
  const pid_t child = forkpty(&screen, nullptr, nullptr, nullptr);
  if (child < 0) throw std::runtime_error("forkpty");
  if (child == 0) {
    const int nowhere = open("/dev/null", O_WRONLY);
    if (!how.out) dup2(nowhere, STDOUT_FILENO);
    if (!how.err) dup2(nowhere, STDERR_FILENO);
    unsetenv("NO_COLOR");
    setenv("TERM", "xterm", 1);
    for (const auto& [name, value] : how.environment) setenv(name.c_str(), value.c_str(), 1);
    execv(argv[0], argv.data());
    _exit(127);
  }
  if (!how.typed.empty() && write(screen, how.typed.data(), how.typed.size()) < 0)
    throw std::runtime_error("nothing could be typed");
  Run run;
  char block[4096];
  for (ssize_t n; (n = read(screen, block, sizeof block)) > 0;)
    run.out.append(block, static_cast<std::size_t>(n));
  close(screen);
  int status = 0;
  waitpid(child, &status, 0);
  if (WIFEXITED(status)) run.exit_code = WEXITSTATUS(status);
  how.took_s = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
  return run;
}
