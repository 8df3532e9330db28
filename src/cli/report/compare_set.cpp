#include "cli/report/compare_set.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <iostream>
#include <map>

#include "cli/original/original_set.hpp"
#include "cli/report/input_limit.hpp"
#include "cli/terminal/command.hpp"
#include "cli/terminal/progress.hpp"
#include "cli/terminal/text_words.hpp"
#include "rondure/interpret/set_wear.hpp"
#include "rondure/measure/record_sizes.hpp"
#include "rondure/plan/planned_sizes.hpp"
#include "rondure/record/part_facts.hpp"
#include "rondure/record/part_record.hpp"
#include "rondure/record/set_json.hpp"
#include "rondure/record/wear_json.hpp"
#include "rondure/report/wear_text.hpp"

namespace rondure::cli {
namespace {

constexpr double kConfidence = 0.8;  // chance to say which has worn most: as for original sizes

Error of_file(const Error& error, const std::string& file) {
  return {error.code, file + ": " + error.detail};
}

struct Records {
  std::vector<SetPart> parts;
  std::vector<plan::PlannedSizes> plans;
};

// An answer of a set stands for its records, and names the feature that they share.
Result<void> unfold(WearQuestion& question) {
  if (question.files.size() != 1) return {};
  const auto text = read_file(question.files.front(), kInputLimitBytes);
  if (!text) return text.error();
  const auto set = parse_set_json(*text);
  if (!set) return of_file(set.error(), question.files.front());
  const auto folder = std::filesystem::path(question.files.front()).parent_path();
  if (question.feature.empty() && !set->set.same_drawing.empty())
    question.feature = set->set.same_drawing.front();
  question.files.clear();
  for (const std::string& file : set->files)
    question.files.push_back(
        std::filesystem::exists(file) ? file : (folder / std::filesystem::path(file).filename()).string());
  return {};
}

Result<Records> read_records(const std::vector<std::string>& files, const std::string& asked) {
  Records records;
  const auto names = part_names(files);
  for (std::size_t i = 0; i < files.size(); ++i) {
    const auto record = load_part_record(files[i]);
    if (!record) return of_file(record.error(), files[i]);
    auto sizes = sizes_from_record(*record);
    if (!sizes) return of_file(sizes.error(), files[i]);
    if (const auto ok = call_as_asked(*sizes, {asked}, true); !ok) return of_file(ok.error(), files[i]);
    SetPart part{names[i], std::move(sizes->sizes), {}};
    part.options.material = record->material;
    part.same = same_words(*record);
    records.parts.push_back(std::move(part));
    records.plans.push_back(plan::planned_sizes(*record));
  }
  return records;
}

// The word (key "same") by which at least two parts mark a running surface as of one drawing: the one asked, or the word
// of the most parts. Empty where there is none.
std::string marked_word(const std::vector<SetPart>& parts, const std::string& asked) {
  std::map<std::string, std::size_t> members;
  for (const SetPart& p : parts)
    for (const auto& [feature, word] : p.same)
      if (const auto o = std::ranges::find(p.sizes, feature, &SizeObservation::name);
          o != p.sizes.end() && o->kind.is_running_surface() && (asked.empty() || asked == word))
        ++members[word];
  std::string most;
  for (const auto& [word, count] : members)
    if (count >= 2 && (most.empty() || count > members[most])) most = word;
  return most;
}

// The marked surfaces go by their word: in two records they may have two names.
Result<void> call_by_word(Records& records, const std::string& word) {
  for (std::size_t i = 0; i < records.parts.size(); ++i)
    for (const auto& [feature, own] : records.parts[i].same) {
      auto& sizes = records.parts[i].sizes;
      const auto o = std::ranges::find(sizes, feature, &SizeObservation::name);
      if (own != word || o == sizes.end()) continue;
      if (feature != word && std::ranges::find(sizes, word, &SizeObservation::name) != sizes.end())
        return Error{ErrorCode::kBadArgument,
                     fmt::format("{}: found '{}' marked as '{}', which is the name of another feature there; "
                                 "needed a word of its own",
                                 records.parts[i].name, feature, word)};
      o->name = word;
      auto& limits = records.plans[i].limits;
      if (const auto planned = limits.find(feature); planned != limits.end() && feature != word)
        limits[word] = planned->second;
    }
  return {};
}

// The first running surface that all parts have.
std::string common_surface(const std::vector<SetPart>& parts) {
  for (const FeatureKind kind : {FeatureKind::kOutside, FeatureKind::kBore})
    for (const SizeObservation& o : parts.front().sizes)
      if (o.kind == kind && std::ranges::all_of(parts, [&](const SetPart& p) {
            return std::ranges::find(p.sizes, o.name, &SizeObservation::name) != p.sizes.end();
          }))
        return o.name;
  return {};
}

}  // namespace

int compare_wear(const WearQuestion& asked) {
  WearQuestion question = asked;
  if (const auto ok = unfold(question); !ok) return report_error(ok.error());
  auto records = read_records(question.files, question.feature);
  if (!records) return report_error(records.error());
  SetOptions options;
  if (const std::string word = marked_word(records->parts, question.feature); !word.empty()) {
    if (const auto ok = call_by_word(*records, word); !ok) return report_error(ok.error());
    question.feature = word;
  }
  if (!question.feature.empty())
    options.same_drawing = {question.feature};
  else
    question.feature = common_surface(records->parts);
  if (question.feature.empty())
    return report_error(
        {ErrorCode::kBadArgument,
         "found no outside or bore that all the parts have, needed one: name it with --same-drawing"});
  std::map<std::string, double> targets;
  for (std::size_t i = 0; i < records->parts.size(); ++i)
    if (const auto planned = records->plans[i].limits.find(question.feature);
        planned != records->plans[i].limits.end())
      targets[records->parts[i].name] = planned->second.target_mm;
  Progress progress(fmt::format("comparing {} parts", records->parts.size()), 1,
                    question.quiet || question.json == "-");
  options.on_progress = [&](double ratio) { progress.done_ratio(ratio); };
  const auto wear = question.against_plan ? wear_against_plan(records->parts, question.feature, targets)
                                          : wear_of_set(records->parts, question.feature, options);
  progress.wipe();
  if (!wear) return report_error(wear.error());
  if (question.json == "-")
    std::cout << wear_json(*wear);
  else if (!question.json.empty())
    if (const auto written = write_file_atomically(question.json, wear_json(*wear)); !written)
      return report_error(written.error());
  if (!question.quiet && question.json != "-")
    std::cout << wear_text(*wear, kConfidence, text_options(question.unit));
  return finish_output();
}

}  // namespace rondure::cli
