#include "cli/original/original_set.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <set>

#include "cli/terminal/progress.hpp"
#include "rondure/measure/record_sizes.hpp"
#include "rondure/record/part_facts.hpp"
#include "rondure/record/set_json.hpp"

namespace rondure::cli {
namespace {

// What only one part can be asked.
Result<void> check_set_options(const OriginalArguments& a) {
  const auto refuse = [](const std::string& option) {
    return Error{ErrorCode::kBadArgument, option + " is about one part: found several records, needed one"};
  };
  if (!a.sizes.empty()) return refuse("--sizes");
  if (!a.common.save.empty()) return refuse("--save");
  if (!a.crack_gap.empty()) return refuse("--crack-gap");
  if (!a.could_measure.empty()) return refuse("--could-measure");
  for (const auto& [option, text] : {std::pair("--mating", &a.mating),
                                     {"--mating-turns", &a.mating_turns},
                                     {"--ratio", &a.ratio},
                                     {"--surface-speed", &a.surface_speed},
                                     {"--turns", &a.turns},
                                     {"--drive", &a.drive}})
    if (!text->empty()) return refuse(option);
  return {};
}

// In a set, evidence, worn surfaces and bores on metal hold for every part that has the feature; "PART:NAME"
// means one part.
std::string own_name(const std::string& text, const std::string& part) {
  return text.starts_with(part + ":") ? text.substr(part.size() + 1) : text;
}
bool has(const std::vector<SizeObservation>& sizes, const std::string& name) {
  for (const SizeObservation& o : sizes)
    if (o.name == name) return true;
  return false;
}

// The features of this part that the options and the ties name.
std::vector<std::string> named_of_part(const std::string& part, const OriginalArguments& a,
                                       const OriginalOptions& common, const std::vector<SizeTie>& ties) {
  std::vector<std::string> names = named_features(a, common);
  for (std::string& n : names) n = own_name(n, part);
  for (const SizeTie& t : ties) {
    if (t.part_a == part) names.push_back(t.feature_a);
    if (t.part_b == part) names.push_back(t.feature_b);
  }
  return names;
}

Result<SetPart> set_part(const std::string& file, const std::string& name, const OriginalArguments& a,
                         const OriginalOptions& common, const std::vector<SizeTie>& ties,
                         std::vector<std::string>& used, std::vector<Warning>& warnings) {
  const auto loaded = load_part_record(file);
  if (!loaded) return Error{loaded.error().code, file + ": " + loaded.error().detail};
  SetPart part{name, {}, common};
  auto measured = sizes_from_record(*loaded);
  if (!measured) return Error{measured.error().code, file + ": " + measured.error().detail};
  if (const auto ok = call_as_asked(*measured, named_of_part(name, a, common, ties), true); !ok)
    return Error{ok.error().code, file + ": " + ok.error().detail};
  part.sizes = std::move(measured->sizes);
  warnings = std::move(measured->warnings);
  part.same = same_words(*loaded);
  if (part.options.material.empty()) part.options.material = loaded->material;
  const auto of_this_part = [&](const std::vector<std::string>& names) {
    std::vector<std::string> found;
    for (const std::string& n : names)
      if (const std::string own = own_name(n, name); has(part.sizes, own)) {
        found.push_back(own);
        used.push_back(n);
      }
    return found;
  };
  if (const auto ok = put_on_metal(part.sizes, of_this_part(a.on_metal)); !ok)
    return Error{ok.error().code, file + ": " + ok.error().detail};
  part.options.may_be_worn = of_this_part(a.worn);
  part.options.evidence.clear();
  for (const SizeEvidence& e : common.evidence)
    if (const auto own = of_this_part({e.feature}); !own.empty())
      part.options.evidence.push_back({own.front(), e.size_mm, e.source});
  if (!has(part.sizes, common.about))
    part.options.about.clear();
  else
    used.push_back(common.about);
  return part;
}

}  // namespace

std::vector<std::string> part_names(const std::vector<std::string>& files) {
  std::vector<std::string> names;
  for (const std::string& file : files) names.push_back(std::filesystem::path(file).stem().string());
  return std::set(names.begin(), names.end()).size() == files.size() ? names : files;
}

Result<SizeTie> parse_tie(const std::string& text, double belt_mm) {
  const Error bad{
      ErrorCode::kBadArgument,
      "--tie: found '" + text.substr(0, 80) +
          "', needed PART:FEATURE/PART:FEATURE=RATIO+-U such as 'a:outside/b:outside=2.00+-0.01'"};
  const auto equals = text.rfind('=');
  if (equals == std::string::npos) return bad;
  const std::string names = text.substr(0, equals);
  // The slash that parts the two follows a feature's name; names of parts may hold slashes of a path.
  const auto first_colon = names.find(':');
  const auto slash = first_colon == std::string::npos ? first_colon : names.find('/', first_colon);
  const auto second_colon = slash == std::string::npos ? slash : names.rfind(':');
  if (second_colon == std::string::npos || second_colon < slash) return bad;
  SizeTie tie;
  tie.part_a = names.substr(0, first_colon);
  tie.feature_a = names.substr(first_colon + 1, slash - first_colon - 1);
  tie.part_b = names.substr(slash + 1, second_colon - slash - 1);
  tie.feature_b = names.substr(second_colon + 1);
  tie.belt_mm = belt_mm;
  std::string value = text.substr(equals + 1), u;
  for (const char* sign : {"+-", "+/-", "\u00b1"})
    if (const auto at = value.find(sign); at != std::string::npos) {
      u = value.substr(at + std::string(sign).size());
      value = value.substr(0, at);
      break;
    }
  const auto ratio = parse_number(value);
  const bool share = !u.empty() && u.back() == '%';
  const auto spread = share ? parse_ratio(u) : parse_number(u);
  if (!ratio || !spread || !(*ratio > 0) || !(*spread > 0)) return bad;
  tie.ratio = {*ratio, share ? *ratio * *spread : *spread};
  if (tie.part_a.empty() || tie.feature_a.empty() || tie.part_b.empty() || tie.feature_b.empty()) return bad;
  return tie;
}

namespace {

Result<std::vector<SizeTie>> read_ties(const OriginalArguments& a) {
  std::vector<SizeTie> ties;
  double belt_mm = 0;
  if (const auto ok = refuse_given({{"--belt", !a.belt.empty() && a.ties.empty()}}, "needs --tie in a set");
      !ok)
    return ok.error();
  if (!a.belt.empty()) {
    const auto t = parse_length_mm(a.belt, bare_unit(a.common));
    if (!t) return in_option("--belt", t.error());
    belt_mm = *t;
  }
  for (const std::string& text : a.ties) {
    auto tie = parse_tie(text, belt_mm);
    if (!tie) return tie.error();
    ties.push_back(std::move(*tie));
  }
  return ties;
}

}  // namespace

Result<SetResult> infer_asked_set(const OriginalArguments& a) {
  if (const auto ok = check_set_options(a); !ok) return ok.error();
  OriginalArguments plain = a;
  plain.belt.clear();
  const auto common = read_options(plain);
  if (!common) return common.error();
  const auto ties = read_ties(a);
  if (!ties) return ties.error();
  const auto names = part_names(a.parts);
  std::vector<SetPart> parts;
  std::vector<std::string> used, asked = a.worn;
  std::vector<std::vector<Warning>> of_records(a.parts.size());
  for (std::size_t i = 0; i < a.parts.size(); ++i) {
    auto part = set_part(a.parts[i], names[i], a, *common, *ties, used, of_records[i]);
    if (!part) return part.error();
    parts.push_back(std::move(*part));
  }
  asked.insert(asked.end(), a.on_metal.begin(), a.on_metal.end());
  for (const SizeEvidence& e : common->evidence) asked.push_back(e.feature);
  if (!a.about.empty()) asked.push_back(a.about);
  for (const std::string& name : asked)
    if (std::find(used.begin(), used.end(), name) == used.end())
      return Error{ErrorCode::kBadArgument,
                   "found the feature name '" + name + "', needed one that a part of the set has"};
  SetOptions options;
  options.same_drawing = a.same_drawing;
  options.ties = *ties;
  options.p_metric = common->p_metric;
  options.confidence_ratio = common->confidence_ratio;
  options.grids = common->grids;
  options.habits_known = !a.grids.empty();
  if (a.own_batches) options.likeness = {0};
  Progress progress(fmt::format("weighing the sizes of {} parts", parts.size()), 1,
                    a.common.quiet || a.common.json == "-");
  options.on_progress = [&](double ratio) { progress.done_ratio(ratio); };
  auto set = infer_set(parts, options);
  progress.wipe();
  if (!set) return set.error();
  for (std::size_t i = 0; i < of_records.size(); ++i) {
    auto& warnings = set->parts[i].original.warnings;
    warnings.insert(warnings.begin(), of_records[i].begin(), of_records[i].end());
  }
  return set;
}

}  // namespace rondure::cli
