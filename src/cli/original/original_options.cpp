// From the words of the command line to the options of the inference.
#include <cmath>
#include <cstdio>

#include "cli/original/original_arguments.hpp"
#include "cli/original/original_values.hpp"

namespace rondure::cli {
namespace {

Result<std::optional<DriveCheck>> read_drive(const OriginalArguments& a, LengthUnit bare) {
  if (a.mating.empty() && a.ratio.empty() && a.surface_speed.empty() && a.turns.empty() &&
      a.mating_turns.empty()) {
    if (const auto ok = refuse_given({{"--belt", !a.belt.empty()}, {"--drive", !a.drive.empty()}},
                                     "needs --mating and --ratio, or --surface-speed and --turns");
        !ok)
      return ok.error();
    return std::optional<DriveCheck>{};
  }
  const bool by_belt = !a.mating.empty() &&
                       a.ratio.empty() &&  // a belt's speed from the mating pulley, or asked of it
                       (!a.mating_turns.empty() || (!a.surface_speed.empty() && a.turns.empty()));
  if (!by_belt && (!a.mating.empty() || !a.ratio.empty()) && (!a.surface_speed.empty() || !a.turns.empty()))
    return Error{ErrorCode::kBadArgument,
                 "found two drives, needed one: --mating and --ratio, or --surface-speed and --turns"};
  DriveCheck check;
  if (!a.belt.empty()) {
    const auto t = parse_length_mm(a.belt, bare);
    if (!t) return in_option("--belt", t.error());
    check.belt_mm = *t;
  }
  if (!a.mating.empty()) {
    const auto m = parse_length_with_u_mm(a.mating, bare);
    if (!m) return in_option("--mating", m.error());
    check.mating_mm = *m;
  }
  if (!a.ratio.empty()) {
    const auto i = parse_value_with_u(a.ratio, "--ratio");
    if (!i) return i.error();
    check.ratio = *i;
  }
  if (!a.surface_speed.empty()) {
    const auto v = parse_speed_mm_s(a.surface_speed, bare);
    if (!v) return v.error();
    check.surface_speed_mm_s = *v;
  }
  if (!a.turns.empty()) {
    const auto n = parse_value_with_u(a.turns, "--turns");
    if (!n) return n.error();
    check.turns_per_second = Estimate{n->value / 60, n->u / 60};
  }
  if (!a.mating_turns.empty()) {
    const auto n = parse_value_with_u(a.mating_turns, "--mating-turns");
    if (!n) return n.error();
    if (!check.mating_mm || !check.turns_per_second || check.ratio)
      return Error{
          ErrorCode::kBadArgument,
          "--mating-turns needs --mating and --turns of this part, and no --ratio: the belt's speed comes "
          "from the mating pulley"};
    const double own = check.turns_per_second->value * 60;
    check.ratio =
        Estimate{own / n->value,
                 own / n->value *
                     std::hypot(n->u / n->value, check.turns_per_second->u / check.turns_per_second->value)};
  } else if (check.mating_mm && check.surface_speed_mm_s && !check.ratio && !check.turns_per_second) {
    const double mating_rpm =
        60 * check.surface_speed_mm_s->value / (kPi * (check.mating_mm->value + check.belt_mm));
    char text[200];
    std::snprintf(
        text, sizeof text,
        "at this belt speed the mating pulley turns %.4g times a minute; needed too: how this part turns, "
        "--ratio, its turns for one of the mating pulley, or --turns",
        mating_rpm);
    return Error{ErrorCode::kBadArgument, text};
  }
  return std::optional(check);
}

}  // namespace

Error in_option(const char* option, const Error& error) {
  return {error.code, std::string(option) + ": " + error.detail};
}

Result<OriginalOptions> read_options(const OriginalArguments& a) {
  const LengthUnit bare = bare_unit(a.common);
  OriginalOptions o;
  const auto drive = read_drive(a, bare);
  if (!drive) return drive.error();
  o.drive = *drive;
  o.drive_feature = a.drive;
  o.material = a.common.material;
  o.p_metric = a.metric_prior;
  o.may_be_worn = a.worn;
  o.about = a.about;
  const auto confidence = parse_confidence(a.confidence);
  if (!confidence) return confidence.error();
  o.confidence_ratio = *confidence;
  if (!a.shrinkage.empty()) {
    const auto s = parse_ratio_with_u(a.shrinkage);
    if (!s) return in_option("--shrinkage", s.error());
    o.shrinkage = *s;
  }
  if (!a.crack_gap.empty()) {
    const auto gap = parse_length_with_u_mm(a.crack_gap, bare);
    if (!gap) return in_option("--crack-gap", gap.error());
    o.crack_gap_mm = *gap;
  }
  if (!a.shape.empty()) o.shape = parse_shape(a.shape);
  auto grids = read_grids(a.grids);
  if (!grids) return grids.error();
  o.grids = std::move(*grids);
  for (const std::string& text : a.evidence) {
    const auto parts = name_and_value(text, "NAME=SIZE+-U such as 'outside=12.30mm+-0.15mm'");
    if (!parts) return in_option("--evidence", parts.error());
    const auto size = parse_length_with_u_mm(parts->second, bare);
    if (!size) return in_option("--evidence", size.error());
    o.evidence.push_back({parts->first, *size, "stated " + parts->second});
  }
  for (const std::string& text : a.could_measure) {
    const auto m = parse_possible(text, bare);
    if (!m) return m.error();
    o.could_measure.push_back(*m);
  }
  return o;
}

std::vector<std::string> named_features(const OriginalArguments& a, const OriginalOptions& read) {
  std::vector<std::string> names;
  for (const auto& list : {a.worn, a.on_metal, a.same_drawing})
    names.insert(names.end(), list.begin(), list.end());
  for (const SizeEvidence& e : read.evidence) names.push_back(e.feature);
  for (const std::string& name : {a.about, a.drive})
    if (!name.empty()) names.push_back(name);
  return names;
}

}  // namespace rondure::cli
