// The folder that the page at the bench serves, as a jail: a name from outside becomes a path only when it is a plain
// name of a known kind, directly in the folder, and not a link to elsewhere.
#pragma once
#include <filesystem>
#include <string>
#include <vector>

#include "rondure/core/result.hpp"

namespace rondure::cli {

enum class FileKind {
  kRecord,
  kReadings,
  kPicture,
  kPage
};  // .json; .csv; .jpg .jpeg .png .tif .tiff .heic .heif .avif; .html

class BenchFolder {
public:
  // Errors: kFileMissing, kFileUnreadable (no folder).
  static Result<BenchFolder> open(const std::filesystem::path& folder);

  const std::filesystem::path& path() const { return folder_; }
  // Plain names only: letters, digits, blank, - _ . and UTF-8 beyond ASCII; at most 120 bytes; not beginning
  // with . or -; with an ending of that kind. The file need not exist. Errors: kBadArgument; kFileUnreadable
  // for a link, a folder or a device of that name.
  Result<std::filesystem::path> file(const std::string& name, FileKind kind) const;
  std::vector<std::string> names(FileKind kind) const;  // sorted; at most 2,000
  // Several names of a kind, as `file` takes one.
  Result<std::vector<std::string>> files(const std::vector<std::string>& names, FileKind kind) const;
  // A name like `wanted` that is not taken: "roller.jpg", "roller-2.jpg", ...
  Result<std::string> free_name(const std::string& wanted, FileKind kind) const;

private:
  explicit BenchFolder(std::filesystem::path folder) : folder_(std::move(folder)) {}
  std::filesystem::path folder_;
};

}  // namespace rondure::cli
