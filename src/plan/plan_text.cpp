// The plan for a terminal: the figures to dial first, then why.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "rondure/core/length.hpp"
#include "rondure/plan/replacement_plan.hpp"

namespace rondure::plan {
namespace {

constexpr std::size_t kWidth = 100;

// Whole micrometres where that is exact, tenths where the limits are finer.
int decimals_of(std::initializer_list<std::optional<double>> values_mm) {
  for (const auto& v : values_mm)
    if (v && std::fabs(*v * 1000 - std::round(*v * 1000)) > 0.02) return 4;
  return 3;
}

std::string mm_text(const std::optional<double>& v, int decimals) {
  return v ? fmt::format("{:.{}f}", *v, decimals) : "";
}
// Lower limits rounded up, upper ones down: a limit in inches never lies outside the one in mm.
std::string inch_text(const std::optional<double>& mm, int toward) {
  if (!mm) return "";
  const double scaled = *mm / kMmPerInch * 1e5;
  const double whole = toward > 0   ? std::ceil(scaled - 1e-3)
                       : toward < 0 ? std::floor(scaled + 1e-3)
                                    : std::round(scaled);
  return fmt::format("{:.5f}", whole / 1e5);
}

std::string um_and_thou(double mm) { return fmt::format("{:.1f} um ({:.2f} thou)", mm * 1000, mm / 0.0254); }

std::string percent(double ratio) {
  const double p = std::fabs(ratio) * 100;
  return fmt::format("{:.{}f} %", p, p < 0.0995 ? 3 : 2);
}
std::string signed_percent(double ratio) { return (ratio < 0 ? "-" : "+") + percent(ratio); }
std::string chance(double p) {
  return p < 0.001 ? "under 0.1 %"
         : p < 0.1 ? fmt::format("{:.1f} %", 100 * p)
                   : fmt::format("{:.0f} %", 100 * p);
}

std::string reason(const PlannedSize& s) {
  std::string text = s.tolerance;
  const auto add = [&](const std::string& more) { text += (text.empty() ? "" : "; ") + more; };
  if (s.basis == SizeBasis::kChosen) add("your choice");
  if (s.basis == SizeBasis::kStated) add("as stated");
  if (s.basis == SizeBasis::kMeasured) add("AS MEASURED TODAY");
  if (s.basis == SizeBasis::kOriginal || s.basis == SizeBasis::kOriginalUndecided)
    add(fmt::format("drawn as {}, {:.0f} %{}", s.original_label, s.probability.value_or(0) * 100,
                    s.basis == SizeBasis::kOriginal ? "" : " ONLY"));
  return text;
}

std::string sizes_text(const ReplacementPlan& plan) {
  std::size_t name_width = 6;
  for (const PlannedSize& s : plan.sizes)
    name_width = std::max(name_width, s.name.size() + 2 + (s.kind == FeatureKind::kArc ? 2 : 0));
  std::string text = fmt::format("  {:<{}}{:>9}{:>10}{:>9}   {:>8}{:>10}{:>9}   {}\n", "make", name_width,
                                 "mm", "from", "to", "inch", "from", "to", "how");
  for (const PlannedSize& s : plan.sizes) {
    const int d = decimals_of({s.target_mm, s.lower_mm, s.upper_mm});
    text +=
        fmt::format("  {:<{}}{:>9}{:>10}{:>9}   {:>8}{:>10}{:>9}   {}\n",
                    s.name + (s.kind == FeatureKind::kArc ? " R" : ""), name_width, mm_text(s.target_mm, d),
                    mm_text(s.lower_mm, d), mm_text(s.upper_mm, d), inch_text(s.target_mm, 0),
                    inch_text(s.lower_mm, 1), inch_text(s.upper_mm, -1), reason(s));
    if (s.run_out_mm)
      text += fmt::format("  {:<{}}run-out on the bore within {}, out of round within {}\n", "", name_width,
                          um_and_thou(*s.run_out_mm), um_and_thou(s.roundness_mm.value_or(0)));
  }
  return text;
}

std::string fit_text(const ShaftFit& f) {
  std::string text =
      fmt::format("\nFit       {} ({} fit); shaft {} {:.4f} +- {:.4f} mm ({:.5f} in)\n", f.text, name(f.kind),
                  f.shaft_measured ? "measured" : "not measured, taken as", f.shaft_mm.value, f.shaft_mm.u,
                  f.shaft_mm.value / kMmPerInch);
  const Interval& i = f.chance.interference_mm;
  const auto signed_um = [](double mm) {
    return um_and_thou(std::fabs(mm)) + (mm >= 0 ? " tight" : " loose");
  };
  text += fmt::format("          {} to {}; {} chance of missing the fit's limits, {} of no interference\n",
                      signed_um(i.lo), signed_um(i.hi), chance(f.chance.p_below + f.chance.p_above),
                      chance(f.chance.p_loose));
  if (f.press) {
    const PressFitResult& p = *f.press;
    text += fmt::format("          hoop stress at the bore {:.0f} MPa, {:.0f} MPa at the tightest",
                        p.mean.hoop_MPa, p.most.hoop_MPa);
    if (p.yield_margin) text += fmt::format("; yields at {:.2f} times that", *p.yield_margin);
    if (p.strain_margin) text += fmt::format("; stands {:.2f} times that strain for years", *p.strain_margin);
    text += "\n";
    if (p.holding_torque_Nmm && *p.holding_torque_Nmm > 0)
      text += fmt::format(
          "          holds about {:.0f} N mm, {:.0f} N along the shaft (friction {:.1f}, no more than at "
          "first yield)\n",
          *p.holding_torque_Nmm, p.holding_force_N.value_or(0), kFriction);
  }
  for (const std::string& note : f.notes) text += "          " + note + "\n";
  return text;
}

std::string speed_text(const SpeedPlan& speed) {
  std::string text = fmt::format(
      "\nSpeed     of the belt or film on '{}', against {:.3f} mm{}{}\n", speed.surface, speed.intended_mm,
      speed.belt_thickness_mm > 0 ? fmt::format(" and a belt of {:g} mm", speed.belt_thickness_mm)
                                  : std::string(),
      speed.turns_hz ? fmt::format(", {:.2f} turns a second", *speed.turns_hz) : std::string());
  for (const SpeedRow& row : speed.rows) {
    text += fmt::format("          {:<14}", row.what);
    if (row.mean_error_ratio) {
      const Interval& mean = *row.mean_error_ratio;
      text += mean.width() > 0
                  ? fmt::format("mean {} to {}, ", signed_percent(mean.lo), signed_percent(mean.hi))
                  : fmt::format("mean {}, ", signed_percent(mean.lo));
    }
    text += fmt::format("varies +-{}", percent(row.peak_ratio));
    std::string parts;
    for (const SpeedHarmonic& h : row.harmonics)
      if (h.amplitude_ratio > 2e-4 && h.per_turn <= 3)
        parts +=
            fmt::format("{}{}x +-{}", parts.empty() ? " (" : ", ", h.per_turn, percent(h.amplitude_ratio));
    text += parts.empty() ? "" : parts + ")";
    if (row.audible_ratio) text += fmt::format(", weighted {} rms", percent(*row.audible_ratio));
    if (!row.eccentricity_known) text += ", eccentricity not known";
    text += "\n";
  }
  return text;
}

std::string tools_text(const ReplacementPlan& plan) {
  std::string text;
  for (const ToolRanking& r : plan.tools) {
    text += fmt::format(
        "\nTool      for '{}' R {:.3f} mm ({:.4f} in) over {:.2f} mm; the measured radius tells the edge to "
        "{}\n",
        r.wanted.name, r.wanted.radius_mm.value, r.wanted.radius_mm.value / kMmPerInch, r.wanted.width_mm,
        um_and_thou(r.measurement_can_tell_mm));
    for (std::size_t i = 0; i < r.choices.size() && i < 5; ++i) {
      const ToolChoice& c = r.choices[i];
      text += fmt::format("        {} {:<36} R {:>7.3f} mm ({:.4f} in)  edge {:+.1f} um ({:+.2f} thou){}\n",
                          i == 0 ? '>' : ' ', c.tool, c.radius_mm, c.radius_mm / kMmPerInch,
                          c.edge_error_mm * 1000, c.edge_error_mm / 0.0254,
                          c.within_measurement ? ", within the measurement" : "");
    }
    if (r.choices.empty()) text += "          nothing on the shelf is large enough for the width\n";
  }
  for (const FormTool& t : plan.form_tools) {
    if (t.which == FormToolCase::kSection)
      text += fmt::format(
          "\nForm tool clearance {:g}, rake {:g} degrees. Ground round along the flank (gauge square to the "
          "flank): "
          "grind R {:.3f} mm\n          ({:.4f} in); ground to {:.3f} it would cut {:.3f}\n",
          t.clearance_deg, t.rake_deg, t.ground_radius_mm, t.ground_radius_mm / kMmPerInch,
          t.wanted_radius_mm, t.uncorrected_radius_mm);
    else
      text += fmt::format("          True arc in its own top face: grind R {:.3f} mm ({:.4f} in){}\n",
                          t.ground_radius_mm, t.ground_radius_mm / kMmPerInch,
                          t.rake_deg == 0 ? ", no correction without rake" : "");
  }
  if (plan.crown)
    text += fmt::format(
        "\nCrown     R {:.3f} mm over {:.3f} mm: edges {:.3f} mm ({:.4f} in) lower, {:.3f} mm ({:.4f} in) "
        "diameter at the "
        "edges\n          {}\n",
        plan.crown->radius_mm, plan.crown->width_mm, plan.crown->height_mm,
        plan.crown->height_mm / kMmPerInch, plan.crown->edge_diameter_mm,
        plan.crown->edge_diameter_mm / kMmPerInch,
        usual_crown(plan.running() ? plan.running()->target_mm : 0));
  return text;
}

std::string rotor_text(const RotorPlan& r) {
  const char* per = r.per_mm_width ? " per mm of width" : "";
  std::string text = fmt::format("\nMass      new {:.3f} g, inertia {:.1f} g mm2 ({}){}\n", r.new_part.mass_g,
                                 r.new_part.inertia_g_mm2, r.new_material, per);
  if (r.old_part)
    text += fmt::format("          old {:.3f} g, inertia {:.1f} g mm2 ({}){}\n", r.old_part->mass_g,
                        r.old_part->inertia_g_mm2, r.old_material, per);
  else
    text += "          old material not known: name it with --material-old\n";
  if (r.change) {
    const RotorChange& c = *r.change;
    text += fmt::format(
        "          inertia is {:.2f} times the old part's: start-up takes {:.2f} times as long at the same "
        "torque; "
        "speed ripple far "
        "above\n          the belt's corner falls to {:.2f}",
        c.inertia_ratio, c.start_time_ratio, c.ripple_ratio_far_above);
    if (c.corner_new_hz)
      text += fmt::format("; corner {:.1f} Hz, was {:.1f} Hz", *c.corner_new_hz, c.corner_old_hz.value_or(0));
    if (c.ripple_new_ratio)
      text += fmt::format(
          "; ripple at {:g} Hz passes {:.2f} times{}", r.ripple_hz.value_or(0), *c.ripple_new_ratio,
          c.ripple_old_ratio ? fmt::format(", was {:.2f}", *c.ripple_old_ratio) : std::string());
    text += "\n";
    if (c.near_resonance)
      text += "          that rate is near the resonance of belt and rotor: expect more ripple, not less\n";
  }
  if (r.mean_hoop_MPa && r.burst_speed_margin) {
    if (*r.burst_speed_margin > 50)
      text += fmt::format("          at {:.0f} rpm the centrifugal stress does not matter\n",
                          r.speed_rpm.value_or(0));
    else
      text += fmt::format(
          "          at {:.0f} rpm: centrifugal hoop stress {:.3g} MPa, bursts at about {:.1f} times this "
          "speed\n",
          r.speed_rpm.value_or(0), r.hoop_MPa.value_or(0), *r.burst_speed_margin);
  }
  return text;
}

std::string checks_text(const std::vector<CheckLine>& lines) {
  std::string text = "\nCheck     in the order of making\n";
  std::size_t name_width = 0;
  for (const CheckLine& c : lines) name_width = std::max(name_width, c.name.size() + 2);
  int number = 0;
  for (const CheckLine& c : lines) {
    std::string limits;
    const int d = decimals_of({c.lower_mm, c.upper_mm});
    if (c.lower_mm && c.upper_mm)
      limits = fmt::format("{:.{}f} to {:.{}f}", *c.lower_mm, d, *c.upper_mm, d);
    else if (c.upper_mm)
      limits = fmt::format("up to {:.{}f}", *c.upper_mm, d);
    text += fmt::format("       {:>2} {:<{}}{:<20} ________  {}{}\n", ++number, c.name, name_width, limits,
                        c.instrument,
                        c.zone_over_U > 0 && c.zone_over_U < 4 * (1 - 1e-9)
                            ? fmt::format(" (only {:.1f} to 1)", c.zone_over_U)
                            : "");
  }
  return text;
}

std::string wrapped(const std::string& first, const std::string& sentence) {
  const std::string indent(first.size(), ' ');
  std::string text, line = first;
  for (std::size_t at = 0; at < sentence.size();) {
    auto end = sentence.find(' ', at);
    if (end == std::string::npos) end = sentence.size();
    const std::string word = sentence.substr(at, end - at);
    if (line.size() + word.size() + 1 > kWidth && line.size() > first.size()) {
      text += line + "\n";
      line = indent;
    }
    line += (line.size() > first.size() ? " " : "") + word;
    at = end + 1;
  }
  return text + line + "\n";
}

}  // namespace

std::string plan_text(const ReplacementPlan& plan, const Ink& ink) {
  std::string text =
      fmt::format("{}: replacement in {}\n", plan.part.empty() ? "part" : plan.part, plan.material_new);
  text += sizes_text(plan);
  if (!plan.warnings.empty()) {
    text += "\n";
    for (const Warning& w : plan.warnings) {
      const std::string label = "Caution";
      text += wrapped(label + "   ", w.text).replace(0, label.size(), ink(Says::kDoubtful, label));
    }
  }
  if (plan.fit) text += fit_text(*plan.fit);
  if (plan.speed) text += speed_text(*plan.speed);
  text += tools_text(plan);
  if (plan.rotor) text += rotor_text(*plan.rotor);
  if (!plan.check_sheet.empty()) text += checks_text(plan.check_sheet);
  text += "\n";
  bool first = true;
  for (const Warning& c : plan.cautions) {
    text += wrapped(first ? "Care      " : "          ", c.text);
    first = false;
  }
  return text;
}

}  // namespace rondure::plan
