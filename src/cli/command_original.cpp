#include <algorithm>
#include <cmath>
#include <iostream>
#include <memory>

#include "command.hpp"
#include "original_set.hpp"
#include "paint.hpp"
#include "rondure/interpret/learned_grids.hpp"
#include "rondure/interpret/original.hpp"
#include "rondure/measure/record_sizes.hpp"
#include "rondure/readings/sizes_file.hpp"
#include "rondure/record/part_record.hpp"
#include "rondure/record/set_json.hpp"
#include "rondure/report/original_text.hpp"
#include "rondure/report/set_text.hpp"

namespace rondure::cli {
namespace {

struct OriginalArguments {
  CommonOptions common;
  std::vector<std::string> parts;
  std::string sizes, shrinkage, grids, crack_gap, shape, about;
  double metric_prior = 0.5;
  std::string confidence = "80%";
  std::string mating, belt, ratio, surface_speed, turns, drive;
  std::vector<std::string> evidence, worn, on_metal, could_measure, same_drawing, ties;
  std::string learn;
};

constexpr const char* kExplanation =
    "The likely original (drawing) sizes of a part, all its features together.\n\n"
    "Only shrinkage AFTER moulding stands between an old part and its drawing. The moulding shrinkage of the "
    "data\n"
    "sheets (about 2 % for acetal) was cut into the mould: never undo it.\n";
constexpr const char* kExamples =
    "Examples\n"
    "  rondure original --sizes images-demo/roller_sizes.csv --material POM-C\n"
    "  rondure original images-demo/two-dates/roller-2026.json --on-metal bore\n"
    "  rondure original images-demo/idlers/idler-1.json images-demo/idlers/idler-2.json --same-drawing "
    "outside\n"
    "SIZES.csv has the header name,kind,size,u,unit[,u_made][,minor]. Kinds: outside, bore, bore-on-metal "
    "(sat on its\n"
    "metal shaft while it aged), width, arc (give the RADIUS), metal (the shaft itself). u: standard "
    "uncertainty of the\n"
    "measuring; minor: smallest diameter of an oval part whose largest is size.\n";

Error in_option(const char* option, const Error& error) {
  return {error.code, std::string(option) + ": " + error.detail};
}

SizeObservation from_line(const SizeLine& line) {
  SizeObservation o{line.name, line.kind, line.size_mm, line.u_mm, line.u_made_mm, {}, 0};
  if (line.minor_mm && *line.minor_mm < line.size_mm) {
    o.size_mm = (line.size_mm + *line.minor_mm) / 2;
    o.ovality_mm = line.size_mm - *line.minor_mm;
    o.u_ovality_mm = std::sqrt(2.0) * line.u_mm;
  }
  return o;
}

Result<std::vector<SizeObservation>> sizes_from_file(const std::string& file, LengthUnit bare) {
  const auto text = read_file(file, 16u << 20);
  if (!text) return text.error();
  const auto lines = parse_sizes(*text, bare);
  if (!lines) return Error{lines.error().code, file + ": " + lines.error().detail};
  std::vector<SizeObservation> sizes;
  for (const SizeLine& line : *lines) sizes.push_back(from_line(line));
  return sizes;
}

// "NAME=VALUE" with the value after the last '='.
Result<std::pair<std::string, std::string>> name_and_value(const std::string& text, const char* needed) {
  const auto at = text.rfind('=');
  if (at == std::string::npos || at == 0 || at + 1 == text.size())
    return Error{ErrorCode::kBadArgument, "found '" + text.substr(0, 60) + "', needed " + needed};
  return std::pair(text.substr(0, at), text.substr(at + 1));
}

Result<double> parse_confidence(const std::string& text) {
  auto ratio = parse_ratio(text);
  if (ratio && *ratio > 1) ratio = *ratio / 100;  // "90" is meant as 90 %
  if (!ratio || !(*ratio > 0 && *ratio < 1))
    return Error{ErrorCode::kBadArgument,
                 "--confidence: found '" + text.substr(0, 40) + "', needed one such as 80%"};
  return *ratio;
}

// "NAME,KIND,ABOUT": a feature that could still be measured.
Result<PossibleMeasurement> parse_possible(const std::string& text, LengthUnit bare) {
  const auto first = text.find(','), second = text.find(',', first == std::string::npos ? first : first + 1);
  const Error bad{ErrorCode::kBadArgument, "--could-measure: found '" + text.substr(0, 60) +
                                               "', needed NAME,KIND,ABOUT such as 'hub,outside,6mm' or "
                                               "'hub,outside,6mm+-0.02mm'"};
  if (second == std::string::npos) return bad;
  PossibleMeasurement m;
  m.name = text.substr(0, first);
  m.kind = text.substr(first + 1, second - first - 1);
  const auto about = parse_length_with_u_mm(text.substr(second + 1), bare);
  if (!about || !is_original_kind(m.kind) || !(about->value > 0 && about->value <= 1000)) return bad;
  m.about_mm = about->value;
  if (about->u > 0) m.u_mm = about->u;
  return m;
}

// "2.45", "2.45+-0.02", "2.45+-1%": the uncertainty may be a share.
Result<Estimate> parse_value_with_u(const std::string& text, const char* option) {
  const Error bad{ErrorCode::kBadArgument, std::string(option) + ": found '" + text.substr(0, 40) +
                                               "', needed one such as '2.45+-1%'"};
  std::string value = text, u;
  for (const char* sign : {"+-", "+/-", "\u00b1"})
    if (const auto at = text.find(sign); at != std::string::npos) {
      value = text.substr(0, at);
      u = text.substr(at + std::string(sign).size());
      break;
    }
  const auto v = parse_number(value);
  if (!v || !(*v > 0)) return bad;
  if (u.empty()) return Estimate{*v, 0};
  const bool share = u.back() == '%';
  const auto spread = share ? parse_ratio(u) : parse_number(u);
  if (!spread || !(*spread >= 0)) return bad;
  return Estimate{*v, share ? *v * *spread : *spread};
}

// "47mm/s", "47mm/s+-1%", "1.85in/s": a length a second.
Result<Estimate> parse_speed_mm_s(const std::string& text, LengthUnit bare) {
  const Error bad{ErrorCode::kBadArgument,
                  "--surface-speed: found '" + text.substr(0, 40) + "', needed one such as '47.6mm/s+-1%'"};
  const auto slash = text.find('/');
  if (slash == std::string::npos) return bad;
  const auto length = parse_length_mm(text.substr(0, slash), bare);
  const std::string rest = text.substr(slash + 1);
  const double seconds = rest.starts_with("min") ? 60 : rest.starts_with("s") ? 1 : 0;
  if (!length || !(*length > 0) || seconds == 0) return bad;
  const std::string u = rest.substr(seconds == 60 ? 3 : 1);
  if (u.empty()) return Estimate{*length / seconds, 0};
  const auto scaled = parse_value_with_u("1" + u, "--surface-speed");
  if (!scaled || u.back() != '%') return bad;
  return Estimate{*length / seconds, *length / seconds * scaled->u};
}

Result<std::optional<DriveCheck>> read_drive(const OriginalArguments& a, LengthUnit bare) {
  if (a.mating.empty() && a.ratio.empty() && a.surface_speed.empty() && a.turns.empty()) {
    if (!a.belt.empty())
      return Error{ErrorCode::kBadArgument,
                   "--belt needs --mating and --ratio, or --surface-speed and --turns"};
    return std::optional<DriveCheck>{};
  }
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
  return std::optional(check);
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
  if (!a.grids.empty()) {
    const auto text = read_file(a.grids, 1u << 20);
    if (!text) return text.error();
    auto grids = parse_size_grids(*text);
    if (!grids) return Error{grids.error().code, a.grids + ": " + grids.error().detail};
    o.grids = std::move(*grids);
  }
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

Result<void> put_on_metal(std::vector<SizeObservation>& sizes, const std::vector<std::string>& names) {
  for (const std::string& name : names) {
    bool found = false;
    for (SizeObservation& o : sizes)
      if (o.name == name && (o.kind == "bore" || o.kind == "bore-on-metal"))
        o.kind = "bore-on-metal", found = true;
    if (!found)
      return Error{ErrorCode::kBadArgument, "--on-metal: found '" + name + "', needed the name of a bore"};
  }
  return {};
}

constexpr double kOvalBelow_p_round = 0.05;  // as record_sizes.cpp reads it back

// The largest and the smallest diameter of an oval feature, as typed.
void add_typed_oval(Feature& f, const SizeObservation& o) {
  EllipseResult e;
  e.major_diameter_mm = o.size_mm + *o.ovality_mm / 2;
  e.minor_diameter_mm = o.size_mm - *o.ovality_mm / 2;
  e.ovality_mm = *o.ovality_mm;
  e.u_ovality_mm = o.u_ovality_mm;
  e.p_round = o.u_ovality_mm > 0 ? std::erfc(e.ovality_mm / (o.u_ovality_mm * std::sqrt(2.0))) : 0.0;
  f.verdict = *e.p_round < kOvalBelow_p_round ? "oval" : "undecided";
  if (f.verdict == "oval") f.verdict_upr = 2;
  f.points.count = f.points.used = 2;
  f.ellipse = e;
}

// A record made from sizes typed by hand, so that a plan and a page can follow.
PartRecord record_of(const std::vector<SizeObservation>& sizes, const std::string& file) {
  PartRecord record;
  for (const SizeObservation& o : sizes) {
    Feature f;
    f.name = o.name;
    f.kind = o.kind;
    f.source = {"two-point", file, {}, {}, {}};
    const double share = o.kind == "arc" ? 2 : 1;
    const double d = share * o.size_mm, u = share * o.u_mm;
    f.circle = CircleResult{d, u, {}, 0, Interval{d - 1.96 * u, d + 1.96 * u}};
    f.points.count = f.points.used = 1;
    if (o.ovality_mm) add_typed_oval(f, o);
    record.features.push_back(std::move(f));
  }
  return record;
}

// What only one part can be asked.
Result<void> check_set_options(const OriginalArguments& a) {
  const auto refuse = [](const std::string& option) {
    return Error{ErrorCode::kBadArgument, option + " tells of one part, needed one record, not several"};
  };
  if (!a.sizes.empty()) return refuse("--sizes");
  if (!a.common.save.empty()) return refuse("--save");
  if (!a.crack_gap.empty()) return refuse("--crack-gap");
  if (!a.could_measure.empty()) return refuse("--could-measure");
  for (const auto& [option, text] : {std::pair("--mating", &a.mating),
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

Result<SetPart> set_part(const std::string& file, const std::string& name, const OriginalArguments& a,
                         const OriginalOptions& common, std::vector<std::string>& used) {
  const auto loaded = load_part_record(file);
  if (!loaded) return Error{loaded.error().code, file + ": " + loaded.error().detail};
  SetPart part{name, {}, common};
  auto measured = sizes_from_record(*loaded);
  if (!measured) return Error{measured.error().code, file + ": " + measured.error().detail};
  part.sizes = std::move(measured->sizes);
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

Result<SetResult> infer_parts(const OriginalArguments& a) {
  if (const auto ok = check_set_options(a); !ok) return ok.error();
  OriginalArguments plain = a;
  plain.belt.clear();
  const auto common = read_options(plain);
  if (!common) return common.error();
  const auto names = part_names(a.parts);
  std::vector<SetPart> parts;
  std::vector<std::string> used, asked = a.worn;
  for (std::size_t i = 0; i < a.parts.size(); ++i) {
    auto part = set_part(a.parts[i], names[i], a, *common, used);
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
  options.p_metric = common->p_metric;
  options.confidence_ratio = common->confidence_ratio;
  options.grids = common->grids;
  double belt_mm = 0;
  if (!a.belt.empty()) {
    const auto t = parse_length_mm(a.belt, bare_unit(a.common));
    if (!t) return in_option("--belt", t.error());
    belt_mm = *t;
  }
  for (const std::string& text : a.ties) {
    auto tie = parse_tie(text, belt_mm);
    if (!tie) return tie.error();
    options.ties.push_back(std::move(*tie));
  }
  return infer_set(parts, options);
}

// Writes what the metal sizes teach of the designer's grids. `grids_file`: the prior; empty = built in.
Result<void> learn(const std::vector<OriginalResult>& parts, const std::string& file,
                   const std::string& grids_file) {
  SizeGrids prior = builtin_size_grids();
  if (!grids_file.empty()) {
    const auto text = read_file(grids_file, 1u << 20);
    if (!text) return text.error();
    auto grids = parse_size_grids(*text);
    if (!grids) return Error{grids.error().code, grids_file + ": " + grids.error().detail};
    prior = std::move(*grids);
  }
  const auto learned = learn_grids(parts, prior);
  if (!learned) return Error{learned.error().code, "--learn: " + learned.error().detail};
  return write_file_atomically(file, grids_csv(*learned));
}

int run_set(const OriginalArguments& a) {
  const auto result = infer_parts(a);
  if (!result) return report_error(result.error());
  if (!a.learn.empty()) {
    std::vector<OriginalResult> parts;
    for (const SetPartResult& p : result->parts) parts.push_back(p.original);
    if (const auto ok = learn(parts, a.learn, a.grids); !ok) return report_error(ok.error());
  }
  if (a.common.json == "-") {
    std::cout << set_json(*result, a.parts);
  } else if (!a.common.json.empty()) {
    if (const auto written = write_file_atomically(a.common.json, set_json(*result, a.parts)); !written)
      return report_error(written.error());
  }
  if (!a.common.quiet && a.common.json != "-") std::cout << painted(set_text(*result));
  return finish_output();
}

// Into the record on disk: its other features stay; one of the same name that was measured otherwise is never
// replaced by a typed size.
Result<void> add_to_record(const std::string& file, const PartRecord& made, bool& replaced) {
  return update_part_record(file, [&](PartRecord& there) -> Result<void> {
    replaced = there.original.has_value();
    for (const Feature& f : made.features) {
      const auto same = std::ranges::find(there.features, f.name, &Feature::name);
      if (same == there.features.end())
        there.features.push_back(f);
      else if (same->source.file == f.source.file)
        *same = f;
      else
        return Error{ErrorCode::kBadArgument,
                     "'" + file + "' already holds '" + f.name + "', from " +
                         (same->source.file.empty() ? "another measurement" : same->source.file) +
                         "; nothing was written. Needed another name for it in the sizes, or another record"};
    }
    if (!made.material.empty()) there.material = made.material;
    there.original = made.original;
    return {};
  });
}

int run(const OriginalArguments& a) {
  if (a.parts.size() > 1) return run_set(a);
  if (!a.same_drawing.empty() || !a.ties.empty())
    return report_usage("original: --same-drawing and --tie need two part records or more");
  const std::string part = a.parts.empty() ? "" : a.parts.front();
  if (part.empty() == a.sizes.empty())
    return report_usage("original: needed either a part record (PART.json) or --sizes SIZES.csv");
  std::vector<Warning> warnings;
  std::vector<SizeObservation> sizes;
  PartRecord record;
  if (!part.empty()) {
    auto loaded = load_part_record(part);
    if (!loaded) return report_error(loaded.error(), part);
    record = std::move(*loaded);
    auto found = sizes_from_record(record);
    if (!found) return report_error(found.error(), part);
    sizes = std::move(found->sizes);
    warnings = std::move(found->warnings);
  } else {
    auto found = sizes_from_file(a.sizes, bare_unit(a.common));
    if (!found) return report_error(found.error());
    sizes = std::move(*found);
    record = record_of(sizes, a.sizes);
  }
  if (const auto ok = put_on_metal(sizes, a.on_metal); !ok) return report_error(ok.error());
  auto options = read_options(a);
  if (!options) return report_error(options.error());
  if (options->material.empty()) options->material = record.material;
  auto result = infer_original(sizes, *options);
  if (!result) return report_error(result.error());
  result->warnings.insert(result->warnings.begin(), warnings.begin(), warnings.end());

  if (!a.learn.empty())
    if (const auto ok = learn({*result}, a.learn, a.grids); !ok) return report_error(ok.error());

  const bool had_answer = record.original.has_value();
  record.material = options->material;
  record.original = *result;
  bool replaced = !part.empty() && had_answer;
  if (!a.common.save.empty()) {
    const auto saved = part.empty() ? add_to_record(a.common.save, record, replaced)
                                    : save_part_record(a.common.save, record);
    if (!saved) return report_error(saved.error());
  }
  if (a.common.json == "-") {
    std::cout << to_json(record);
  } else if (!a.common.json.empty()) {
    if (const auto written = write_file_atomically(a.common.json, to_json(record)); !written)
      return report_error(written.error());
  }
  if (!a.common.quiet && a.common.json != "-") {
    std::cout << painted(original_text(*result));
    if (!a.common.save.empty())
      std::cout << "\nsaved in " << a.common.save
                << (replaced ? ", in place of the answer that stood there" : "") << '\n';
  }
  return finish_output();
}

}  // namespace

void add_original(CLI::App& program, Action& action) {
  auto a = std::make_shared<OriginalArguments>();
  CLI::App* c = program.add_subcommand("original",
                                       "the likely original sizes, the shrinkage, and what to measure next");
  c->description(kExplanation);
  c->footer(kExamples);
  c->add_option("parts", a->parts, "part record with measured features; several: one machine, asked together")
      ->type_name("PART.json");
  c->add_option("--same-drawing", a->same_drawing,
                "the features of this name had one size on the drawing, in all the parts given")
      ->type_name("NAME")
      ->allow_extra_args(false);
  c->add_option("--tie", a->ties,
                "known ratio of two original sizes of the parts given, e.g. 'a:outside/b:outside=2.00+-0.01'")
      ->type_name("A:NAME/B:NAME=R+-U")
      ->allow_extra_args(false);
  c->add_option("--learn", a->learn, "writes size grids learned from the metal sizes given, for --grids")
      ->type_name("FILE.csv");
  c->add_option("--sizes", a->sizes, "sizes typed by hand instead of a record")->type_name("SIZES.csv");
  c->add_option("--shrinkage", a->shrinkage, "ageing shrinkage instead of the material's, e.g. '0.3%+-0.2%'")
      ->type_name("S+-U");
  c->add_option("--metric-prior", a->metric_prior, "chance of a metric drawing before anything is measured")
      ->type_name("P")
      ->check(CLI::Range(0.0, 1.0))
      ->capture_default_str();
  c->add_option("--confidence", a->confidence, "a size below this is called undecided")
      ->type_name("P")
      ->capture_default_str();
  c->add_option("--evidence", a->evidence, "what a mating part or a catalogue says: 'NAME=12.30mm+-0.15mm'")
      ->type_name("NAME=SIZE+-U")
      ->allow_extra_args(false);
  c->add_option("--ratio", a->ratio, "turns of this part for one turn of its mating pulley, e.g. 2.45+-1%")
      ->type_name("I+-U");
  c->add_option("--mating", a->mating, "diameter of the mating pulley, for --ratio")->type_name("D+-U");
  c->add_option("--surface-speed", a->surface_speed,
                "speed of film, belt or wheel rim that was wanted, e.g. 47mm/s+-1%")
      ->type_name("V+-U");
  c->add_option("--turns", a->turns, "turns a minute at that speed, for --surface-speed")
      ->type_name("RPM+-U");
  c->add_option("--belt", a->belt, "thickness of the belt or film between them (default 0)")->type_name("T");
  c->add_option("--drive", a->drive, "the feature that the drive runs on (default: the size in question)")
      ->type_name("NAME");
  c->add_option("--crack-gap", a->crack_gap,
                "gap at the bore of a hub cracked open on its shaft, e.g. 0.2mm+-0.02mm")
      ->type_name("GAP");
  c->add_option("--on-metal", a->on_metal, "this bore sat on its metal shaft while it aged")
      ->type_name("NAME")
      ->allow_extra_args(false);
  c->add_option("--worn", a->worn, "this round surface ran and may be worn all round")
      ->type_name("NAME")
      ->allow_extra_args(false);
  c->add_option("--shape", a->shape, "why an oval part is oval, when it is known: uneven, bent or worn")
      ->type_name("WHY")
      ->check(CLI::IsMember({"uneven", "bent", "worn"}));
  c->add_option("--about", a->about, "the size in question (default: the first outside diameter)")
      ->type_name("NAME");
  c->add_option("--could-measure", a->could_measure,
                "something the part could still offer: NAME,KIND,ABOUT, e.g. 'hub,outside,6mm'")
      ->type_name("NAME,KIND,ABOUT")
      ->allow_extra_args(false);
  c->add_option("--grids", a->grids, "your own size grids: system,grid,step_mm,weight")
      ->type_name("FILE.csv");
  add_common_options(*c, a->common);
  c->callback([a, &action] { action = [a] { return run(*a); }; });
}

}  // namespace rondure::cli
