// What one run of the page draws: a folder of its own among the system's temporary files, gone with the run.
#pragma once
#include <filesystem>
#include <memory>

#include "rondure/core/result.hpp"

namespace rondure::cli {

// The folder is locked for as long as the run lives, by a lock of the system that a killed run does not keep. What
// killed runs of the same user left is removed when the next one begins. Errors: kFileUnwritable.
class RunFolder {
public:
  static Result<std::unique_ptr<RunFolder>> make();
  ~RunFolder();
  RunFolder(const RunFolder&) = delete;
  RunFolder& operator=(const RunFolder&) = delete;

  const std::filesystem::path& path() const { return path_; }

private:
  RunFolder(std::filesystem::path path, int lock);

  std::filesystem::path path_;
  int lock_;
};

}  // namespace rondure::cli
