// Records on disk: reading, and changing one under the writers' lock.
#include <algorithm>

#include "atomic_file.hpp"
#include "json/text.hpp"
#include "rondure/record/not_the_part.hpp"
#include "rondure/record/part_record.hpp"
#include "sections.hpp"
#include "writer_lock.hpp"

namespace fs = std::filesystem;

namespace rondure {
namespace {

using namespace record;

constexpr std::size_t kRecordLimitBytes = 32u << 20;  // no record comes near; bounds the memory
constexpr int kAttempts = 5;  // of a change while somebody who takes no lock writes too; then it is refused

// The record as it stands on disk; nothing when there is no file.
struct OnDisk {
  bool exists = false;
  std::string bytes;
};

Result<OnDisk> look(const fs::path& file) {
  auto bytes = read_file(file, kRecordLimitBytes);
  if (bytes) return OnDisk{true, *std::move(bytes)};
  if (bytes.error().code == ErrorCode::kFileMissing) return OnDisk{};
  return bytes.error();
}

Error in_file(const Error& error, const fs::path& file) {
  if (error.code != ErrorCode::kFileDamaged) return error;
  return {error.code, "'" + file.string() + "', " + error.detail};
}

// Writes `bytes` in place of `old`, which is kept as the last generation. False: the file is no longer `old`.
Result<bool> replace_generation(const fs::path& file, const OnDisk& old, const std::string& bytes) {
  if (old.exists && old.bytes == bytes) return true;
  if (old.exists) {
    if (::access(file.c_str(), W_OK) != 0) return unwritable(file, system_words());
    if (const auto kept = write_file_like(generation_before(file), old.bytes, file); !kept)
      return kept.error();
  }
  return replace_if_unchanged(file, bytes, old.exists ? &old.bytes : nullptr);
}

Error changed_meanwhile(const fs::path& file) {
  return {ErrorCode::kFileLocked, "'" + file.string() + "' changed while it was in use; nothing was written"};
}

// Of a feature that is measured anew: fields that only a newer version understands stay on the feature; what
// stood inside its known values goes with them. The names of the fields that stay.
std::vector<std::string> strip_old_values(Json& was, const Json& known) {
  std::vector<std::string> kept;
  for (auto& [key, value] : was.items()) {
    if (known.contains(key))
      value = known[key];
    else if (!value.is_null() && key != kSameKey)  // the drawing is the same, however it is measured
      kept.push_back(key);
  }
  return kept;
}

void put_feature(PartRecord& record, Feature feature) {
  const auto at = std::ranges::find(record.features, feature.name, &Feature::name);
  if (at == record.features.end()) {
    record.features.push_back(std::move(feature));
    return;
  }
  const auto index = static_cast<std::size_t>(at - record.features.begin());
  Json document = Json::parse(record.preserved_json, nullptr, false);
  if (document.is_object() && document.contains("features") && index < document["features"].size()) {
    for (const std::string& field : strip_old_values(document["features"][index], feature_to_json(*at)))
      feature.warnings.push_back({"kept-unknown-field", "'" + field +
                                                            "' was written by a newer version and belongs "
                                                            "to the measurement before this one"});
    record.preserved_json = document.dump();
  }
  *at = std::move(feature);
}

}  // namespace

fs::path generation_before(const fs::path& file) {
  fs::path name = behind_links(file);
  return name += ".bak";
}

Result<PartRecord> load_part_record(const fs::path& file) {
  const auto bytes = read_file(file, kRecordLimitBytes);
  if (!bytes) return bytes.error();
  auto record = parse_part_record(*bytes);
  if (!record) return in_file(record.error(), file);
  return record;
}

Result<void> update_part_record(const fs::path& file,
                                const std::function<Result<void>(PartRecord&)>& change) {
  const fs::path target = behind_links(file);
  const auto lock = lock_for_writing(target);
  if (!lock) return lock.error();
  remove_stale_temporaries(target);
  for (int attempt = 0; attempt < kAttempts; ++attempt) {
    const auto old = look(target);
    if (!old) return old.error();
    PartRecord record;
    record.name = target.stem().string();
    if (old->exists) {
      auto read = parse_part_record(old->bytes);
      if (!read) return in_file(read.error(), file);
      record = *std::move(read);
    }
    if (const auto changed = change(record); !changed) return changed.error();
    const auto written = replace_generation(target, *old, to_json(record));
    if (!written) return written.error();
    if (*written) return {};
  }
  return changed_meanwhile(file);
}

Result<void> save_part_record(const fs::path& file, const PartRecord& record) {
  const fs::path target = behind_links(file);
  const auto lock = lock_for_writing(target);
  if (!lock) return lock.error();
  remove_stale_temporaries(target);
  const auto old = look(target);
  if (!old) return old.error();
  if (old->exists && !record.preserved_json.empty() && record.preserved_json != old->bytes)
    return changed_meanwhile(file);
  const auto written = replace_generation(target, *old, to_json(record));
  if (!written) return written.error();
  if (!*written) return changed_meanwhile(file);
  return {};
}

Result<void> save_features(const fs::path& file, const std::vector<Feature>& features,
                           const std::string& material) {
  return update_part_record(file, [&](PartRecord& record) -> Result<void> {
    if (!material.empty()) record.material = material;
    for (const Feature& feature : features) put_feature(record, feature);
    return {};
  });
}

Result<void> save_features(const fs::path& file, const std::vector<Feature>& features,
                           const std::vector<EdgeAside>& edges, const std::string& material) {
  return update_part_record(file, [&](PartRecord& record) -> Result<void> {
    if (!material.empty()) record.material = material;
    for (const Feature& feature : features) put_feature(record, feature);
    put_not_the_part(record, edges);
    return {};
  });
}

Result<void> save_feature(const fs::path& file, Feature feature, const std::string& material) {
  return save_features(file, {std::move(feature)}, material);
}

}  // namespace rondure
