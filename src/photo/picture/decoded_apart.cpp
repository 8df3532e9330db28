#include "photo/picture/decoded_apart.hpp"

#include <fcntl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <csignal>
#include <optional>

namespace rondure {
namespace {

// Of processor time, so that no crafted file runs for ever; bytes of a text from the library.
constexpr rlim_t kMost_s = 300;
constexpr std::uint32_t kLongestText = 4096;

struct Head {
  std::int32_t read = 0, code = 0, width_px = 0, height_px = 0, orientation = 1, colour = 0, linear_light = 0;
  std::uint32_t make = 0, model = 0, detail = 0;  // lengths
  double focal_35mm_mm = 0, x_px_per_mm = 0, y_px_per_mm = 0;
};

bool write_all(int to, const void* from, std::size_t bytes) {
  const char* next = static_cast<const char*>(from);
  while (bytes > 0) {
    const ssize_t done = ::write(to, next, bytes);
    if (done < 0 && errno == EINTR) continue;
    if (done <= 0) return false;
    next += done, bytes -= static_cast<std::size_t>(done);
  }
  return true;
}

bool read_all(int from, void* to, std::size_t bytes) {
  char* next = static_cast<char*>(to);
  while (bytes > 0) {
    const ssize_t done = ::read(from, next, bytes);
    if (done < 0 && errno == EINTR) continue;
    if (done <= 0) return false;
    next += done, bytes -= static_cast<std::size_t>(done);
  }
  return true;
}

bool read_text(int from, std::uint32_t length, std::string& text) {
  if (length > kLongestText) return false;
  text.resize(length);
  return read_all(from, text.data(), length);
}

void send(int to, const Result<Picture>& picture) {
  Head head;
  std::string make, model, detail;
  const auto shortened = [](std::string text) { return text.substr(0, kLongestText); };
  if (picture) {
    head.read = 1, head.width_px = picture->width_px, head.height_px = picture->height_px;
    head.orientation = picture->orientation, head.colour = picture->colour;
    head.linear_light = picture->linear_light, head.focal_35mm_mm = picture->focal_35mm_mm;
    head.x_px_per_mm = picture->x_px_per_mm, head.y_px_per_mm = picture->y_px_per_mm;
    make = shortened(picture->make), model = shortened(picture->model);
  } else {
    head.code = static_cast<std::int32_t>(picture.error().code), detail = shortened(picture.error().detail);
  }
  head.make = static_cast<std::uint32_t>(make.size()), head.model = static_cast<std::uint32_t>(model.size());
  head.detail = static_cast<std::uint32_t>(detail.size());
  bool sent = write_all(to, &head, sizeof head);
  for (const std::string* text : {&make, &model, &detail})
    sent = sent && write_all(to, text->data(), text->size());
  if (sent && picture)
    write_all(to, picture->grey16.data(), picture->grey16.size() * sizeof picture->grey16[0]);
}

// Nothing where the other end was closed early.
std::optional<Result<Picture>> received(int from) {
  Head head;
  Picture picture;
  std::string detail;
  if (!read_all(from, &head, sizeof head)) return {};
  if (!read_text(from, head.make, picture.make) || !read_text(from, head.model, picture.model) ||
      !read_text(from, head.detail, detail))
    return {};
  if (head.read == 0) return Error{static_cast<ErrorCode>(head.code), detail};
  picture.width_px = head.width_px, picture.height_px = head.height_px, picture.bits = 16;
  picture.orientation = head.orientation, picture.colour = head.colour != 0;
  picture.linear_light = head.linear_light != 0, picture.focal_35mm_mm = head.focal_35mm_mm;
  picture.x_px_per_mm = head.x_px_per_mm, picture.y_px_per_mm = head.y_px_per_mm;
  if (const auto size = check_size(picture.width_px, picture.height_px); !size) return size.error();
  if (const auto room = allocate_samples(picture, 0); !room) return room.error();
  if (!read_all(from, picture.grey16.data(), picture.grey16.size() * sizeof picture.grey16[0])) return {};
  return picture;
}

// A crash is the parent's to tell.
void be_quiet() {
  for (const int number : {SIGSEGV, SIGBUS, SIGFPE, SIGILL, SIGABRT, SIGPIPE, SIGXCPU})
    std::signal(number, SIG_DFL);
  const rlimit no_core{0, 0}, time{kMost_s, kMost_s};
  ::setrlimit(RLIMIT_CORE, &no_core), ::setrlimit(RLIMIT_CPU, &time);
  if (const int nowhere = ::open("/dev/null", O_WRONLY | O_CLOEXEC); nowhere >= 0)
    ::dup2(nowhere, STDOUT_FILENO), ::dup2(nowhere, STDERR_FILENO);
}

[[noreturn]] void decode_and_end(int to, const std::function<Result<Picture>()>& decode) {
  try {
    be_quiet();
    send(to, decode());
  } catch (...) {
    ::_exit(1);
  }
  ::_exit(0);
}

}  // namespace

Result<Picture> decoded_apart(const std::function<Result<Picture>()>& decode) {
  int ends[2];
  if (::pipe2(ends, O_CLOEXEC) != 0) return decode();
  const pid_t child = ::fork();
  if (child < 0) {
    ::close(ends[0]), ::close(ends[1]);
    return decode();
  }
  if (child == 0) decode_and_end(ends[1], decode);
  ::close(ends[1]);
  auto picture = received(ends[0]);
  ::close(ends[0]);
  while (::waitpid(child, nullptr, 0) < 0 && errno == EINTR) {
  }
  if (!picture) return Error{ErrorCode::kFileDamaged, "camera raw: its head says what no camera writes"};
  return std::move(*picture);
}

}  // namespace rondure
