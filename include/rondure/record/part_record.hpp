// The part record on disk: one JSON file per part (format "rondure-part", version 1), written atomically. The only
// place that writes JSON of results. Fields of a newer version are preserved when a record is read and saved again.
#pragma once
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "rondure/core/result.hpp"
#include "rondure/interpret/feature.hpp"
#include "rondure/interpret/original.hpp"

namespace rondure {

struct PartRecord {
  std::string name, material;
  std::vector<Feature> features;
  std::optional<OriginalResult> original;
  std::string replacement_json;  // the plan module's object, as JSON text; empty = none
  std::vector<Warning> warnings;
  std::string preserved_json;    // the document as read, for unknown fields; empty for a new record
};

std::string to_json(const PartRecord& record);  // pretty-printed, ends with a newline; no NaN, no infinity
// Errors: kFileDamaged (what and where).
Result<PartRecord> parse_part_record(const std::string& json_text);

// Errors: kFileMissing, kFileUnreadable, kFileDamaged.
Result<PartRecord> load_part_record(const std::filesystem::path& file);
// Atomic: a temporary file beside it, fsync, rename. Errors: kFileUnwritable.
Result<void> save_part_record(const std::filesystem::path& file, const PartRecord& record);
// Adds or replaces the feature of that name in the record at `file` (made if missing), under a lock.
Result<void> save_feature(const std::filesystem::path& file, Feature feature, const std::string& material = {});

// Writes a whole file or nothing. Errors: kFileUnwritable.
Result<void> write_file_atomically(const std::filesystem::path& file, const std::string& bytes);
Result<std::string> read_file(const std::filesystem::path& file, std::size_t limit_bytes = 1u << 30);
std::string sha256_hex(const std::string& bytes);

}  // namespace rondure
