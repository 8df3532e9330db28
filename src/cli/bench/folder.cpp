#include "cli/bench/folder.hpp"

#include <algorithm>
#include <cctype>
#include <iterator>
#include <string_view>

namespace fs = std::filesystem;

namespace rondure::cli {
namespace {

// Bytes of a name: systems take 255, and endings are added. Files of a list: a page that can be shown.
constexpr std::size_t kLongestName = 120, kMostFiles = 2000;

constexpr std::string_view kPictureEndings[] = {"jpg", "jpeg", "png", "tif", "tiff", "heic", "heif", "avif",
                                                "dng", "cr2",  "nef", "arw", "orf",  "rw2",  "raf",  "pef"};

bool has_ending(const std::string& name, FileKind kind) {
  const auto dot = name.rfind('.');
  if (dot == std::string::npos || dot == 0) return false;
  std::string ending = name.substr(dot + 1);
  std::ranges::transform(ending, ending.begin(), [](unsigned char c) { return char(std::tolower(c)); });
  switch (kind) {
    case FileKind::kRecord:
      return ending == "json";
    case FileKind::kReadings:
      return ending == "csv";
    case FileKind::kPicture:
      return std::ranges::find(kPictureEndings, ending) != std::end(kPictureEndings);
    case FileKind::kPage:
      return ending == "html";
  }
  return false;
}

bool is_plain_name(const std::string& name) {
  if (name.empty() || name.size() > kLongestName || name[0] == '.' || name[0] == '-') return false;
  return std::ranges::all_of(name, [](unsigned char c) {
    return std::isalnum(c) || c >= 0x80 || c == ' ' || c == '-' || c == '_' || c == '.';
  });
}

}  // namespace

Result<BenchFolder> BenchFolder::open(const fs::path& folder) {
  std::error_code code;
  const fs::path real = fs::canonical(folder, code);
  if (code) return Error{ErrorCode::kFileMissing, "found no folder " + folder.string()};
  if (!fs::is_directory(real, code))
    return Error{ErrorCode::kFileUnreadable, folder.string() + " is a file, needed a folder"};
  return BenchFolder(real);
}

Result<fs::path> BenchFolder::file(const std::string& name, FileKind kind) const {
  if (!is_plain_name(name) || !has_ending(name, kind))
    return Error{ErrorCode::kBadArgument, "needed the plain name of a file in this folder"};
  const fs::path path = folder_ / name;
  std::error_code code;
  const auto status = fs::symlink_status(path, code);
  if (fs::exists(status) && !fs::is_regular_file(status))
    return Error{ErrorCode::kFileUnreadable, name + " is not a plain file"};
  return path;
}

Result<std::vector<std::string>> BenchFolder::files(const std::vector<std::string>& names,
                                                    FileKind kind) const {
  for (const std::string& name : names)
    if (const auto path = file(name, kind); !path) return path.error();
  return names;
}

std::vector<std::string> BenchFolder::names(FileKind kind) const {
  std::vector<std::string> found;
  std::error_code code;
  for (fs::directory_iterator entry(folder_, code), end; !code && entry != end; entry.increment(code)) {
    const std::string name = entry->path().filename().string();
    if (file(name, kind).has_value() && found.size() < kMostFiles) found.push_back(name);
  }
  std::ranges::sort(found);
  return found;
}

Result<std::string> BenchFolder::free_name(const std::string& wanted, FileKind kind) const {
  std::error_code code;
  const auto dot = wanted.rfind('.');
  for (int number = 1; number < 1000; ++number) {
    const std::string name = number == 1 || dot == std::string::npos
                                 ? wanted
                                 : wanted.substr(0, dot) + "-" + std::to_string(number) + wanted.substr(dot);
    const auto path = file(name, kind);
    if (!path) {
      if (path.error().code == ErrorCode::kBadArgument) return path.error();
      continue;  // a link or folder of that name
    }
    if (!fs::exists(fs::symlink_status(*path, code))) return name;
  }
  return Error{ErrorCode::kFileUnwritable, "too many files called " + wanted};
}

}  // namespace rondure::cli
