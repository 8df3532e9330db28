#include "atomic_file.hpp"

#include <sys/file.h>
#include <sys/stat.h>

#include <chrono>
#include <cstdio>

#include "file_handle.hpp"
#include "file_kind.hpp"
#include "rondure/record/part_record.hpp"

namespace fs = std::filesystem;

namespace rondure {
namespace {

using namespace record;

constexpr std::string_view kTemporaryTail = ".writing";

// ".roller.json.1f3a-0.writing": hidden, beside the file so that it can be renamed onto it.
fs::path temporary_name(const fs::path& file, int attempt) {
  const auto ticks = std::chrono::steady_clock::now().time_since_epoch().count();
  char unique[64];
  std::snprintf(unique, sizeof unique, ".%x-%llx-%d", static_cast<unsigned>(getpid()),
                static_cast<unsigned long long>(ticks), attempt);
  return folder_of(file) / ("." + file.filename().string() + unique + std::string(kTemporaryTail));
}

Result<void> write_all(int descriptor, const std::string& bytes, const fs::path& file) {
  for (std::size_t done = 0; done < bytes.size();) {
    const ssize_t count = ::write(descriptor, bytes.data() + done, bytes.size() - done);
    if (count < 0 && errno == EINTR) continue;
    if (count < 0) return unwritable(file, system_words());
    done += static_cast<std::size_t>(count);
  }
  return {};
}

// Pipes and devices cannot be replaced: they are written to.
Result<void> write_through(const fs::path& file, const std::string& bytes) {
  FileHandle out(::open(file.c_str(), O_WRONLY | O_CLOEXEC));
  if (!out.is_open()) return unwritable(file, system_words());
  if (const auto written = write_all(out.get(), bytes, file); !written) return written;
  if (!out.close()) return unwritable(file, system_words());
  return {};
}

// The new file keeps the permissions, and where allowed the owner, of the one it replaces.
void take_over_permissions(int descriptor, const struct stat& old) {
  if (::fchown(descriptor, old.st_uid, old.st_gid) != 0) {
    // not ours to give away: the file then belongs to who wrote it
    static_cast<void>(::fchown(descriptor, static_cast<uid_t>(-1), old.st_gid) == 0);
  }
  static_cast<void>(::fchmod(descriptor, old.st_mode & 07777));
}

void sync_folder(const fs::path& folder) {
  const FileHandle handle(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  if (handle.is_open()) static_cast<void>(::fsync(handle.get()));  // some file systems know no such thing
}

// A complete copy of the new file beside the old one, on disk; removed unless it is put in place.
struct Temporary {
  fs::path path;
  FileHandle lock;  // says that its writer is alive
  Temporary() = default;
  Temporary(Temporary&&) = default;
  ~Temporary() {
    if (!path.empty()) ::unlink(path.c_str());
  }
};

Result<Temporary> write_temporary(const fs::path& file, const std::string& bytes, const struct stat* model) {
  Temporary temporary;
  for (int attempt = 0; attempt < 100 && !temporary.lock.is_open(); ++attempt) {
    const fs::path name = temporary_name(file, attempt);
    temporary.lock = FileHandle(::open(name.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666));
    if (temporary.lock.is_open())
      temporary.path = name;
    else if (errno != EEXIST)
      return unwritable(file, "folder '" + folder_of(file).string() + "': " + system_words());
  }
  if (!temporary.lock.is_open()) return unwritable(file, "no temporary file beside it");
  static_cast<void>(::flock(temporary.lock.get(), LOCK_EX | LOCK_NB));
  if (model) take_over_permissions(temporary.lock.get(), *model);
  if (const auto written = write_all(temporary.lock.get(), bytes, file); !written) return written.error();
  if (::fsync(temporary.lock.get()) != 0 && errno != EINVAL) return unwritable(file, system_words());
  return temporary;
}

Result<void> replace_file(const fs::path& file, const std::string& bytes, const struct stat* model) {
  auto temporary = write_temporary(file, bytes, model);
  if (!temporary) return temporary.error();
  if (::rename(temporary->path.c_str(), file.c_str()) != 0) return unwritable(file, system_words());
  temporary->path.clear();
  sync_folder(folder_of(file));
  return {};
}

bool holds(const fs::path& file, const std::string& bytes) {
  const auto found = read_file(file, bytes.size());
  return found && *found == bytes;
}

// Swaps the new file with what stands there at that instant, and looks at what came out: another program's
// version goes back. Looking first keeps a program without a lock from reading ours in between; what is left
// is the time from that look to the swap.
Result<bool> swap_in(const fs::path& file, Temporary& temporary, const std::string& bytes,
                     const std::string& old) {
  const auto swap = [&] {
    return ::renameat2(AT_FDCWD, temporary.path.c_str(), AT_FDCWD, file.c_str(), RENAME_EXCHANGE) == 0;
  };
  if (!holds(file, old)) return false;
  if (swap()) {
    if (holds(temporary.path, old)) return true;
    if (!swap()) return unwritable(file, system_words());
    if (!holds(temporary.path, bytes)) {  // replaced once more in between: the latest stays
      ::rename(temporary.path.c_str(), file.c_str());
      temporary.path.clear();
    }
    return false;
  }
  if (errno == ENOENT) return false;
  if (errno != EINVAL && errno != ENOSYS && errno != ENOTSUP) return unwritable(file, system_words());
  // a file system that cannot swap
  if (::rename(temporary.path.c_str(), file.c_str()) != 0) return unwritable(file, system_words());
  temporary.path.clear();
  return true;
}

// Puts a file where there is none yet.
Result<bool> put_new(const fs::path& file, Temporary& temporary) {
  if (::renameat2(AT_FDCWD, temporary.path.c_str(), AT_FDCWD, file.c_str(), RENAME_NOREPLACE) != 0) {
    if (errno == EEXIST) return false;
    if (errno != EINVAL && errno != ENOSYS && errno != ENOTSUP) return unwritable(file, system_words());
    if (::access(file.c_str(), F_OK) == 0) return false;
    if (::rename(temporary.path.c_str(), file.c_str()) != 0) return unwritable(file, system_words());
  }
  temporary.path.clear();
  return true;
}

}  // namespace

namespace record {

fs::path behind_links(const fs::path& file) {
  fs::path at = file;
  std::error_code failed;
  for (int links = 0; links < 40 && fs::is_symlink(fs::symlink_status(at, failed)); ++links) {
    const fs::path target = fs::read_symlink(at, failed);
    if (failed) break;
    at = target.is_absolute() ? target : folder_of(at) / target;
  }
  return at;
}

void remove_stale_temporaries(const fs::path& file) {
  const std::string head = "." + file.filename().string() + ".";
  std::error_code failed;
  for (fs::directory_iterator at(folder_of(file), failed), end; !failed && at != end; at.increment(failed)) {
    const std::string name = at->path().filename().string();
    if (!name.starts_with(head) || !name.ends_with(kTemporaryTail)) continue;
    const FileHandle left(::open(at->path().c_str(), O_RDONLY | O_NOFOLLOW | O_CLOEXEC));
    if (left.is_open() && ::flock(left.get(), LOCK_EX | LOCK_NB) == 0) ::unlink(at->path().c_str());
  }
}

Result<bool> replace_if_unchanged(const fs::path& file, const std::string& bytes, const std::string* old) {
  struct stat model {};
  const bool exists = ::stat(file.c_str(), &model) == 0;
  if (exists != (old != nullptr)) return false;
  if (exists && ::access(file.c_str(), W_OK) != 0) return unwritable(file, system_words());
  auto temporary = write_temporary(file, bytes, exists ? &model : nullptr);
  if (!temporary) return temporary.error();
  const auto done = exists ? swap_in(file, *temporary, bytes, *old) : put_new(file, *temporary);
  if (done && *done) sync_folder(folder_of(file));
  return done;
}

}  // namespace record

Result<void> record::write_file_like(const fs::path& file, const std::string& bytes, const fs::path& model) {
  if (file.empty()) return Error{ErrorCode::kFileUnwritable, "found no file name"};
  const fs::path target = behind_links(file);
  struct stat old {};
  const bool exists = ::stat(target.c_str(), &old) == 0;
  if (!exists && errno != ENOENT) return unwritable(file, system_words());
  if (!exists) return replace_file(target, bytes, ::stat(model.c_str(), &old) == 0 ? &old : nullptr);
  if (S_ISDIR(old.st_mode)) return unwritable(file, "it is a folder");
  if (!S_ISREG(old.st_mode)) return write_through(target, bytes);
  if (::access(target.c_str(), W_OK) != 0) return unwritable(file, system_words());
  return replace_file(target, bytes, &old);
}

Result<void> write_file_atomically(const fs::path& file, const std::string& bytes) {
  if (file == "-")
    return Error{ErrorCode::kFileUnwritable,
                 "'-' is no name of a file here, and this output has no other place to go"};
  if (const auto clear = keep_other_kinds(file, bytes); !clear) return clear;
  return write_file_like(file, bytes, {});
}

Result<std::string> read_file(const fs::path& file, std::size_t limit_bytes) {
  const auto unreadable = [&](const std::string& why) {
    return Error{ErrorCode::kFileUnreadable, "'" + file.string() + "', " + why};
  };
  const FileHandle in(::open(file.c_str(), O_RDONLY | O_CLOEXEC));
  if (!in.is_open()) {
    if (errno == ENOENT || errno == ENOTDIR) return Error{ErrorCode::kFileMissing, "'" + file.string() + "'"};
    return unreadable(system_words());
  }
  struct stat about {};
  if (::fstat(in.get(), &about) != 0) return unreadable(system_words());
  if (S_ISDIR(about.st_mode)) return unreadable("it is a folder");
  const auto too_long = [&] {
    return unreadable("it holds more than " + std::to_string(limit_bytes >> 20) + " MiB");
  };
  if (S_ISREG(about.st_mode) && static_cast<std::size_t>(about.st_size) > limit_bytes) return too_long();
  std::string bytes;
  if (S_ISREG(about.st_mode)) bytes.reserve(static_cast<std::size_t>(about.st_size));
  char block[65536];
  for (;;) {
    const ssize_t count = ::read(in.get(), block, sizeof block);
    if (count < 0 && errno == EINTR) continue;
    if (count < 0) return unreadable(system_words());
    if (count == 0) return bytes;
    if (bytes.size() + static_cast<std::size_t>(count) > limit_bytes) return too_long();
    bytes.append(block, static_cast<std::size_t>(count));
  }
}

}  // namespace rondure
