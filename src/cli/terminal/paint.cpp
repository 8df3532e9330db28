#include "cli/terminal/paint.hpp"

#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <cstdlib>
#include <regex>
#include <string_view>
#include <vector>

#include "rondure/core/shown.hpp"

namespace rondure::cli {
namespace {

constexpr const char *kGreen = "\033[32m", *kYellow = "\033[33m", *kRed = "\033[31m", *kBold = "\033[1m",
                     *kPlain = "\033[0m";

const char* colour_of(Says says) {
  return says == Says::kGood ? kGreen : says == Says::kDoubtful ? kYellow : kRed;
}

std::string in_colour(Says says, std::string text) { return colour_of(says) + std::move(text) + kPlain; }

// Replies of the desk that takes readings: what was not taken, or is questioned.
struct Brush {
  std::regex words;  // the last group is what is painted; the first, if there are two, stands before it
  Says says;
};

const std::vector<Brush>& brushes() {
  static const std::vector<Brush> list{{std::regex("^(NOT KEPT)\\b"), Says::kBad},
                                       {std::regex("^(not kept|nothing done)\\b"), Says::kDoubtful},
                                       {std::regex("^([0-9]+ kept.*[,;] )(but)\\b"), Says::kDoubtful}};
  return list;
}

std::string painted_line(const std::string& line) {
  for (const Brush& brush : brushes()) {
    std::smatch found;
    if (!std::regex_search(line, found, brush.words)) continue;
    const auto last = found.size() - 1;
    const auto at = static_cast<std::size_t>(found.position(last)),
               length = static_cast<std::size_t>(found.length(last));
    return line.substr(0, at) + in_colour(brush.says, line.substr(at, length)) + line.substr(at + length);
  }
  return line;
}

}  // namespace

bool terminal_obeys(int file_descriptor) {
  if (isatty(file_descriptor) != 1) return false;
  const char* kind = std::getenv("TERM");
  return kind != nullptr && *kind != '\0' && std::string_view(kind) != "dumb";
}

bool wants_colour(int file_descriptor) {
  const char* no = std::getenv("NO_COLOR");
  return (no == nullptr || *no == '\0') && terminal_obeys(file_descriptor);
}

Ink terminal_ink() { return wants_colour(STDOUT_FILENO) ? in_colour : plain_ink; }

std::string painted_reply(const std::string& text) {
  if (!wants_colour(STDOUT_FILENO)) return text;
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    out += painted_line(text.substr(at, end - at));
    if (end < text.size()) out += '\n';
    at = end + 1;
  }
  return out;
}

std::string error_lines(const std::string& message) {
  const std::string name = "rondure: ";
  std::string text = name + message + '\n';
  if (isatty(STDERR_FILENO) == 1)
    text = wrapped(message, name, std::string(name.size(), ' '), terminal_columns(STDERR_FILENO));
  if (!wants_colour(STDERR_FILENO)) return text;
  return std::string(kBold) + kRed + "rondure:" + kPlain + text.substr(name.size() - 1);
}

std::size_t terminal_columns(int file_descriptor) {
  // Columns: of a terminal that does not say; fewer break the tables, longer lines are not read.
  constexpr std::size_t kUnknown = 80, kLeast = 40, kMost = 200;
  winsize size{};
  if (isatty(file_descriptor) != 1 || ioctl(file_descriptor, TIOCGWINSZ, &size) != 0 || size.ws_col == 0)
    return kUnknown;
  return std::clamp<std::size_t>(size.ws_col, kLeast, kMost);
}

}  // namespace rondure::cli
