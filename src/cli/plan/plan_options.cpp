#include "cli/plan/plan_options.hpp"

#include <fmt/format.h>

#include "cli/original/original_values.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure::cli {
namespace {

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
  for (const std::string& text : c.widths_of) {
    const auto pair = split_name(text);
    if (pair.first.empty() || pair.second.empty())
      read.fail({ErrorCode::kBadArgument,
                 "--width-of: found '" + text + "', needed WIDTH=OUTSIDE, two names of the record"});
    o.width_of.push_back(pair);
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
    const bool turns = c.speed.ends_with("rpm") || c.speed.ends_with("Hz");
    if (const auto belt = parse_speed_mm_s(c.speed, read.bare(), "--speed"); belt && !turns) {
      o.surface_speed_mm_s = belt->value;
    } else {
      const auto v = number_with("--speed", c.speed, {"rpm", "Hz", "mm/s", "in/s", "ips"});
      if (!v)
        read.fail(v.error());
      else
        o.turns_rpm = v->first * (v->second == 1 ? 60 : 1);
    }
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

// Every line that is no tool is named, up to three of them.
Error no_tool(const std::string& file, const std::vector<std::string>& wrong,
              const Result<std::vector<plan::ShelfTool>>& whole) {
  constexpr std::size_t kTold = 3;  // the message stays one line; the others are counted
  std::string detail = file + ": ";
  for (std::size_t i = 0; i < std::min(kTold, wrong.size()); ++i) detail += (i > 0 ? "; " : "") + wrong[i];
  if (wrong.size() > kTold) detail += "; " + std::to_string(wrong.size() - kTold) + " more lines";
  if (wrong.empty()) detail += whole ? "found no tool" : whole.error().detail;
  return {ErrorCode::kBadLine, detail};
}

}  // namespace

Result<Shelf> read_shelf(const std::string& file, LengthUnit bare) {
  const auto text = read_file(file);
  if (!text) return text.error();
  // line by line: one with a wrong word is left out and named
  Shelf shelf;
  std::vector<std::string> wrong;
  std::string kept;
  bool header = false;
  for (std::size_t at = 0; at < text->size();) {
    const auto end = std::min(text->find('\n', at), text->size());
    const std::string line = text->substr(at, end - at);
    at = end + 1;
    const auto first = line.find_first_not_of(" \t\r");
    const bool counts = first != std::string::npos && line[first] != '#';
    if (counts && header) {
      const auto one = plan::parse_tools(kept + line + "\n", bare);
      if (one)
        shelf.tools.insert(shelf.tools.end(), one->begin(), one->end());
      else
        wrong.push_back(one.error().detail);
      kept += "\n";  // so that lines keep their numbers
      continue;
    }
    header = header || counts;
    kept += line + "\n";
  }
  if (shelf.tools.empty()) return no_tool(file, wrong, plan::parse_tools(*text, bare));
  for (const std::string& detail : wrong)
    shelf.left_out.push_back({"tool-left-out", file + ": " + detail + "; left out"});
  return shelf;
}

Result<plan::PlanOptions> read_options(const PlanCommand& c) {
  OptionReader read(parse_unit(c.unit).value_or(LengthUnit::kMm));
  plan::PlanOptions o;
  o.material_new = c.material_new;
  o.material_old = c.material_old;
  o.shaft_material = c.shaft_material;
  o.running_surface = c.surface;
  if (!c.crown.empty()) o.crown = c.crown;
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
    auto shelf = read_shelf(c.tools, read.bare());
    if (!shelf) return shelf.error();
    o.shelf = std::move(shelf->tools);
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

}  // namespace rondure::cli
