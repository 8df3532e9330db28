// Runs the built program for a study.
#pragma once
#include <array>
#include <cstdio>
#include <string>

// What the program writes to standard output; empty when it fails.
inline std::string run(const std::string& arguments) {
  const std::string command = std::string(RONDURE_PROGRAM) + " " + arguments + " 2>/dev/null";
  FILE* pipe = ::popen(command.c_str(), "r");
  if (!pipe) return {};
  std::string out;
  std::array<char, 4096> buffer{};
  while (const std::size_t n = std::fread(buffer.data(), 1, buffer.size(), pipe))
    out.append(buffer.data(), n);
  return ::pclose(pipe) == 0 ? out : std::string();
}
