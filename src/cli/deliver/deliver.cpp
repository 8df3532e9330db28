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

// "outside 2", "outside 2, part 2": the mark of the part stays last.
std::string numbered(const std::string& name, int number) {
  const int part = part_number_of(name);
  const std::string own = part > 0 ? name.substr(0, name.rfind(kPartMark)) : name,
                    with = own + " " + std::to_string(number);
  return part > 0 ? name_in_part(with, part) : with;
}

std::string first_free(const std::string& wanted, const std::set<std::string>& taken) {
  std::string name = wanted;
  for (int number = 2; taken.count(name) == 1; ++number) name = numbered(wanted, number);
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

// Of several parts in a picture each has its record: the largest PART.json, the others PART-2.json and so on.
std::string record_of_part(const std::string& save, int part_number) {
  if (part_number < 2) return save;
  const std::filesystem::path path(save);
  return (path.parent_path() /
          (path.stem().string() + "-" + std::to_string(part_number) + path.extension().string()))
      .string();
}

int part_of(const Feature& feature, bool in_one_record) {
  return in_one_record ? 1 : std::max(1, part_number_of(feature.name));
}

// The features of a record; none where there is no record yet.
Result<std::vector<Feature>> features_there(const std::string& file) {
  auto record = load_part_record(file);
  if (record) return std::move(record->features);
  if (record.error().code == ErrorCode::kFileMissing) return std::vector<Feature>{};
  return record.error();
}

// A name that nobody chose must not replace the feature of another source, in the record of its part.
Result<void> keep_clear_of_others(std::vector<Feature>& features, const CommonOptions& options,
                                  bool in_one_record) {
  if (options.save.empty()) return {};
  std::map<int, std::vector<Feature>> records;
  std::map<int, std::set<std::string>> taken, given;
  for (std::size_t i = options.feature.empty() ? 0 : 1; i < features.size(); ++i) {
    const int part = part_of(features[i], in_one_record);
    if (!records.contains(part)) {
      auto there = features_there(record_of_part(options.save, part));
      if (!there) return there.error();
      for (const Feature& feature : *there) taken[part].insert(feature.name);
      records[part] = std::move(*there);
    }
    // Free, or its own of an earlier measuring.
    const auto is_own = [&](const std::string& name) {
      return std::ranges::any_of(records[part], [&](const Feature& there) {
        return there.name == name && there.source.file == features[i].source.file;
      });
    };
    const std::string wanted = features[i].name;
    std::string& name = features[i].name;
    for (int number = 2; taken[part].contains(name) && !(is_own(name) && !given[part].contains(name));
         ++number)
      name = numbered(wanted, number);
    taken[part].insert(name), given[part].insert(name);
  }
  return {};
}

std::map<int, std::vector<Feature>> by_part(const std::vector<Feature>& features) {
  std::map<int, std::vector<Feature>> parts;
  for (const Feature& feature : features) parts[part_of(feature, false)].push_back(feature);
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
  if (const auto clear = keep_clear_of_others(features, options, as_table); !clear)
    return report_error(clear.error());
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

Result<void> name_as_kept(std::vector<Feature>& features, const CommonOptions& options, bool in_one_record) {
  name_features(features, options);
  return keep_clear_of_others(features, options, in_one_record);
}

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
