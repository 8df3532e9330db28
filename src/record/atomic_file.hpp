#pragma once
#include <filesystem>
#include <string>

#include "rondure/core/result.hpp"

namespace rondure::record {

// Where a name leads to when symbolic links are followed, also when the last one leads to nothing yet.
std::filesystem::path behind_links(const std::filesystem::path& file);

// Removes temporary files that a writer of this file left behind when it was killed.
void remove_stale_temporaries(const std::filesystem::path& file);

// write_file_atomically, with the permissions of `model` where the file does not exist yet.
Result<void> write_file_like(const std::filesystem::path& file, const std::string& bytes,
                             const std::filesystem::path& model);

// Replaces the file in one step, and only while it still holds `old` (null: while there is none); false when
// it does not, also when another program replaces it at the very instant. The permissions stay. Errors:
// kFileUnwritable.
Result<bool> replace_if_unchanged(const std::filesystem::path& file, const std::string& bytes,
                                  const std::string* old);

}  // namespace rondure::record
