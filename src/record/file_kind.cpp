#include "file_kind.hpp"

#include <fcntl.h>
#include <sys/stat.h>

#include <algorithm>
#include <cctype>

#include "file_handle.hpp"

namespace rondure::record {
namespace {

constexpr std::size_t kHead_bytes = 4096;  // enough of any file to tell its kind; one page of a disk

std::string json_kind(const std::string& head) {
  const auto key = head.find("\"format\"");
  if (key == std::string::npos) return "JSON file";
  const auto from = head.find('"', head.find(':', key));
  const auto to = from == std::string::npos ? from : head.find('"', from + 1);
  if (to == std::string::npos) return "JSON file";
  const std::string format = head.substr(from + 1, to - from - 1);
  return format == "rondure-part" ? "part record" : format + " file";
}

// Tables are told apart by their header; readings have none, or a comment.
std::string text_kind(const std::string& head) {
  for (std::size_t at = 0; at < head.size();) {
    const auto end = std::min(head.find('\n', at), head.size());
    const std::string line = head.substr(at, end - at);
    at = end + 1;
    const auto first = line.find_first_not_of(" \t\r");
    if (first == std::string::npos || line[first] == '#') continue;
    const bool header = std::isalpha(static_cast<unsigned char>(line[first])) != 0;
    // plain words are of no kind: nothing says what they are
    if (header && line.find_first_of(",;\t") == std::string::npos) return {};
    return header ? "table '" +
                        line.substr(first, std::min<std::size_t>(line.find_last_not_of("\r") + 1, 24)) + "'"
                  : "file of readings";
  }
  return "file of readings";
}

}  // namespace

std::string file_kind(const std::string& bytes) {
  const std::string head = bytes.substr(0, kHead_bytes);
  const auto first = head.find_first_not_of(" \t\r\n\xef\xbb\xbf");
  if (first == std::string::npos) return {};
  if (head.starts_with("\x89PNG"))
    return head.find("rondure overlay") == std::string::npos ? "PNG picture" : "PNG picture drawn over";
  if (head.starts_with("\xff\xd8")) return "JPEG picture";
  if (head.starts_with("II*") || head.starts_with("MM")) return "TIFF picture";
  std::string lower = head.substr(first, 400);
  std::ranges::transform(lower, lower.begin(), [](unsigned char c) { return std::tolower(c); });
  if (head[first] == '{' || head[first] == '[') return json_kind(head);
  if (lower.starts_with("<!doctype html") || lower.starts_with("<html")) return "HTML page";
  if (lower.find("<svg") != std::string::npos) return "SVG drawing";
  if (lower.starts_with("0\nsection") || lower.starts_with("0\r\nsection")) return "DXF drawing";
  return text_kind(head);
}

namespace {
// "an HTML page", "a part record": as the first letter is spoken.
std::string with_article(const std::string& kind) {
  return (kind.starts_with("HTML") || kind.starts_with("SVG") ? "an " : "a ") + kind;
}
}  // namespace

Result<void> keep_other_kinds(const std::filesystem::path& file, const std::string& bytes) {
  struct stat about {};
  if (::stat(file.c_str(), &about) != 0 || !S_ISREG(about.st_mode)) return {};
  const FileHandle in(::open(file.c_str(), O_RDONLY | O_CLOEXEC));
  if (!in.is_open()) return {};  // the writing itself says why
  std::string head(kHead_bytes, '\0');
  const ssize_t count = ::read(in.get(), head.data(), head.size());
  head.resize(count > 0 ? static_cast<std::size_t>(count) : 0);
  const std::string there = file_kind(head), now = file_kind(bytes);
  if (there.empty() || there == now) return {};
  return Error{ErrorCode::kFileUnwritable,
               "'" + file.string() + "' is " + with_article(there) + " and would become " +
                   with_article(now.empty() ? "file without contents" : now) + "; needed another file name"};
}

}  // namespace rondure::record
