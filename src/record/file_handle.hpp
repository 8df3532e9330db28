// An open file that closes itself, and the words for what the system refuses.
#pragma once
#include <fcntl.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <string>
#include <utility>

#include "rondure/core/result.hpp"

namespace rondure::record {

class FileHandle {
public:
  explicit FileHandle(int descriptor = -1) : descriptor_(descriptor) {}
  FileHandle(FileHandle&& other) noexcept : descriptor_(std::exchange(other.descriptor_, -1)) {}
  FileHandle& operator=(FileHandle&& other) noexcept {
    std::swap(descriptor_, other.descriptor_);
    return *this;
  }
  ~FileHandle() { close(); }
  bool is_open() const { return descriptor_ >= 0; }
  int get() const { return descriptor_; }
  bool close() { return descriptor_ < 0 || ::close(std::exchange(descriptor_, -1)) == 0; }

private:
  int descriptor_;
};

inline std::string system_words() { return std::strerror(errno); }
inline Error unwritable(const std::filesystem::path& file, const std::string& why) {
  return {ErrorCode::kFileUnwritable, "'" + file.string() + "', " + why};
}
inline std::filesystem::path folder_of(const std::filesystem::path& file) {
  return file.has_parent_path() ? file.parent_path() : std::filesystem::path(".");
}

}  // namespace rondure::record
