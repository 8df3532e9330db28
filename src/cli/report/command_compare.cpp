// rondure compare A.json B.json
#include <algorithm>
#include <iostream>
#include <memory>

#include "cli/report/compare_set.hpp"
#include "cli/report/input_limit.hpp"
#include "cli/terminal/command.hpp"
#include "cli/terminal/paint.hpp"
#include "cli/terminal/text_words.hpp"
#include "rondure/interpret/compare.hpp"
#include "rondure/plan/planned_sizes.hpp"
#include "rondure/record/comparison_json.hpp"
#include "rondure/record/filled_sheet.hpp"
#include "rondure/record/part_record.hpp"
#include "rondure/record/profile_section.hpp"
#include "rondure/record/set_json.hpp"
#include "rondure/report/comparison_text.hpp"
#include "rondure/report/profile_wear_text.hpp"

namespace rondure::cli {
namespace {

struct CompareArguments {
  std::string a;
  std::vector<std::string> others;
  std::string same_drawing, tolerance, against = "auto", turn, json, unit = "mm";
  bool quiet = false, all = false, fail_outside = false;
};

Error in_file(const Error& error, const std::string& file) {
  return {error.code, "'" + file + "', " + error.detail};
}

// The second file: a part record, or the check sheet of the plan in the first.
struct Second {
  PartRecord record;
  bool is_sheet = false;
  std::map<std::string, PlannedLimits> sheet_limits;
};

bool looks_like_record(const std::string& text) {
  const auto first = text.find_first_not_of(" \t\r\n");
  return first == std::string::npos || text[first] == '{' || text[first] == '[';
}

Result<Second> read_second(const std::string& file, const plan::PlannedSizes& plan) {
  const auto text = read_file(file, kInputLimitBytes);
  if (!text) return text.error();
  if (looks_like_record(*text)) {
    auto record = parse_part_record(*text);
    if (!record) return in_file(record.error(), file);
    return Second{*std::move(record), false, {}};
  }
  auto sheet = parse_filled_sheet(*text, plan.u_mm);
  if (!sheet) return in_file(sheet.error(), file);
  Second second;
  second.is_sheet = true;
  second.record.features = std::move(sheet->features);
  second.sheet_limits = std::move(sheet->limits);
  return second;
}

std::string label(const std::string& file, const PartRecord& record) {
  std::string latest;
  for (const Feature& f : record.features) latest = std::max(latest, f.source.time);
  return file + (latest.empty() ? "" : ", measured " + latest.substr(0, 10));
}

Result<void> read_options(const CompareArguments& arguments, CompareOptions& options) {
  if (!arguments.tolerance.empty()) {
    const auto mm =
        parse_length_mm(arguments.tolerance, parse_unit(arguments.unit).value_or(LengthUnit::kMm));
    if (!mm) return mm.error();
    if (*mm <= 0)
      return Error{ErrorCode::kBadArgument, "--tolerance is " + arguments.tolerance + ", needed more than 0"};
    options.tolerance_mm = *mm;
  }
  if (arguments.turn == "auto") {
    options.find_turn = true;
  } else if (!arguments.turn.empty()) {
    std::string text = arguments.turn;
    if (text.ends_with("deg")) text.resize(text.size() - 3);
    const auto angle_deg = parse_number(text);
    if (!angle_deg || std::abs(*angle_deg) > 360)
      return Error{ErrorCode::kBadArgument,
                   "found --turn '" + arguments.turn + "', needed auto or an angle such as 90deg"};
    options.turn_rad = rad(*angle_deg);
  }
  return {};
}

// Whether B is the old part once more, or the replacement that was planned: whose sizes it is nearer to. Takes
// the plan away for the old part, and says what was done. A --tolerance is for the difference of two
// measurements, so with one the plan does not judge.
std::optional<Warning> same_part_note(const PartRecord& a, const PartRecord& b, CompareOptions& options) {
  double to_a_mm = 0, to_plan_mm = 0;
  for (const Feature& fb : b.features) {
    const auto planned = options.planned.find(fb.name);
    const auto fa = std::ranges::find(a.features, fb.name, &Feature::name);
    if (!fb.circle || planned == options.planned.end() || fa == a.features.end() || !fa->circle) continue;
    to_a_mm += std::abs(fb.circle->diameter_mm - fa->circle->diameter_mm);
    to_plan_mm += std::abs(fb.circle->diameter_mm - planned->second.target_mm);
  }
  if (options.tolerance_mm) {
    options.planned.clear();
    return Warning{"plan-not-used",
                   "B - A is held against --tolerance; the plan in the record does not judge it (say "
                   "--against plan for the copy of the plan)"};
  }
  if (to_a_mm < to_plan_mm) {
    options.planned.clear();
    return Warning{"plan-not-used",
                   "B's sizes are nearer to those of A than to the plan's: taken for the same part once "
                   "more, not for the replacement (say --against plan if it is the replacement)"};
  }
  return Warning{
      "plan-used",
      "B's sizes are nearer to the plan's than to those of A: taken for the replacement and judged "
      "by the plan (say --against other if it is the same part)"};
}

// Several parts, or the answer of a set: not two dates of one part, but which of equal parts has worn most.
std::optional<int> compare_several(const CompareArguments& arguments) {
  const bool one = arguments.others.empty();
  if (one) {
    const auto text = read_file(arguments.a, kInputLimitBytes);
    if (!text) return report_error(text.error());
    if (!is_set_json(*text))
      return report_usage("compare: needed a second record beside '" + arguments.a + "'");
  }
  if (!one && arguments.others.size() == 1 && arguments.same_drawing.empty()) return std::nullopt;
  for (const auto& [option, text] :
       {std::pair("--tolerance", &arguments.tolerance), {"--turn", &arguments.turn}})
    if (!text->empty())
      return report_usage(std::string("compare: ") + option +
                          " is about one part at two dates, needed two records");
  WearQuestion question{{arguments.a},  arguments.same_drawing, arguments.against == "plan",
                        arguments.json, arguments.unit,         arguments.quiet};
  question.files.insert(question.files.end(), arguments.others.begin(), arguments.others.end());
  return compare_wear(question);
}

// Of two side views; empty where one has none.
std::vector<SurfaceWear> surfaces_of(const PartRecord& a, const PartRecord& b) {
  if (!a.profile || !b.profile) return {};
  return compare_profiles(*a.profile, *b.profile);
}

int compare(const CompareArguments& arguments) {
  if (const auto done = compare_several(arguments)) return *done;
  const std::string& b_file = arguments.others.front();
  CompareOptions options;
  if (const auto read = read_options(arguments, options); !read) return report_error(read.error());
  const auto a = load_part_record(arguments.a);
  if (!a) return report_error(a.error());
  auto plan = plan::planned_sizes(*a);
  const auto b = read_second(b_file, plan);
  if (!b) return report_error(b.error());
  std::optional<Warning> note;
  if (arguments.against != "other") {
    // the plan stands in A when B is the copy; a copy's record may carry it as well
    if (plan.limits.empty()) plan = plan::planned_sizes(b->record);
    options.planned = plan.limits;
    for (const auto& [name, limits] : b->sheet_limits) options.planned[name] = limits;
  }
  if (arguments.against == "plan" && options.planned.empty())
    return report_usage("--against plan: found no plan in " + arguments.a + " nor in " + b_file +
                        ", needed one (rondure plan --save)");
  if (arguments.against == "auto" && !b->is_sheet && !options.planned.empty())
    note = same_part_note(*a, b->record, options);
  if (arguments.against == "plan" && options.tolerance_mm && !options.planned.empty())
    note = Warning{"tolerance-not-used",
                   "--tolerance judges only sizes that the plan does not: it has the limits"};
  options.another_piece = b->is_sheet;
  auto comparison = compare_features(a->features, b->record.features, options);
  if (!comparison) return report_error(comparison.error(), arguments.a + ", " + b_file);
  if (note) comparison->warnings.insert(comparison->warnings.begin(), *note);

  const std::vector<SurfaceWear> surfaces = surfaces_of(*a, b->record);
  const std::string json = comparison_json(*comparison, arguments.a, b_file, surfaces);
  if (arguments.json == "-")
    std::cout << json;
  else if (!arguments.json.empty())
    if (const auto written = write_file_atomically(arguments.json, json); !written)
      return report_error(written.error());
  if (!arguments.quiet && arguments.json != "-")
    std::cout << comparison_text(*comparison, label(arguments.a, *a), label(b_file, b->record),
                                 text_options(arguments.unit, arguments.all))
              << profile_wear_text(surfaces, text_options(arguments.unit, arguments.all));
  const int written = finish_output();
  const bool outside = std::ranges::any_of(comparison->features, [](const FeatureComparison& f) {
    return f.decision && f.decision->verdict == Conformity::kOutside;
  });
  return written == kDone && outside && arguments.fail_outside ? kOutsideLimits : written;
}

}  // namespace

void add_compare(CLI::App& program, Action& action) {
  auto arguments = std::make_shared<CompareArguments>();
  CLI::App& command = *program.add_subcommand(
      "compare",
      "Compares the same part at two dates, before and after, or the copy with the original and its plan.");
  command
      .add_option("A", arguments->a, "part record: the earlier one, the original, or the one with the plan")
      ->required()
      ->type_name("A.json");
  command
      .add_option("B", arguments->others,
                  "part record: the later one or the copy; or the filled-in check sheet (CSV). Several, or "
                  "an A that is "
                  "the answer of a set: which of these equal parts has worn most")
      ->type_name("B.json");
  command
      .add_option("--same-drawing", arguments->same_drawing,
                  "equal parts: the surface to compare (default: those their records mark as the same, or "
                  "the first outside or bore that all have)")
      ->type_name("NAME");
  command
      .add_option(
          "--tolerance", arguments->tolerance,
          "difference that is allowed, either way; gives within, outside or cannot tell (ISO 14253-1)")
      ->type_name("LENGTH");
  command
      .add_option(
          "--against", arguments->against,
          "plan: B's sizes in the limits of the plan; other: ignore plans; auto: the plan when B is nearer "
          "to it than to A")
      ->capture_default_str()
      ->check(CLI::IsMember({"auto", "plan", "other"}));
  command
      .add_option("--turn", arguments->turn,
                  "B lay turned counter-clockwise by this; auto: found from the shapes")
      ->type_name("ANGLE|auto");
  command.add_option("--unit", arguments->unit, "unit of bare numbers: mm, in or thou")
      ->capture_default_str()
      ->check(CLI::IsMember({"mm", "in", "thou", "um"}));
  command.add_option("--json", arguments->json, "write the comparison as JSON; - = standard output")
      ->type_name("FILE");
  command.add_flag("--quiet", arguments->quiet, "no text on standard output");
  command.add_flag("--all", arguments->all, "every figure");
  command.add_flag("--fail-outside", arguments->fail_outside,
                   "exit status 3 when a size lies outside what is allowed");
  command.footer(
      "Example: the same roller in 2014 and in 2026\n  rondure compare "
      "images-demo/two-dates/roller-2014.json "
      "images-demo/two-dates/roller-2026.json --tolerance 0.02mm\n"
      "Example: which of six equal idlers has worn most\n  rondure compare images-demo/idlers/idler-1.json "
      "images-demo/idlers/idler-2.json images-demo/idlers/idler-3.json");
  command.callback([arguments, &action] { action = [arguments] { return compare(*arguments); }; });
}

}  // namespace rondure::cli
