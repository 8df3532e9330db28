// The part record on disk: one JSON file per part (format "rondure-part", version 1), written atomically. The
// only place that writes JSON of results. Fields of a newer version are preserved when a record is read and
// saved again.
#pragma once
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "rondure/core/result.hpp"
#include "rondure/interpret/feature.hpp"
#include "rondure/interpret/original.hpp"
#include "rondure/making/replacement.hpp"
#include "rondure/profile/side_profile.hpp"

namespace rondure {

struct PartRecord {
  std::string name, material;
  std::vector<Feature> features;
  std::optional<OriginalResult> original;
  std::optional<plan::ReplacementPlan>
      replacement;  // what to make; put_plan() of plan_section.hpp replaces it
  std::optional<SideProfile>
      profile;  // what a side view showed; put_profile() of profile_section.hpp replaces it
  std::vector<Warning> warnings;
  std::string preserved_json;  // the document as read, for unknown fields; empty for a new record
};

std::string to_json(const PartRecord& record);  // pretty-printed, ends with a newline; no NaN, no infinity
// Errors: kFileDamaged (what and where).
Result<PartRecord> parse_part_record(const std::string& json_text);

// Errors: kFileMissing, kFileUnreadable, kFileDamaged.
Result<PartRecord> load_part_record(const std::filesystem::path& file);

// Changing a record on disk. Atomic: a temporary file beside it, fsync, rename; a power cut leaves the old
// record or the new one. One writer at a time (a lock of the system on the folder: a killed writer leaves no
// lock behind). The record before the change is kept as PART.json.bak. A damaged record is refused and left
// as it is. Symbolic links are followed; the permissions stay. Errors: kFileLocked (another program kept the
// lock for 10 s, or changed the file all the while), kFileDamaged, kFileUnwritable, kFileUnreadable, and
// those of `change`.
//
// update: loads (a new record named after the file where there is none), lets `change` edit, saves. `change`
// may be called again when the file was replaced in between; an error from it writes nothing.
Result<void> update_part_record(const std::filesystem::path& file,
                                const std::function<Result<void>(PartRecord&)>& change);
// Adds the features, or replaces those of the same name.
Result<void> save_features(const std::filesystem::path& file, const std::vector<Feature>& features,
                           const std::string& material = {});
Result<void> save_feature(const std::filesystem::path& file, Feature feature,
                          const std::string& material = {});
// Writes the record as it is; refused (kFileLocked) when it was loaded and the file has changed since.
Result<void> save_part_record(const std::filesystem::path& file, const PartRecord& record);
// PART.json.bak, where the record before the last change is kept.
std::filesystem::path generation_before(const std::filesystem::path& file);

// Writes a whole file or nothing; pipes and devices are written to. A file of another kind that stands there
// (a part record where a page is to go) is refused and stays; so is "-", which means standard output elsewhere.
// Errors: kFileUnwritable.
Result<void> write_file_atomically(const std::filesystem::path& file, const std::string& bytes);
// Errors: kFileMissing, kFileUnreadable (a folder, no permission, longer than the limit).
Result<std::string> read_file(const std::filesystem::path& file, std::size_t limit_bytes = 1u << 30);
std::string sha256_hex(const std::string& bytes);
// Of a file of any length, in blocks; nothing where no ordinary file can be read.
std::optional<std::string> sha256_of_file(const std::filesystem::path& file);

}  // namespace rondure
