#include "writer_lock.hpp"

#include <sys/file.h>

#include <thread>

namespace fs = std::filesystem;

namespace rondure::record {
namespace {

enum class Outcome { kHeld, kBusy, kUnsupported };

Outcome try_lock(int descriptor) {
  while (::flock(descriptor, LOCK_EX | LOCK_NB) != 0) {
    if (errno == EINTR) continue;
    return errno == EWOULDBLOCK ? Outcome::kBusy : Outcome::kUnsupported;
  }
  return Outcome::kHeld;
}

// Network file systems lock only what is open for writing.
FileHandle open_lock_file(const fs::path& file) {
  const fs::path name = folder_of(file) / ("." + file.filename().string() + ".lock");
  return FileHandle(::open(name.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0666));
}

}  // namespace

Result<FileHandle> lock_for_writing(const fs::path& file) {
  const fs::path folder = folder_of(file);
  FileHandle handle(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  if (!handle.is_open()) return unwritable(file, "folder '" + folder.string() + "': " + system_words());
  bool on_folder = true;
  const auto give_up = std::chrono::steady_clock::now() + kLockPatience;
  for (;;) {
    switch (try_lock(handle.get())) {
      case Outcome::kHeld:
        return handle;
      case Outcome::kUnsupported:
        if (!on_folder) return handle;  // nothing here can lock; the check before replacing remains
        on_folder = false;
        handle = open_lock_file(file);
        if (!handle.is_open()) return unwritable(file, system_words());
        continue;
      case Outcome::kBusy:
        break;
    }
    if (std::chrono::steady_clock::now() > give_up)
      return Error{ErrorCode::kFileLocked, "'" + file.string() + "', waited " +
                                               std::to_string(kLockPatience.count()) +
                                               " s for the other program"};
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
  }
}

}  // namespace rondure::record
