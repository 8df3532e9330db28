// rondure add PART.json NAME SIZE... : calliper and micrometer readings straight into the record.
#include <algorithm>
#include <cmath>
#include <iostream>
#include <memory>

#include "cli/terminal/command.hpp"
#include "cli/terminal/text_words.hpp"
#include "rondure/fit/distributions.hpp"
#include "rondure/interpret/original.hpp"
#include "rondure/interpret/outline.hpp"
#include "rondure/readings/reading_line.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure::cli {
namespace {

struct AddArguments {
  CommonOptions common;
  std::string record, name, same;
  std::vector<std::string> sizes, angles;
  PartFacts facts;
  bool all = false;
};

// What an instrument in good order, read with care, is good for, by the digits it shows (common practice, no source).
constexpr double kCalliper_mm = 0.01, kMicrometer_mm = 0.002;
constexpr double kRuleStep_mm = 25.4 / 32;    // a rule's marks, or half of its 16ths
constexpr double kMicrometerStep_mm = 0.005;  // a calliper shows no finer ones

// Not told: the instrument's, or the rounding to the last digit typed where that is more.
double unstated_u_mm(const std::string& text, LengthUnit unit) {
  // A fraction of an inch is read from a rule, to a 32nd or better whatever its denominator.
  const bool fraction = text.find('/') != std::string::npos && text.find("+/-") == std::string::npos;
  const double step_mm =
      fraction ? std::min(typed_step_mm(text, unit), kRuleStep_mm) : typed_step_mm(text, unit);
  return std::max(step_mm <= kMicrometerStep_mm ? kMicrometer_mm : kCalliper_mm, step_mm / std::sqrt(12.0));
}

struct TypedSizes {
  std::vector<Estimate> sizes_mm;
  std::vector<double> at_rad;  // one a size, or none
  double u_assumed_mm = 0;     // the largest that was assumed; 0 = all were told
};

Result<double> parse_angle_rad(const std::string& text) {
  const auto angle = parse_number(text.ends_with("deg") ? text.substr(0, text.size() - 3) : text);
  if (!angle || std::abs(*angle) > 360)
    return Error{ErrorCode::kBadArgument,
                 "--at: found '" + text.substr(0, 40) + "', needed degrees such as 45"};
  return rad(*angle);
}

Result<TypedSizes> read_sizes(const AddArguments& a) {
  TypedSizes out;
  for (const std::string& text : a.sizes) {
    auto size = parse_length_with_u_mm(text, bare_unit(a.common));
    if (!size) return Error{size.error().code, "size: " + size.error().detail};
    if (!(size->value > 0 && size->value <= 10000 && size->u >= 0 && size->u < size->value))
      return Error{ErrorCode::kBadLength,
                   "size: found '" + text.substr(0, 40) + "', needed more than 0 and up to 10 m"};
    if (size->u == 0) {
      size->u = unstated_u_mm(text, bare_unit(a.common));
      out.u_assumed_mm = std::max(out.u_assumed_mm, size->u);
    }
    out.sizes_mm.push_back(*size);
  }
  for (const std::string& text : a.angles) {
    const auto at = parse_angle_rad(text);
    if (!at) return at.error();
    out.at_rad.push_back(*at);
  }
  if (!out.at_rad.empty() && out.at_rad.size() != out.sizes_mm.size())
    return Error{ErrorCode::kBadArgument, "--at: found " + std::to_string(out.at_rad.size()) +
                                              " angles for " + std::to_string(out.sizes_mm.size()) +
                                              " sizes, needed one for each"};
  return out;
}

// Readings at unknown places: their mean. The instrument's own error is common to all of them; what they scatter
// beyond it is form seen at random places, so their mean is known by Student's law.
Feature mean_of(const TypedSizes& typed, FeatureKind kind) {
  const auto n = static_cast<double>(typed.sizes_mm.size());
  double mean = 0, u_own = 0, ssq = 0, lo = typed.sizes_mm[0].value, hi = lo;
  for (const Estimate& e : typed.sizes_mm) {
    mean += e.value / n;
    u_own = std::max(u_own, e.u);
    lo = std::min(lo, e.value), hi = std::max(hi, e.value);
  }
  for (const Estimate& e : typed.sizes_mm) ssq += (e.value - mean) * (e.value - mean);
  const double u_mean = n > 1 ? std::sqrt(ssq / (n - 1) / n) : 0;
  Feature f;
  f.kind = kind;
  f.points.count = f.points.used = static_cast<int>(typed.sizes_mm.size());
  const double u = std::hypot(u_own, u_mean);
  // Degrees of freedom after Welch and Satterthwaite (GUM G.4.1); the instrument's are without end.
  const double dof = u_mean > 0 ? (n - 1) * std::pow(u / u_mean, 4) : 1e6;
  const double k = student_quantile_two_sided(0.05, std::min(dof, 1e6));
  f.circle = CircleResult{mean, u, {}, 0, Interval{std::max(mean - k * u, 0.0), mean + k * u}};
  f.verdict = OutlineForm::kUndecided;
  f.budget.push_back({UncertaintySource::kReading, u_own});
  if (u_mean > 0) f.budget.push_back({UncertaintySource::kReadingScatter, u_mean});
  SizesResult sizes;
  sizes.lp_max = hi, sizes.lp_min = lo, sizes.lp_range = hi - lo;
  f.sizes = sizes;
  const double p = n > 1 ? chi2_upper_p(ssq / (u_own * u_own), n - 1) : 1;
  if (p < 0.05)
    f.warnings.push_back(
        {"readings-differ", "the readings differ by " + mm_and_inch(hi - lo) +
                                ", more than their uncertainty explains: out of round or slipped. "
                                "With three readings or more and --at ANGLE for each the ovality is found"});
  return f;
}

Result<Feature> feature_of(const TypedSizes& typed, FeatureKind kind) {
  if (!kind.is_running_surface() || (typed.at_rad.empty() && typed.sizes_mm.size() > 1))
    return mean_of(typed, kind);
  OutlineOptions options;
  for (std::size_t i = 0; i < typed.sizes_mm.size(); ++i)
    options.others.push_back({OutlineReading::Kind::kTwoPoint,
                              typed.sizes_mm[i],
                              {},
                              typed.at_rad.empty() ? 0 : typed.at_rad[i],
                              0});
  return measure_outline(std::span<const MeasuredPoint>{}, options);
}

// A typed size never replaces what was measured from a file.
Result<bool> name_is_free(const AddArguments& a) {
  const auto record = load_part_record(a.record);
  if (!record) {
    if (record.error().code == ErrorCode::kFileMissing) return false;
    return record.error();
  }
  const auto there = std::ranges::find(record->features, a.name, &Feature::name);
  if (there == record->features.end()) return false;
  if (there->source.type == SourceType::kTwoPoint && there->source.file.empty()) return true;
  return Error{ErrorCode::kBadArgument,
               "'" + a.record + "' already holds '" + a.name + "'" +
                   (there->source.file.empty() ? "" : ", from " + there->source.file) +
                   "; nothing was written. Needed another name"};
}

int run(const AddArguments& given) {
  AddArguments a = given;
  if (a.common.kind.empty()) a.common.kind = "outside";
  const auto kind = FeatureKind::parse(a.common.kind);
  if (!kind)
    return report_usage("--kind: found '" + a.common.kind.substr(0, 40) + "', needed " + FeatureKind::kWords);
  if (a.name.empty()) return report_usage("add: needed a name for the feature, such as shaft");
  auto typed = read_sizes(a);
  if (!typed) return report_error(typed.error());
  if (*kind == FeatureKind::kArc)  // typed by its radius, as it is drawn; kept as a diameter
    for (Estimate& e : typed->sizes_mm) e.value *= 2, e.u *= 2;
  const auto replaces = name_is_free(a);
  if (!replaces) return report_error(replaces.error());
  auto feature = feature_of(*typed, *kind);
  if (!feature) return report_error(feature.error());
  feature->source.type = SourceType::kTwoPoint;
  if (typed->u_assumed_mm > 0)
    feature->warnings.push_back(
        {"uncertainty-assumed",
         "no uncertainty was typed: " + LengthWords(bare_unit(a.common)).both_at(typed->u_assumed_mm, 3) +
             " is taken, by the digits: 0.01 mm for a calliper, 0.002 mm where a "
             "micrometer's digits stand, more where "
             "fewer are typed; if you know better, type 3.000mm+-0.002mm"});
  if (*replaces && !a.common.quiet && a.common.json != "-")
    std::cout << "'" << a.name << "' was there already: replaced (the record before is in " << a.record
              << ".bak)\n";
  a.common.save = a.record;
  a.common.feature = a.name;
  if (const int delivered = deliver({*feature}, a.common, a.all);
      delivered != kDone || !(a.facts.said() || !a.same.empty()))
    return delivered;
  const auto said = update_part_record(a.record, [&](PartRecord& record) -> Result<void> {
    if (a.facts.said()) put_facts(record, a.facts);
    if (!a.same.empty()) put_same(record, a.name, a.same);
    return {};
  });
  return said ? kDone : report_error(said.error());
}

}  // namespace

