// rondure plan: from the record to what to make.
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <iostream>
#include <span>

#include "cli/plan/plan_options.hpp"
#include "cli/terminal/command.hpp"
#include "cli/terminal/paint.hpp"
#include "cli/terminal/text_words.hpp"
#include "rondure/plan/plan_text.hpp"
#include "rondure/plan/section_drawing.hpp"
#include "rondure/record/plan_section.hpp"

namespace rondure::cli {
namespace {

// Into PART.json, or as a record of its own (the same part with this plan) into another file.
Result<void> save_plan(const PlanCommand& c, const PartRecord& record, const plan::ReplacementPlan& p) {
  std::error_code none;
  const bool own =
      c.save.empty() || c.save == c.record || std::filesystem::equivalent(c.save, c.record, none);
  return update_part_record(own ? c.record : c.save, [&](PartRecord& on_disk) -> Result<void> {
    if (!own && on_disk.features.empty()) on_disk = record;
    put_plan(on_disk, p);
    return {};
  });
}

Result<void> write_drawings(const PlanCommand& c, const plan::ReplacementPlan& p) {
  if (c.drawing.empty() && c.outline.empty()) return {};
  if (p.profile.empty()) return Error{ErrorCode::kNoAnswer, "found no outside size to draw, needed one"};
  if (!c.drawing.empty())
    if (const auto ok = write_file_atomically(c.drawing, plan::section_svg(p)); !ok) return ok;
  if (c.outline.empty()) return {};
  if (p.rotor && p.rotor->per_mm_width)
    return Error{ErrorCode::kNoAnswer, "found no width, so no outline is written; give --width or --steps"};
  const bool dxf = c.outline.ends_with(".dxf") || c.outline.ends_with(".DXF");
  return write_file_atomically(c.outline, dxf ? plan::outline_dxf(p.profile) : plan::outline_svg(p.profile));
}

Result<void> write_files(const PlanCommand& c, PartRecord record, const plan::ReplacementPlan& p) {
  if (const auto ok = write_drawings(c, p); !ok) return ok;
  if (!c.check_sheet.empty()) {
    const auto unit = parse_unit(c.unit).value_or(LengthUnit::kMm);
    if (const auto ok =
            write_file_atomically(c.check_sheet, plan::check_sheet_csv(p.check_sheet, p.part, unit));
        !ok)
      return ok;
  }
  if (!c.json.empty() && c.json != "-") {
    put_plan(record, p);
    if (const auto ok = write_file_atomically(c.json, to_json(record)); !ok) return ok;
  }
  return c.saves ? save_plan(c, record, p) : Result<void>{};
}

// Options that nothing reads for want of another one.
Result<void> check_needs(const PlanCommand& c) {
  if (const auto ok = refuse_given({{"--frequency", !c.frequency.empty() && c.belt_stiffness.empty()}},
                                   "needs --belt-stiffness too");
      !ok)
    return ok;
  return refuse_given({{"--form-tool", !c.form_tool.empty() && c.tools.empty()}}, "needs --tools too");
}

// Options that turned out to have no effect on this part.
Result<void> check_effect(const PlanCommand& c, plan::ReplacementPlan& p) {
  if (c.shaft_material_given && !(p.fit && p.fit->press))
    p.warnings.push_back(
        {"shaft-material-unused", "--shaft-material is not used: no bore is pressed on its shaft here"});
  const bool arcs =
      std::ranges::any_of(p.sizes, [](const plan::PlannedSize& s) { return s.kind == FeatureKind::kArc; });
  if (const auto ok =
          refuse_given({{"--crown", !c.crown.empty() && !arcs}}, "has no effect: the record has no arc");
      !ok)
    return ok;
  if (!p.form_tools.empty()) return {};
  return refuse_given({{"--arc-width", !c.arc_width.empty()},
                       {"--clearance", !c.clearance.empty()},
                       {"--rake", !c.rake.empty()}},
                      "has no effect: no arc is known to cut, give --radius");
}

int run(const PlanCommand& c) {
  if (const auto ok = check_needs(c); !ok) return report_error(ok.error());
  const auto options = read_options(c);
  if (!options) return report_error(options.error());
  auto record = load_part_record_or_input(c.record);
  if (!record) return report_error(record.error(), c.record);
  std::optional<PartRecord> copy;
  if (!c.copy.empty()) {
    auto loaded = load_part_record(c.copy);
    if (!loaded) return report_error(loaded.error(), c.copy);
    copy = std::move(*loaded);
  }
  auto made = plan::make_plan(*record, *options, copy ? &*copy : nullptr);
  if (!made) return report_error(made.error());
  if (const auto ok = check_effect(c, *made); !ok) return report_error(ok.error());
  if (!c.tools.empty())
    if (const auto shelf = read_shelf(c.tools, parse_unit(c.unit).value_or(LengthUnit::kMm)); shelf)
      made->warnings.insert(made->warnings.end(), shelf->left_out.begin(), shelf->left_out.end());
  if (const auto written = write_files(c, *record, *made); !written) return report_error(written.error());
  if (c.json == "-") {
    put_plan(*record, *made);
    std::cout << to_json(*record);
  } else if (!c.quiet) {
    std::cout << plan::plan_text(*made, text_options(c.unit, c.all));
    if (c.saves) std::cout << "saved in " << (c.save.empty() ? c.record : c.save) << '\n';
  }
  return finish_output();
}

// An option with one text, as it stands in the help. A text that is not empty is its default, shown there.
struct TextOption {
  const char* name;
  std::string PlanCommand::*into;
  const char* type;
  const char* words;
};
using P = PlanCommand;

constexpr TextOption kMake[] = {
    {"--shaft", &P::shaft, "SIZE", "measured shaft with its standard uncertainty, e.g. 3.000mm+-0.002mm"},
    {"--shaft-material", &P::shaft_material, "NAME", "material of the shaft"},
    {"--material-new", &P::material_new, "NAME", "material of the replacement"},
    {"--material-old", &P::material_old, "NAME", "material of the old part, when the record does not say"},
    {"--width", &P::width, "SIZE", "width of the running surface, when the record has none"},
    {"--steps", &P::steps, "FILE.csv",
     "CSV of the steps along the axis: name,length,outside,end_outside,crown_radius,bore,unit"},
};
constexpr TextOption kUse[] = {
    {"--surface", &P::surface, "NAME",
     "name of the feature that the belt or film runs on (default: the first outside)"},
    {"--crown", &P::crown, "NAME",
     "name of the arc that is its crown, or none (default: the only arc that can be)"},
    {"--belt", &P::belt, "SIZE", "thickness of belt or film"},
    {"--speed", &P::speed, "SPEED", "how fast it turns: 240rpm, 4Hz, or the belt's 150mm/s, 6in/s"},
    {"--speed-error", &P::speed_error, "RATIO",
     "permitted error of the mean speed, e.g. 0.2%: sets the diameter's limits"},
    {"--speed-variation", &P::speed_variation, "RATIO",
     "permitted variation either way, e.g. 0.1%: sets run-out and roundness"},
    {"--run-out-old", &P::run_out_old, "SIZE", "run-out (TIR) of the old part on its shaft, when measured"},
    {"--frequency", &P::frequency, "RATE", "rate at which speed ripple is judged, e.g. 12Hz"},
    {"--belt-stiffness", &P::belt_stiffness, "STIFFNESS", "stiffness of the belt at the part, e.g. 2N/mm"},
    {"--rest-inertia", &P::rest_inertia, "INERTIA", "inertia of what else turns with it, e.g. 500gmm2"},
    {"--copy", &P::copy, "COPY.json", "record of a replacement already made, for its speed"},
    {"--tools", &P::tools, "FILE.csv",
     "shelf of radii: CSV name,kind,radius,diameter,thickness,unit; kinds: cutter, wheel, gauge, arbor, "
     "paper, cloth"},
    {"--radius", &P::radius, "SIZE", "a wanted radius that is not in the record, e.g. 0.512in+-0.002in"},
    {"--arc-width", &P::arc_width, "SIZE", "width of the arc, when not the running surface's"},
    {"--form-tool", &P::form_tool, "CASE",
     "choose the tool that grinds a form tool: section (round along the flank) or projection (true arc in "
     "its "
     "face)"},
    {"--clearance", &P::clearance, "DEG", "clearance angle of a form tool, degrees (default 8)"},
    {"--rake", &P::rake, "DEG", "top rake of a form tool, degrees (default 0)"},
};
constexpr TextOption kOutput[] = {
    {"--drawing", &P::drawing, "FILE.svg", "writes the dimensioned section as a drawing"},
    {"--outline", &P::outline, "FILE.dxf|svg", "writes the bare section at 1:1 in mm, for drawing on"},
    {"--check-sheet", &P::check_sheet, "FILE.csv", "writes the check sheet as CSV with blanks to fill in"},
    {"--json", &P::json, "FILE", "writes the part record with the plan (JSON); - = standard output"},
    {"--save", &P::save, "[PART.json]", "keeps the plan in PART.json, or in the record named here"},
    {"--unit", &P::unit, "UNIT", "unit of bare numbers and of the check sheet: mm, in or thou"},
};

void add_texts(CLI::App& app, PlanCommand& c, std::span<const TextOption> options) {
  for (const TextOption& o : options) {
    CLI::Option* added = app.add_option(o.name, c.*o.into, o.words)->type_name(o.type);
    if (!(c.*o.into).empty()) added->capture_default_str();
  }
}

// Options that may be given again, each time with one value.
void add_repeated(CLI::App& app, PlanCommand& c) {
  const auto add = [&](const char* name, std::vector<std::string>& into, const char* type,
                       const char* words) {
    app.add_option(name, into, words)->type_name(type)->allow_extra_args(false);
  };
  add("--choose", c.choices, "NAME=SIZE",
      "size to make instead of the most likely original, e.g. outside=12.5mm; repeat for more");
  add("--fit", c.fits, "[NAME=]FIT",
      "ISO 286 fit of the bore on its shaft (bore=H7/p6) or class of another size (outside=h9, "
      "outside=+-0.01mm)");
  add("--interference", c.interferences, "[NAME=]SIZE",
      "shaft minus bore instead of a fit, e.g. 0.0004in or 0.010mm+-0.002mm; negative is clearance");
  add("--width-of", c.widths_of, "WIDTH=OUTSIDE",
      "which outside a width of the record belongs to, e.g. 'hub length=hub'; repeat for more");
}

}  // namespace

void add_plan(CLI::App& program, Action& action) {
  CLI::App& app = *program.add_subcommand(
      "plan",
      "Plans the replacement: sizes and tolerances, fit on the shaft, tool radius, mass and "
      "inertia, effect on speed.");
  const auto c = std::make_shared<PlanCommand>();
  app.add_option("PART.json", c->record, "part record")->type_name("");
  add_repeated(app, *c);
  add_texts(app, *c, kMake);
  add_texts(app, *c, kUse);
  add_texts(app, *c, kOutput);
  app.get_option("--form-tool")->check(CLI::IsMember({"section", "projection"}));
  app.get_option("--save")->expected(0, 1);
  app.get_option("--unit")->check(CLI::IsMember({"mm", "in", "thou"}));
  app.add_flag("--quiet", c->quiet, "no text on standard output");
  app.add_flag("--all", c->all, "every figure, with the check sheet");
  app.footer(
      "Example:\n"
      "  rondure plan images-demo/two-dates/roller-2026.json --shaft 3.000mm+-0.002mm --fit bore=H7/s6 \\\n"
      "      --material-new brass --tools images-demo/tools.csv --belt 0.13mm --speed 150mm/s \\\n"
      "      --check-sheet check.csv --drawing roller.svg");
  app.callback([c, &action, &app] {
    c->saves = app.count("--save") > 0;
    c->shaft_material_given = app.count("--shaft-material") > 0;
    if (c->record.empty() && !c->save.empty())
      std::swap(c->record, c->save);  // "--save PART.json", said once
    action = [c] {
      return c->record.empty()
                 ? report_usage("plan: which part? needed a PART.json (see 'rondure plan --help')")
                 : run(*c);
    };
  });
}

}  // namespace rondure::cli
