// What hangs on the plan beside its sizes, a line each: fit and grip, tool, crown, speed, mass.
#include <fmt/format.h>

#include <cmath>

#include "page_sections.hpp"
#include "rondure/core/length.hpp"
#include "svg.hpp"

namespace rondure {
namespace {

std::string um_and_thou(double mm) {
  return fmt::format("{:.1f} \u00b5m ({:.2f} thou)", mm * 1000, mm / 0.0254);
}

std::string chance(double p) {
  return p < 0.001 ? "under 0.1 %"
         : p < 0.1 ? fmt::format("{:.1f} %", 100 * p)
                   : fmt::format("{:.0f} %", 100 * p);
}

std::string fit_words(const plan::ShaftFit& f) {
  const Interval& i = f.chance.interference_mm;
  const auto tight = [](double mm) { return um_and_thou(std::fabs(mm)) + (mm >= 0 ? " tight" : " loose"); };
  std::string text =
      fmt::format("{}, {:.4f} +- {:.4f} mm ({:.5f} in): {} to {}. {} chance of missing the fit's limits.",
                  f.text, f.shaft_mm.value, f.shaft_mm.u, f.shaft_mm.value / kMmPerInch, tight(i.lo),
                  tight(i.hi), chance(f.chance.p_below + f.chance.p_above));
  if (f.press && f.press->holding_torque_Nmm.value_or(0) > 0)
    text += fmt::format(" Holds about {:.0f} N mm, {:.0f} N along the shaft.", *f.press->holding_torque_Nmm,
                        f.press->holding_force_N.value_or(0));
  return text;
}

std::string tool_words(const plan::ToolRanking& r) {
  std::string text = fmt::format("for {} R {:.3f} mm ({:.4f} in): ", r.wanted.name, r.wanted.radius_mm.value,
                                 r.wanted.radius_mm.value / kMmPerInch);
  if (r.choices.empty()) return text + "nothing on the shelf is large enough for the width.";
  for (std::size_t i = 0; i < r.choices.size() && i < 2; ++i) {
    const plan::ToolChoice& c = r.choices[i];
    text += fmt::format("{}{}, R {:.3f} mm, edge {:+.1f} \u00b5m", i == 0 ? "" : "; else ", c.tool,
                        c.radius_mm, 1000 * c.edge_error_mm);
  }
  return text +
         fmt::format(". The measured radius tells the edge to {}.", um_and_thou(r.measurement_can_tell_mm));
}

std::string form_tool_words(const std::vector<plan::FormTool>& tools) {
  std::string text;
  for (const plan::FormTool& t : tools)
    text += fmt::format(
        "{}{}: grind R {:.3f} mm ({:.4f} in)", text.empty() ? "" : "; ",
        t.which == plan::FormToolCase::kSection ? "ground round along the flank" : "true arc in its top face",
        t.ground_radius_mm, t.ground_radius_mm / kMmPerInch);
  return text + ".";
}

std::string signed_percent(double ratio) {
  return fmt::format("{:+.{}f} %", 100 * ratio, std::fabs(ratio) < 0.000995 ? 3 : 2);
}

std::string speed_words(const plan::SpeedPlan& speed) {
  std::string text;
  for (const plan::SpeedRow& row : speed.rows) {
    text += (text.empty() ? "" : "; ") + row.what;
    if (row.mean_error_ratio)
      text += fmt::format(" mean {} to {},", signed_percent(row.mean_error_ratio->lo),
                          signed_percent(row.mean_error_ratio->hi));
    text += fmt::format(" varies +-{}", signed_percent(row.peak_ratio).substr(1));
  }
  return text +
         fmt::format(". Of the belt or film on {}, against {:.3f} mm.", speed.surface, speed.intended_mm);
}

std::string mass_words(const plan::RotorPlan& r) {
  std::string text = fmt::format("new {:.3f} g, inertia {:.1f} g mm\u00b2{}", r.new_part.mass_g,
                                 r.new_part.inertia_g_mm2, r.per_mm_width ? " (for 1 mm of width)" : "");
  if (r.old_part)
    text += fmt::format("; old {:.3f} g, {:.1f} g mm\u00b2", r.old_part->mass_g, r.old_part->inertia_g_mm2);
  if (r.change)
    text += fmt::format(
        ". The inertia is {:.2f} times the old part's: starting takes {:.2f} times as long at the same "
        "torque",
        r.change->inertia_ratio, r.change->start_time_ratio);
  return text + ".";
}

}  // namespace

std::string plan_facts(const plan::ReplacementPlan& p) {
  std::string rows;
  const auto add = [&](const char* name, const std::string& words) {
    rows += fmt::format("<tr><th scope=\"row\">{}</th><td>{}</td></tr>", name, words_markup(words));
  };
  if (p.fit) add("Fit and grip", fit_words(*p.fit));
  for (const auto& ranking : p.tools) add("Tool", tool_words(ranking));
  if (!p.form_tools.empty()) add("Form tool", form_tool_words(p.form_tools));
  if (p.crown)
    add("Crown",
        fmt::format(
            "R {:.3f} mm over {:.3f} mm: the edges are {:.3f} mm ({:.4f} in) lower, {:.3f} mm ({:.4f} in) in "
            "diameter.",
            p.crown->radius_mm, p.crown->width_mm, p.crown->height_mm, p.crown->height_mm / kMmPerInch,
            p.crown->edge_diameter_mm, p.crown->edge_diameter_mm / kMmPerInch));
  if (p.speed) add("Speed", speed_words(*p.speed));
  if (p.rotor) add("Mass", mass_words(*p.rotor));
  if (rows.empty()) return {};
  return "<table class=\"facts\"><caption>Fit, tools, speed, mass</caption><tbody>" + rows +
         "</tbody></table>\n";
}

}  // namespace rondure
