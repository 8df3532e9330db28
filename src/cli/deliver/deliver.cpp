#include <algorithm>
#include <ctime>
#include <filesystem>
#include <iostream>
#include <limits>
#include <map>
#include <optional>
#include <set>

#include "cli/deliver/deliver_photo.hpp"
#include "cli/deliver/measure_batch.hpp"
#include "cli/terminal/command.hpp"
#include "cli/terminal/paint.hpp"
#include "cli/terminal/text_words.hpp"
#include "rondure/interpret/materials.hpp"
#include "rondure/interpret/part_name.hpp"
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

// Of files already read too, by name: the features of one photograph share it.
using Digests = std::map<std::string, std::string>;
void complete_digest(const std::string& file, std::string& sha256, Digests& known) {
  if (!sha256.empty() || file.empty()) return;
  const auto [at, is_new] = known.try_emplace(file);
  if (is_new) at->second = sha256_of_file(file).value_or("");
  sha256 = at->second;
}

// When and from what: the time, and the digests of the files that were measured and calibrated with.
void complete_source(FeatureSource& source, Digests& known) {
  if (source.time.empty()) source.time = now_utc();
  complete_digest(source.file, source.sha256, known);
  complete_digest(source.calibration, source.calibration_sha256, known);
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

// Of several parts in a picture each has its record: the largest PART.json, the others PART-2.json and so on.
std::string record_of_part(const std::string& save, int part_number) {
  if (part_number < 2) return save;
  const std::filesystem::path path(save);
  return (path.parent_path() /
          (path.stem().string() + "-" + std::to_string(part_number) + path.extension().string()))
      .string();
}

std::map<int, std::vector<Feature>> by_part(const std::vector<Feature>& features) {
  std::map<int, std::vector<Feature>> parts;
  for (const Feature& feature : features) parts[std::max(1, part_number_of(feature.name))].push_back(feature);
  return parts;
}

// "saved in part.json as 'outside', 'hub step' and 'bore'".
std::string saved_words(const std::vector<Feature>& features, const std::string& file) {
  std::string names;
  for (std::size_t i = 0; i < features.size(); ++i)
    names += (i == 0 ? "'" : i + 1 == features.size() ? " and '" : ", '") + features[i].name + "'";
  return "saved in " + file + " as " + names + "\n";
}

Result<void> write_json(const std::vector<Feature>& features, const std::vector<EdgeAside>& aside,
                        const CommonOptions& options) {
  PartRecord record;
  record.material = options.material;
  record.features = features;
  put_not_the_part(record, aside);
  if (options.json == "-") {
    std::cout << to_json(record);
    return {};
  }
  return write_file_atomically(options.json, to_json(record));
}

}  // namespace

namespace {

// Those nearer to this part than to any other.
std::vector<EdgeAside> aside_of(int part, const std::map<int, std::vector<Feature>>& parts,
                                const std::vector<EdgeAside>& aside) {
  std::vector<EdgeAside> own;
  for (const EdgeAside& edge : aside) {
    int nearest = part;
    double least = std::numeric_limits<double>::infinity();
    for (const auto& [number, features] : parts) {
      if (features.empty() || !features.front().circle) continue;
      const double apart = (features.front().circle->center.vec() - edge.circle.center.vec()).norm();
      if (apart < least) least = apart, nearest = number;
    }
    if (nearest == part) own.push_back(edge);
  }
  return own;
}

// A photograph: `aside` too, else the record keeps what it has.
Result<void> save_part(const std::string& file, const std::vector<Feature>& features,
                       const std::optional<std::vector<EdgeAside>>& aside, const CommonOptions& options) {
  if (!aside) return save_features(file, features, options.material);
  return save_features(file, features, *aside, options.material);
}

// What --material changes in the record, and a name that no table knows: said, as nothing else would show it.
std::string material_words(const CommonOptions& options) {
  std::string text;
  if (!options.material.empty() && !find_ageing_material(options.material).known)
    text = "material '" + options.material +
           "' is not in the table: its ageing is not known (rondure original --materials lists them)";
  if (!options.material.empty() && !options.save.empty())
    if (const auto record = load_part_record(options.save);
        record && !record->material.empty() && record->material != options.material)
      text += (text.empty() ? "material '" : "; '") + record->material + "' replaced by '" +
              options.material + "'";
  return text.empty() ? text : wrapped(text, "", "  ", line_width());
}

int deliver_as(std::vector<Feature> features, const std::optional<std::vector<EdgeAside>>& aside,
               const CommonOptions& options, bool as_table, bool all) {
  const bool kept = !options.save.empty() || !options.json.empty();  // names of a record are all different
  if (!as_table || kept) name_features(features, options);
  Digests known;
  for (Feature& feature : features) complete_source(feature.source, known);
  if (const auto clear = keep_clear_of_others(features, options); !clear) return report_error(clear.error());
  const std::string about_material = material_words(options);
  const auto parts = as_table ? std::map<int, std::vector<Feature>>{{1, features}} : by_part(features);
  if (!options.save.empty())
    for (const auto& [number, own] : parts)
      if (const auto saved =
              save_part(record_of_part(options.save, number), own,
                        aside ? std::optional(aside_of(number, parts, *aside)) : std::nullopt, options);
          !saved)
        return report_error(saved.error());
  if (!options.json.empty())
    if (const auto written = write_json(features, aside.value_or(std::vector<EdgeAside>{}), options);
        !written)
      return report_error(written.error());
  if (!options.quiet && options.json != "-") {
    if (as_table)
      std::cout << feature_table(features, text_options(options.unit));
    else
      std::cout << features_text(features, text_options(options.unit, all));
    if (!options.save.empty() && as_table)
      std::cout << features.size() << " features saved in " << options.save << '\n';
    else if (!options.save.empty())
      for (const auto& [number, own] : parts)
        std::cout << saved_words(own, record_of_part(options.save, number));
    std::cout << about_material;
  }
  return finish_output();
}

}  // namespace

int deliver(std::vector<Feature> features, const CommonOptions& options) {
  return deliver_as(std::move(features), {}, options, false, false);
}

int deliver(std::vector<Feature> features, const CommonOptions& options, bool all_figures) {
  return deliver_as(std::move(features), {}, options, false, all_figures);
}

int deliver(std::vector<Feature> features, const std::vector<EdgeAside>& aside, const CommonOptions& options,
            bool all_figures) {
  return deliver_as(std::move(features), aside, options, false, all_figures);
}

int deliver_table(std::vector<Feature> features, const CommonOptions& options) {
  return deliver_as(std::move(features), {}, options, true, false);
}

}  // namespace rondure::cli
