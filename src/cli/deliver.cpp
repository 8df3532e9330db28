#include <algorithm>
#include <ctime>
#include <filesystem>
#include <iostream>
#include <set>

#include "command.hpp"
#include "measure_batch.hpp"
#include "paint.hpp"
#include "rondure/record/part_record.hpp"
#include "rondure/report/feature_text.hpp"

namespace rondure::cli {

std::string now_utc() {
  const std::time_t now = std::time(nullptr);
  std::tm utc{};
  gmtime_r(&now, &utc);
  char text[32];
  std::strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%SZ", &utc);
  return text;
}

namespace {

std::string first_free(const std::string& wanted, const std::set<std::string>& taken) {
  std::string name = wanted;
  for (int number = 2; taken.count(name) == 1; ++number) name = wanted + " " + std::to_string(number);
  return name;
}

// --feature names the first; the others keep the name they came with, else get their kind or a number.
void name_features(std::vector<Feature>& features, const CommonOptions& options) {
  std::set<std::string> taken;
  for (std::size_t i = 0; i < features.size(); ++i) {
    Feature& feature = features[i];
    if (i == 0 && !options.kind.empty()) feature.kind = FeatureKind::from_record(options.kind);
    std::string wanted = i == 0 && !options.feature.empty() ? options.feature : feature.name;
    if (wanted.empty()) wanted = feature.kind.word();
    if (wanted.empty()) wanted = "feature " + std::to_string(i + 1);
    feature.name = first_free(wanted, taken);
    taken.insert(feature.name);
  }
}

void complete_digest(const std::string& file, std::string& sha256) {
  if (sha256.empty()) sha256 = sha256_of_file(file).value_or("");
}

// When and from what: the time, and the digests of the files that were measured and calibrated with.
void complete_source(FeatureSource& source) {
  if (source.time.empty()) source.time = now_utc();
  complete_digest(source.file, source.sha256);
  complete_digest(source.calibration, source.calibration_sha256);
}

// A name that nobody chose must not replace the feature of another source.
Result<void> keep_clear_of_others(std::vector<Feature>& features, const CommonOptions& options) {
  if (options.save.empty()) return {};
  const auto record = load_part_record(options.save);
  if (!record) {
    if (record.error().code == ErrorCode::kFileMissing) return {};
    return record.error();
  }
  std::set<std::string> taken;
  for (const Feature& there : record->features) taken.insert(there.name);
  for (std::size_t i = options.feature.empty() ? 0 : 1; i < features.size(); ++i) {
    const auto same = [&](const Feature& there) {
      return there.name == features[i].name && there.source.file == features[i].source.file;
    };
    if (std::ranges::any_of(record->features, same)) continue;
    features[i].name = first_free(features[i].name, taken);
    taken.insert(features[i].name);
  }
  return {};
}

Result<void> write_json(const std::vector<Feature>& features, const CommonOptions& options) {
  PartRecord record;
  record.material = options.material;
  record.features = features;
  if (options.json == "-") {
    std::cout << to_json(record);
    return {};
  }
  return write_file_atomically(options.json, to_json(record));
}

}  // namespace

namespace {

int deliver(std::vector<Feature> features, const CommonOptions& options, bool as_table) {
  const bool kept = !options.save.empty() || !options.json.empty();  // names of a record are all different
  if (!as_table || kept) name_features(features, options);
  for (Feature& feature : features) complete_source(feature.source);
  if (const auto clear = keep_clear_of_others(features, options); !clear) return report_error(clear.error());
  if (!options.save.empty())
    if (const auto saved = save_features(options.save, features, options.material); !saved)
      return report_error(saved.error());
  if (!options.json.empty())
    if (const auto written = write_json(features, options); !written) return report_error(written.error());
  if (!options.quiet && options.json != "-") {
    if (as_table)
      std::cout << feature_table(features);
    else
      for (const Feature& feature : features) std::cout << feature_text(feature, terminal_ink()) << '\n';
    if (!options.save.empty() && as_table)
      std::cout << features.size() << " features saved in " << options.save << '\n';
    else if (!options.save.empty())
      for (const Feature& feature : features)
        std::cout << "saved as '" << feature.name << "' in " << options.save << '\n';
  }
  return finish_output();
}

}  // namespace

int deliver(std::vector<Feature> features, const CommonOptions& options) {
  return deliver(std::move(features), options, false);
}

int deliver_table(std::vector<Feature> features, const CommonOptions& options) {
  return deliver(std::move(features), options, true);
}

}  // namespace rondure::cli
