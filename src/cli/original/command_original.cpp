#include <fmt/format.h>

#include <iostream>
#include <memory>

#include "cli/original/original_arguments.hpp"
#include "cli/original/original_set.hpp"
#include "cli/terminal/command.hpp"
#include "cli/terminal/paint.hpp"
#include "cli/terminal/text_words.hpp"
#include "rondure/core/csv_table.hpp"
#include "rondure/interpret/materials.hpp"
#include "rondure/measure/record_sizes.hpp"
#include "rondure/record/set_json.hpp"
#include "rondure/report/original_text.hpp"
#include "rondure/report/set_text.hpp"

namespace rondure::cli {
namespace {

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
    "measuring; minor: smallest diameter of an oval part whose largest is size.\n"
    "--grids FILE.csv says which sizes this designer writes, in place of the built-in grids. Header "
    "system,grid,step_mm,\n"
    "weight: metric or inch; a name; the step between its sizes in mm; how readily a size is taken from it "
    "(scaled to 1\n"
    "in each system; a system without a line is ruled out). Such as metric,half mm,0.5,0.7. --learn writes "
    "such a file\n"
    "from sizes of the kind metal: counts a line, and how far to trust them, in its first lines.\n";

int run_set(const OriginalArguments& a) {
  const auto result = infer_asked_set(a);
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
  if (!a.common.quiet && a.common.json != "-")
    std::cout << set_text(*result, text_options(a.common.unit, a.all));
  return finish_output();
}

// Every material that is known, the words people use for it, and how far it shrinks with age.
std::string materials_text() {
  const CsvTable& table = CsvTable::builtin("ageing_materials.csv");
  std::string text = "name        ages by          also called\n";
  for (std::size_t i = 0; i < table.rows(); ++i) {
    std::string words(table.text(i, "words"));
    for (std::size_t at = 0; (at = words.find('|', at)) != std::string::npos;) words.replace(at, 1, ", ");
    const std::string name(table.text(i, "abbrev"));
    const AgeingMaterial material = find_ageing_material(name);
    const std::string ages =
        material.metal ? "not at all"
        : material.ageing_percent.width() > 0
            ? fmt::format("{:.2g} to {:.2g} %", material.ageing_percent.lo, material.ageing_percent.hi)
            : fmt::format("about {:.2g} %", 100 * material.law.mean());
    text += wrapped(words, fmt::format("{:<11} {:<16} ", name, ages), std::string(29, ' '), line_width());
  }
  return text;
}

int run(const OriginalArguments& a) {
  if (a.materials) {
    std::cout << materials_text();
    return finish_output();
  }
  if (a.common.save.empty() && a.common.json.empty())
    if (const auto ok = refuse_given({{"--part", !a.facts.name.empty()},
                                      {"--mark", !a.facts.mark.empty()},
                                      {"--date", !a.facts.date.empty()},
                                      {"--note", !a.facts.note.empty()}},
                                     "is for the part record: needs --save or --json too");
        !ok)
      return report_error(ok.error());
  if (a.parts.size() > 1) return run_set(a);
  if (!a.same_drawing.empty() || !a.ties.empty() || a.own_batches)
    return report_usage("original: --same-drawing, --tie and --own-batches need two part records or more");
  const std::string part = a.parts.empty() ? "" : a.parts.front();
  if (part.empty() == a.sizes.empty())
    return report_usage("original: needed either a part record (PART.json) or --sizes SIZES.csv");
  auto options = read_options(a);
  if (!options) return report_error(options.error());
  std::vector<Warning> warnings;
  std::vector<SizeObservation> sizes;
  PartRecord record;
  if (!part.empty()) {
    auto loaded = load_part_record_or_input(part);
    if (!loaded) return report_error(loaded.error(), part);
    record = std::move(*loaded);
    auto found = sizes_from_record(record);
    if (!found) return report_error(found.error(), part);
    if (const auto ok = call_as_asked(*found, named_features(a, *options), false); !ok)
      return report_error(ok.error());
    sizes = std::move(found->sizes);
    warnings = std::move(found->warnings);
  } else {
    auto found = sizes_from_file(a.sizes, bare_unit(a.common));
    if (!found) return report_error(found.error());
    sizes = std::move(*found);
    record = record_of(sizes, a.sizes);
  }
  if (const auto ok = put_on_metal(sizes, a.on_metal); !ok) return report_error(ok.error());
  if (options->material.empty()) options->material = record.material;
  auto result = infer_original(sizes, *options);
  if (!result) return report_error(result.error());
  result->warnings.insert(result->warnings.begin(), warnings.begin(), warnings.end());

  if (!a.learn.empty())
    if (const auto ok = learn({*result}, a.learn, a.grids); !ok) return report_error(ok.error());

  const bool had_answer = record.original.has_value();
  const std::string as_read = part == "-" ? std::string() : record.preserved_json;
  if (a.facts.said()) put_facts(record, a.facts);
  record.material = options->material;
  record.original = *result;
  bool replaced = !part.empty() && had_answer;
  if (!a.common.save.empty()) {
    const auto saved = part.empty() ? add_to_record(a.common.save, record, replaced)
                                    : save_unless_changed(a.common.save, record, as_read);
    if (!saved) return report_error(saved.error());
  }
  if (a.common.json == "-") {
    std::cout << to_json(record);
  } else if (!a.common.json.empty()) {
    if (const auto written = write_file_atomically(a.common.json, to_json(record)); !written)
      return report_error(written.error());
  }
  if (!a.common.quiet && a.common.json != "-") {
    std::cout << original_text(*result, text_options(a.common.unit, a.all));
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
  c->add_flag(
      "--own-batches", a->own_batches,
      "the parts given are of different batches or ages: how far one shrank says nothing of the next");
  c->add_option("--learn", a->learn, "writes size grids learned from the metal sizes given, for --grids")
      ->type_name("FILE.csv");
  c->add_option("--sizes", a->sizes, "sizes typed by hand instead of a record")->type_name("SIZES.csv");
  c->add_option("--shrinkage", a->shrinkage, "ageing shrinkage instead of the material's, e.g. '0.3%+-0.2%'")
      ->type_name("S+-U");
  c->add_option("--metric-prior", a->metric_prior, "chance of a metric drawing before anything is measured")
      ->type_name("P")
      ->check(CLI::Range(0.0, 1.0))
      ->capture_default_str();
  c->add_option("--confidence", a->confidence, "a size less likely than this is called undecided")
      ->type_name("P")
      ->capture_default_str();
  c->add_option("--evidence", a->evidence, "what a mating part or a catalogue says: 'NAME=12.30mm+-0.15mm'")
      ->type_name("NAME=SIZE+-U")
      ->allow_extra_args(false);
  c->add_option("--ratio", a->ratio, "turns of this part for one turn of its mating pulley, e.g. 2.45+-1%")
      ->type_name("I+-U");
  c->add_option("--mating", a->mating, "diameter of the mating pulley, for --ratio")->type_name("D+-U");
  c->add_option(
       "--mating-turns", a->mating_turns,
       "turns a minute of the mating pulley, with --mating and --turns of this part, instead of --ratio")
      ->type_name("RPM+-U");
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
  add_result_options(*c, a->common, "keep the answer in this part record (created if missing)");
  c->add_flag("--materials", a->materials, "lists the materials that are known, with their everyday names");
  add_all_option(*c, a->all);
  add_part_facts(*c, a->facts);
  c->callback([a, &action] { action = [a] { return run(*a); }; });
}

}  // namespace rondure::cli
