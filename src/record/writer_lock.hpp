// One writer at a time for the records of a folder. The lock is the system's own (flock) on the folder, so
// that a killed writer leaves nothing behind; where the file system cannot lock folders, on a file beside the
// record.
#pragma once
#include <chrono>

#include "file_handle.hpp"

namespace rondure::record {

inline constexpr std::chrono::seconds kLockPatience{10};  // writing takes far less: who holds longer hangs

// Held until the handle goes. Errors: kFileLocked after kLockPatience, kFileUnwritable when there is no such
// folder.
Result<FileHandle> lock_for_writing(const std::filesystem::path& file);

}  // namespace rondure::record
