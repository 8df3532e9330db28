// rondure plan: from the record to what to make.
#include <fmt/format.h>

#include <filesystem>
#include <iostream>

#include "command.hpp"
#include "paint.hpp"
#include "rondure/plan/replacement_plan.hpp"
#include "rondure/plan/section_drawing.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure::cli {
namespace {

struct PlanCommand {
  std::string record, material_new = "brass", material_old, shaft_material = "steel";
  std::vector<std::string> fits, interferences, choices;
  std::string shaft, tools, belt, speed, frequency, speed_error, speed_variation, run_out_old, belt_stiffness,
      rest_inertia;
  std::string surface, width, arc_width, radius, steps, clearance, rake, form_tool, copy;
  std::string drawing, outline, check_sheet, json, unit = "mm";
  std::string save;  // file; empty with saves = PART.json itself
  bool saves = false, quiet = false;
};

// "NAME=VALUE" or "VALUE".
std::pair<std::string, std::string> split_name(const std::string& text) {
  const auto at = text.find('=');
  if (at == std::string::npos) return {"", text};
  return {text.substr(0, at), text.substr(at + 1)};
}

Error named(const char* option, const Error& error) {
  return {error.code == ErrorCode::kNotFinite ? ErrorCode::kBadLength : error.code,
          std::string(option) + ": " + error.detail};
}

// A number with one of the given units behind it: "240rpm" with {"rpm", "Hz"} gives {240, 0}.
Result<std::pair<double, std::size_t>> number_with(const char* option, const std::string& text,
                                                   std::initializer_list<std::string_view> units) {
  std::string needed;
  std::size_t index = 0;
  for (const std::string_view unit : units) {
    if (text.size() > unit.size() && text.ends_with(unit)) {
      const auto value = parse_number(text.substr(0, text.size() - unit.size()));
      if (!value || !(*value > 0)) break;
      return std::pair{*value, index};
    }
    ++index;
  }
  for (const std::string_view unit : units) needed += (needed.empty() ? "" : ", ") + std::string(unit);
  return Error{ErrorCode::kBadArgument,
               fmt::format("{}: found '{}', needed a number over 0 with {}", option, text, needed)};
}

class OptionReader {
public:
  explicit OptionReader(LengthUnit bare) : bare_(bare) {}
  template <class Into>
  void length(const char* option, const std::string& text, Into& into) {
    if (text.empty() || error_) return;
    const auto mm = parse_length_mm(text, bare_);
    if (!mm)
      error_ = named(option, mm.error());
    else if (!(*mm > 0))
      error_ =
          Error{ErrorCode::kBadLength, fmt::format("{}: found '{}', needed a length over 0", option, text)};
    else
      into = *mm;
  }
  void estimate(const char* option, const std::string& text, std::optional<Estimate>& into) {
    if (text.empty() || error_) return;
    const auto e = parse_length_with_u_mm(text, bare_);
    if (!e)
      error_ = named(option, e.error());
    else if (!(e->value > 0))
      error_ =
          Error{ErrorCode::kBadLength, fmt::format("{}: found '{}', needed a length over 0", option, text)};
    else
      into = *e;
  }
  void ratio(const char* option, const std::string& text, std::optional<double>& into) {
    if (text.empty() || error_) return;
    const auto r = parse_ratio(text);
    if (!r || !(*r > 0 && *r < 1))
      error_ = Error{ErrorCode::kBadArgument,
                     fmt::format("{}: found '{}', needed a ratio such as 0.2%", option, text)};
    else
      into = *r;
  }
  void angle(const char* option, const std::string& text, double& into) {
    if (text.empty() || error_) return;
    const auto a = parse_number(text.ends_with("deg") ? text.substr(0, text.size() - 3) : text);
    if (!a)
      error_ = Error{ErrorCode::kBadArgument, fmt::format("{}: found '{}', needed degrees", option, text)};
    else
      into = *a;
  }
  void fail(Error e) {
    if (!error_) error_ = std::move(e);
  }
  LengthUnit bare() const { return bare_; }
  const std::optional<Error>& error() const { return error_; }

private:
  LengthUnit bare_;
  std::optional<Error> error_;
};

void read_names(const PlanCommand& c, OptionReader& read, plan::PlanOptions& o) {
  for (const std::string& text : c.fits) o.tolerances.push_back(split_name(text));
  for (const std::string& text : c.interferences) {
    const auto [name, value] = split_name(text);
    const auto e = parse_length_with_u_mm(value, read.bare());
    if (e)
      o.interferences_mm.emplace_back(name, *e);
    else
      read.fail(named("--interference", e.error()));
  }
  for (const std::string& text : c.choices) {
    const auto [name, value] = split_name(text);
    const auto mm = parse_length_mm(value, read.bare());
    if (mm && *mm > 0)
      o.chosen_mm.emplace_back(name, *mm);
    else
      read.fail(mm ? Error{ErrorCode::kBadLength, "--choose: needed a length over 0"}
                   : named("--choose", mm.error()));
  }
}

void read_drive(const PlanCommand& c, OptionReader& read, plan::PlanOptions& o) {
  if (!c.speed.empty()) {
    const auto v = number_with("--speed", c.speed, {"rpm", "Hz", "mm/s", "in/s"});
    if (!v)
      read.fail(v.error());
    else if (v->second == 0)
      o.turns_rpm = v->first;
    else if (v->second == 1)
      o.turns_rpm = v->first * 60;
    else
      o.surface_speed_mm_s = v->first * (v->second == 3 ? kMmPerInch : 1);
  }
  if (!c.frequency.empty()) {
    const auto v = number_with("--frequency", c.frequency, {"Hz"});
    if (v)
      o.ripple_hz = v->first;
    else
      read.fail(v.error());
  }
  if (!c.belt_stiffness.empty()) {
    const auto v = number_with("--belt-stiffness", c.belt_stiffness, {"N/mm"});
    if (v)
      o.belt_stiffness_N_mm = v->first;
    else
      read.fail(v.error());
  }
  if (!c.rest_inertia.empty()) {
    const auto v = number_with("--rest-inertia", c.rest_inertia, {"gmm2", "kgm2"});
    if (v)
      o.rest_inertia_g_mm2 = v->first * (v->second == 1 ? 1e9 : 1);
    else
      read.fail(v.error());
  }
  read.length("--belt", c.belt, o.belt_thickness_mm);
  read.ratio("--speed-error", c.speed_error, o.speed_error_ratio);
  read.ratio("--speed-variation", c.speed_variation, o.speed_variation_ratio);
  read.length("--run-out-old", c.run_out_old, o.run_out_old_mm);
}

Result<plan::PlanOptions> read_options(const PlanCommand& c) {
  OptionReader read(parse_unit(c.unit).value_or(LengthUnit::kMm));
  plan::PlanOptions o;
  o.material_new = c.material_new;
  o.material_old = c.material_old;
  o.shaft_material = c.shaft_material;
  o.running_surface = c.surface;
  read_names(c, read, o);
  read_drive(c, read, o);
  read.estimate("--shaft", c.shaft, o.shaft_mm);
  read.estimate("--radius", c.radius, o.wanted_radius_mm);
  read.length("--width", c.width, o.width_mm);
  read.length("--arc-width", c.arc_width, o.arc_width_mm);
  read.angle("--clearance", c.clearance, o.clearance_deg);
  read.angle("--rake", c.rake, o.rake_deg);
  if (c.form_tool == "section") o.ground_as = plan::FormToolCase::kSection;
  if (c.form_tool == "projection") o.ground_as = plan::FormToolCase::kProjection;
  if (read.error()) return *read.error();
  if (!c.outline.empty() && !c.outline.ends_with(".dxf") && !c.outline.ends_with(".DXF") &&
      !c.outline.ends_with(".svg"))
    return Error{ErrorCode::kBadArgument,
                 "--outline: found '" + c.outline + "', needed a name ending in .dxf or .svg"};
  if (!c.tools.empty()) {
    const auto text = read_file(c.tools);
    if (!text) return text.error();
    auto shelf = plan::parse_tools(*text, read.bare());
    if (!shelf) return shelf.error();
    o.shelf = std::move(*shelf);
  }
  if (!c.steps.empty()) {
    const auto text = read_file(c.steps);
    if (!text) return text.error();
    auto steps = plan::parse_steps(*text, read.bare());
    if (!steps) return steps.error();
    o.steps = std::move(*steps);
  }
  return o;
}

// Into PART.json, or as a record of its own (the same part with this plan) into another file.
Result<void> save_plan(const PlanCommand& c, const PartRecord& record, const plan::ReplacementPlan& p) {
  std::error_code none;
  const bool own =
      c.save.empty() || c.save == c.record || std::filesystem::equivalent(c.save, c.record, none);
  return update_part_record(own ? c.record : c.save, [&](PartRecord& on_disk) -> Result<void> {
    if (!own && on_disk.features.empty()) on_disk = record;
    on_disk.replacement_json = plan::plan_json(p);
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
    record.replacement_json = plan::plan_json(p);
    if (const auto ok = write_file_atomically(c.json, to_json(record)); !ok) return ok;
  }
  return c.saves ? save_plan(c, record, p) : Result<void>{};
}

int run(const PlanCommand& c) {
  const auto options = read_options(c);
  if (!options) return report_error(options.error());
  auto record = load_part_record(c.record);
  if (!record) return report_error(record.error(), c.record);
  std::optional<PartRecord> copy;
  if (!c.copy.empty()) {
    auto loaded = load_part_record(c.copy);
    if (!loaded) return report_error(loaded.error(), c.copy);
    copy = std::move(*loaded);
  }
  const auto made = plan::make_plan(*record, *options, copy ? &*copy : nullptr);
  if (!made) return report_error(made.error());
  if (const auto written = write_files(c, *record, *made); !written) return report_error(written.error());
  if (c.json == "-") {
    record->replacement_json = plan::plan_json(*made);
    std::cout << to_json(*record);
  } else if (!c.quiet) {
    std::cout << painted(plan::plan_text(*made));
    if (c.saves) std::cout << "\nsaved in " << (c.save.empty() ? c.record : c.save) << '\n';
  }
  return finish_output();
}

void add_make_options(CLI::App& app, PlanCommand& c) {
  app.add_option("PART.json", c.record, "part record")->type_name("");
  app.add_option("--choose", c.choices,
                 "size to make instead of the most likely original, e.g. outside=12.5mm; repeat for more")
      ->type_name("NAME=SIZE")
      ->allow_extra_args(false);
  app.add_option("--fit", c.fits,
                 "ISO 286 fit of the bore on its shaft (bore=H7/p6) or class of another size (outside=h9, "
                 "outside=+-0.01mm)")
      ->type_name("[NAME=]FIT")
      ->allow_extra_args(false);
  app.add_option(
         "--interference", c.interferences,
         "shaft minus bore instead of a fit, e.g. 0.0004in or 0.010mm+-0.002mm; negative is clearance")
      ->type_name("[NAME=]SIZE")
      ->allow_extra_args(false);
  app.add_option("--shaft", c.shaft, "measured shaft with its standard uncertainty, e.g. 3.000mm+-0.002mm")
      ->type_name("SIZE");
  app.add_option("--shaft-material", c.shaft_material, "material of the shaft")
      ->type_name("NAME")
      ->capture_default_str();
  app.add_option("--material-new", c.material_new, "material of the replacement")
      ->type_name("NAME")
      ->capture_default_str();
  app.add_option("--material-old", c.material_old, "material of the old part, when the record does not say")
      ->type_name("NAME");
  app.add_option("--width", c.width, "width of the running surface, when the record has none")
      ->type_name("SIZE");
  app.add_option("--steps", c.steps,
                 "CSV of the steps along the axis: name,length,outside,end_outside,crown_radius,bore,unit")
      ->type_name("FILE.csv");
}

void add_use_options(CLI::App& app, PlanCommand& c) {
  app.add_option("--surface", c.surface,
                 "name of the feature that the belt or film runs on (default: the first outside)")
      ->type_name("NAME");
  app.add_option("--belt", c.belt, "thickness of belt or film")->type_name("SIZE");
  app.add_option("--speed", c.speed, "how fast it turns: 240rpm, 4Hz, or the belt's 150mm/s, 6in/s")
      ->type_name("SPEED");
  app.add_option("--speed-error", c.speed_error,
                 "permitted error of the mean speed, e.g. 0.2%: sets the diameter's limits")
      ->type_name("RATIO");
  app.add_option("--speed-variation", c.speed_variation,
                 "permitted variation either way, e.g. 0.1%: sets run-out and roundness")
      ->type_name("RATIO");
  app.add_option("--run-out-old", c.run_out_old, "run-out (TIR) of the old part on its shaft, when measured")
      ->type_name("SIZE");
  app.add_option("--frequency", c.frequency, "rate at which speed ripple is judged, e.g. 12Hz")
      ->type_name("RATE");
  app.add_option("--belt-stiffness", c.belt_stiffness, "stiffness of the belt at the part, e.g. 2N/mm")
      ->type_name("STIFFNESS");
  app.add_option("--rest-inertia", c.rest_inertia, "inertia of what else turns with it, e.g. 500gmm2")
      ->type_name("INERTIA");
  app.add_option("--copy", c.copy, "record of a replacement already made, for its speed")
      ->type_name("COPY.json");
  app.add_option("--tools", c.tools, "shelf of radii: CSV name,kind,radius,diameter,thickness,unit")
      ->type_name("FILE.csv");
  app.add_option("--radius", c.radius, "a wanted radius that is not in the record, e.g. 0.512in+-0.002in")
      ->type_name("SIZE");
  app.add_option("--arc-width", c.arc_width, "width of the arc, when not the running surface's")
      ->type_name("SIZE");
  app.add_option("--form-tool", c.form_tool,
                 "choose the tool that grinds a form tool: section (round along the flank) or projection "
                 "(true arc in its face)")
      ->type_name("CASE")
      ->check(CLI::IsMember({"section", "projection"}));
  app.add_option("--clearance", c.clearance, "clearance angle of a form tool, degrees (default 8)")
      ->type_name("DEG");
  app.add_option("--rake", c.rake, "top rake of a form tool, degrees (default 0)")->type_name("DEG");
}

void add_output_options(CLI::App& app, PlanCommand& c) {
  app.add_option("--drawing", c.drawing, "writes the dimensioned section as a drawing")
      ->type_name("FILE.svg");
  app.add_option("--outline", c.outline, "writes the bare section at 1:1 in mm, for drawing on")
      ->type_name("FILE.dxf|svg");
  app.add_option("--check-sheet", c.check_sheet, "writes the check sheet as CSV with blanks to fill in")
      ->type_name("FILE.csv");
  app.add_option("--json", c.json, "writes the part record with the plan (JSON); - = standard output")
      ->type_name("FILE");
  app.add_option("--save", c.save, "keeps the plan in PART.json, or in the record named here")
      ->type_name("[PART.json]")
      ->expected(0, 1);
  app.add_option("--unit", c.unit, "unit of bare numbers and of the check sheet: mm, in or thou")
      ->type_name("UNIT")
      ->capture_default_str()
      ->check(CLI::IsMember({"mm", "in", "thou"}));
  app.add_flag("--quiet", c.quiet, "no text on standard output");
}

}  // namespace

void add_plan(CLI::App& program, Action& action) {
  CLI::App& app =
      *program.add_subcommand("plan",
                              "Plans the replacement: sizes and tolerances, fit on the shaft, tool radius, mass and "
                              "inertia, effect on speed.");
  const auto c = std::make_shared<PlanCommand>();
  add_make_options(app, *c);
  add_use_options(app, *c);
  add_output_options(app, *c);
  app.footer(
      "Example:\n"
      "  rondure plan images-demo/two-dates/roller-2026.json --shaft 3.000mm+-0.002mm --fit bore=H7/s6 \\\n"
      "      --material-new brass --tools images-demo/tools.csv --belt 0.13mm --speed 150mm/s \\\n"
      "      --check-sheet check.csv --drawing roller.svg");
  app.callback([c, &action, &app] {
    c->saves = app.count("--save") > 0;
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
