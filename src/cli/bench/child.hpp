// Runs this very program with other arguments, in a folder, and takes what it prints: the page at the bench does
// nothing that a command does not do. No shell is involved.
#pragma once
#include <filesystem>
#include <string>
#include <vector>

namespace rondure::cli {

struct ChildAnswer {
  int exit_code = -1;  // -1: could not be started, was stopped, or printed more than allowed
  std::string out, err;
};

// Stopped after `allowed_s`; output beyond 64 MiB ends it too.
ChildAnswer run_self(const std::filesystem::path& folder, const std::vector<std::string>& arguments,
                     const std::string& input = {}, double allowed_s = 120);

}  // namespace rondure::cli
