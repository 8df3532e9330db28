// What kind of file some bytes are, so that nothing a user made is overwritten by another kind of thing.
#pragma once
#include <filesystem>
#include <string>

#include "rondure/core/result.hpp"

namespace rondure::record {

// "part record", "HTML page", "PNG picture", "table 'name,kind,...'", "file of readings", ...; empty for bytes
// that hold nothing. Looks at the first 4096 bytes only.
std::string file_kind(const std::string& bytes);

// Refuses (kFileUnwritable) when the file stands there and is of another kind than the bytes.
Result<void> keep_other_kinds(const std::filesystem::path& file, const std::string& bytes);

}  // namespace rondure::record