void add_add(CLI::App& program, Action& action) {
  auto a = std::make_shared<AddArguments>();
  CLI::App* c =
      program.add_subcommand("add", "Adds calliper or micrometer readings of one feature to a part record.");
  c->add_option("record", a->record, "the part record, created if missing")
      ->required()
      ->type_name("PART.json");
  c->add_option("name", a->name, "name of the feature, e.g. shaft")->required()->type_name("NAME");
  c->add_option("sizes", a->sizes,
                "diameters or widths, an arc by its radius; +-U gives the standard uncertainty")
      ->required()
      ->type_name("SIZE...");
  c->add_option("--at", a->angles,
                "direction of each reading, degrees; with three or more the ovality is found")
      ->type_name("ANGLE...");
  c->add_option("--kind", a->common.kind,
                "what it is: outside (unless given), bore, bore-on-metal, width, arc, metal")
      ->type_name("KIND");
  c->add_option("--same", a->same,
                "names the drawing: features with the same word, of any part, were drawn the same size")
      ->type_name("WORD");
  c->add_option("--unit", a->common.unit, "unit of bare numbers: mm, in or thou")
      ->type_name("UNIT")
      ->capture_default_str()
      ->check(CLI::IsMember({"mm", "in", "thou", "um"}));
  c->add_option("--material", a->common.material, "material of the part, e.g. POM-C")->type_name("NAME");
  c->add_option("--json", a->common.json, "write the feature as a part record (JSON); - = standard output")
      ->type_name("FILE");
  c->add_flag("--quiet", a->common.quiet, "no text on standard output");
  c->add_flag("--all", a->all, "every figure, not only four lines");
  add_part_facts(*c, a->facts);
  c->footer(
      "Example: the steel shaft, and an outside diameter in three directions\n"
      "  rondure add part.json shaft 0.1875in+-0.0002in --kind metal\n"
      "  rondure add part.json drum 12.44mm 12.41mm 12.47mm --at 0 60 120");
  c->callback([a, &action] { action = [a] { return run(*a); }; });
}

}  // namespace rondure::cli
