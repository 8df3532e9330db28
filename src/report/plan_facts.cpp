// What hangs on the plan beside its sizes, a line each: fit and grip, tool, crown, speed, mass.
#include <fmt/format.h>

#include <cmath>

#include "page_sections.hpp"
#include "rondure/core/shown.hpp"
#include "rondure/plan/plan_text.hpp"
#include "svg.hpp"

namespace rondure {
namespace {

std::string fine(double mm, const LengthWords& words) {
  const std::string um = fmt::format("{:.1f} \u00b5m", mm * 1000),
                    thou = fmt::format("{:.2f} thou", mm / 0.0254);
  return words.inch_first() ? thou + " (" + um + ")" : um + " (" + thou + ")";
}

std::string fit_words(const plan::ShaftFit& f, const LengthWords& words) {
  const Interval& i = f.chance.interference_mm;
  const auto tight = [&](double mm) { return fine(std::fabs(mm), words) + (mm >= 0 ? " tight" : " loose"); };
  std::string text = fmt::format("{}, {}: {} to {}. {} chance of missing the fit's limits.", f.text,
                                 words.both(f.shaft_mm.value, f.shaft_mm.u, true), tight(i.lo), tight(i.hi),
                                 chance_words(f.chance.p_below + f.chance.p_above));
  if (f.press && f.press->holding_torque_Nmm.value_or(0) > 0)
    text += fmt::format(" Holds about {:.0f} N mm, {:.0f} N along the shaft.", *f.press->holding_torque_Nmm,
                        f.press->holding_force_N.value_or(0));
  return text;
}

std::string tool_words(const plan::ToolRanking& r, const LengthWords& words) {
  std::string text = fmt::format("for {} R {}: ", r.wanted.name, words.both_at(r.wanted.radius_mm.value, 3));
  if (r.choices.empty()) return text + "nothing on the shelf is large enough for the width.";
  for (std::size_t i = 0; i < r.choices.size() && i < 2; ++i) {
    const plan::ToolChoice& c = r.choices[i];
    text += fmt::format("{}{}, R {}, edge {}{}", i == 0 ? "" : "; else ", c.tool, words.one(c.radius_mm, 3),
                        c.edge_error_mm < 0 ? "-" : "+", fine(std::fabs(c.edge_error_mm), words));
  }
  return text +
         fmt::format(". The measured radius fixes the edge to {}.", fine(r.measurement_can_tell_mm, words));
}

std::string form_tool_words(const std::vector<plan::FormTool>& tools, const LengthWords& words) {
  std::string text;
  for (const plan::FormTool& t : tools)
    text += fmt::format(
        "{}{}: grind R {}", text.empty() ? "" : "; ",
        t.which == plan::FormToolCase::kSection ? "ground round along the flank" : "true arc in its top face",
        words.both_at(t.ground_radius_mm, 3));
  return text + ".";
}

std::string signed_percent(double ratio) {
  return fmt::format("{:+.{}f} %", 100 * ratio, std::fabs(ratio) < 0.000995 ? 3 : 2);
}

std::string speed_words(const plan::SpeedPlan& speed, const LengthWords& words) {
  std::string text;
  for (const plan::SpeedRow& row : speed.rows) {
    text += (text.empty() ? "" : "; ") + row.what;
    if (row.mean_error_ratio)
      text += fmt::format(" mean {} to {},", signed_percent(row.mean_error_ratio->lo),
                          signed_percent(row.mean_error_ratio->hi));
    text += " " + plan::variation_words(row);
  }
  return text + fmt::format(". Of the belt or film on {}, against {}.", speed.surface,
                            words.one(speed.intended_mm, 3));
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

std::string plan_facts(const plan::ReplacementPlan& p, const LengthWords& words) {
  std::string rows;
  const auto add = [&](const char* name, const std::string& text) {
    rows += fmt::format("<tr><th scope=\"row\">{}</th><td>{}</td></tr>", name, words_markup(text));
  };
  if (p.fit) add("Fit and grip", fit_words(*p.fit, words));
  for (const auto& ranking : p.tools) add("Tool", tool_words(ranking, words));
  if (!p.form_tools.empty()) add("Form tool", form_tool_words(p.form_tools, words));
  if (p.crown)
    add("Crown",
        fmt::format("R {} over {}: the edges are {} lower, {} in diameter.", words.one(p.crown->radius_mm, 3),
                    words.one(p.crown->width_mm, 3), words.both_at(p.crown->height_mm, 3),
                    words.both_at(p.crown->edge_diameter_mm, 3)));
  if (p.speed) add("Speed", speed_words(*p.speed, words));
  if (p.rotor) add("Mass", mass_words(*p.rotor));
  if (rows.empty()) return {};
  return "<table class=\"facts\"><caption>Fit, tools, speed, mass</caption><tbody>" + rows +
         "</tbody></table>\n";
}

}  // namespace rondure
