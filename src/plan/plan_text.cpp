// The plan for a terminal: the figures to dial first, then why.
#include "rondure/plan/plan_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "rondure/core/percent.hpp"
#include "rondure/core/shown.hpp"
#include "rondure/core/warning.hpp"

namespace rondure::plan {
namespace {

constexpr std::size_t kIndent = 10;  // columns of the word in front of a paragraph

// "21.0 um (0.83 thou)", the unit asked for in front.
std::string fine(double mm, const LengthWords& words) {
  const std::string um = fmt::format("{:.1f} um", mm * 1000), thou = fmt::format("{:.2f} thou", mm / 0.0254);
  return words.inch_first() ? thou + " (" + um + ")" : um + " (" + thou + ")";
}

// A paragraph behind its word, wrapped.
std::string paragraph(const std::string& label, const std::string& text, const TextOptions& options) {
  return wrapped(text, fmt::format("{:<{}}", label, kIndent), std::string(options.all ? kIndent : 2, ' '),
                 options.width);
}

std::string percent(double ratio) {
  const double p = std::fabs(ratio) * 100;
  return fmt::format("{:.{}f} %", p, p < 0.0995 ? 3 : 2);
}
std::string signed_percent(double ratio) { return (ratio < 0 ? "-" : "+") + percent(ratio); }
std::string chance_told(const PlannedSize& s) { return rondure::percent(s.probability.value_or(0)); }

std::string reason(const PlannedSize& s) {
  std::string text = s.tolerance;
  const auto add = [&](const std::string& more) { text += (text.empty() ? "" : "; ") + more; };
  if (s.basis == SizeBasis::kChosen) add("your choice");
  if (s.basis == SizeBasis::kStated) add("as stated");
  if (s.basis == SizeBasis::kMeasured) add("AS MEASURED TODAY");
  if (s.basis == SizeBasis::kOriginal || s.basis == SizeBasis::kOriginalUndecided)
    add("drawn as " + s.original_label + ", " + chance_told(s) +
        (s.basis == SizeBasis::kOriginal ? "" : " ONLY"));
  return text;
}

// The tolerance, and in a word or two where the size comes from, for narrow tables.
std::string short_reason(const PlannedSize& s) {
  std::string text = s.tolerance.substr(0, s.tolerance.find(' '));
  const auto add = [&](const std::string& more) { text += (text.empty() ? "" : " ") + more; };
  if (s.basis == SizeBasis::kChosen) add("chosen");
  if (s.basis == SizeBasis::kStated) add("stated");
  if (s.basis == SizeBasis::kMeasured) add("AS TODAY");
  if (s.basis == SizeBasis::kOriginal || s.basis == SizeBasis::kOriginalUndecided)
    add((s.probability.value_or(0) > 0.995 ? ">99 %" : chance_told(s)) +
        (s.basis == SizeBasis::kOriginal ? "" : " ONLY"));
  return text;
}

std::string sizes_text(const ReplacementPlan& plan, const LengthWords& words, const TextOptions& options) {
  constexpr std::size_t kReasonWidth = 48;  // columns of a size's whole reason; else its short one
  std::size_t name_width = 6;
  for (const PlannedSize& s : plan.sizes)
    name_width = std::max(name_width, s.name.size() + (s.kind == FeatureKind::kArc ? 2 : 0));
  const LengthUnit first = words.inch_first() ? LengthUnit::kInch : LengthUnit::kMm,
                   second = words.inch_first() ? LengthUnit::kMm : LengthUnit::kInch;
  const std::string a(symbol(first)), b(symbol(second));
  using Cells = std::array<std::string, 4>;
  std::vector<Cells> rows{{a, "limits", b, "limits"}};
  for (const PlannedSize& s : plan.sizes) {
    const PrintedLimits p(s.lower_mm, s.upper_mm, s.target_mm);
    const auto limits = [&](LengthUnit unit) {
      return s.lower_mm && s.upper_mm ? p.range(unit) : std::string();
    };
    rows.push_back({p.target(first), limits(first), p.target(second), limits(second)});
  }
  std::array<std::size_t, 4> widths{};
  for (const Cells& row : rows)
    for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], row[i].size());
  const auto line_of = [&](const std::string& name, const Cells& row, const std::string& how) {
    std::string line = fmt::format("  {:<{}}", name, name_width);
    for (std::size_t i = 0; i < row.size(); ++i)
      line += fmt::format("{}{:>{}}", i == 2 ? "  " : " ", row[i], widths[i]);
    line += "  " + how;
    line.erase(line.find_last_not_of(' ') + 1);
    return line + "\n";
  };
  const bool wide = name_width + 61 + kReasonWidth <= options.width;
  std::string text = line_of("make", rows.front(), "how");
  for (std::size_t i = 0; i < plan.sizes.size(); ++i) {
    const PlannedSize& s = plan.sizes[i];
    text += line_of(s.name + (s.kind == FeatureKind::kArc ? " R" : ""), rows[i + 1],
                    wide ? reason(s) : short_reason(s));
    const auto within = [&](const std::optional<double>& mm) {
      const PrintedLimits limit({}, mm);
      return fmt::format("{} {} ({} {})", limit.upper(first), a, limit.upper(second), b);
    };
    if (!s.run_out_mm || !s.roundness_mm) continue;
    const bool alike = within(s.run_out_mm) == within(s.roundness_mm);
    text += wrapped(alike ? "run-out on the bore and out of round within " + within(s.run_out_mm)
                          : "run-out on the bore within " + within(s.run_out_mm) + ", out of round within " +
                                within(s.roundness_mm),
                    "    ", "    ", options.width);
  }
  return text;
}

std::string fit_text(const ShaftFit& f, const LengthWords& words, const TextOptions& options) {
  const Interval& i = f.chance.interference_mm;
  const auto signed_fine = [&](double mm) {
    return fine(std::fabs(mm), words) + (mm >= 0 ? " tight" : " loose");
  };
  std::string text = options.all ? fmt::format("{} ({} fit); shaft {} {}", f.text, name(f.kind),
                                               f.shaft_measured ? "measured" : "not measured, taken as",
                                               words.one_u(f.shaft_mm.value, f.shaft_mm.u))
                                 : f.text;
  text += fmt::format(": {} to {}; {} chance of missing the fit's limits", signed_fine(i.lo),
                      signed_fine(i.hi), chance_words(f.chance.p_below + f.chance.p_above));
  if (options.all || f.chance.p_loose >= 0.001)
    text += fmt::format(", {} of no interference", chance_words(f.chance.p_loose));
  std::string grip;
  if (f.press && f.press->holding_torque_Nmm.value_or(0) > 0)
    grip = fmt::format("; holds about {:.0f} N mm, {:.0f} N along the shaft", *f.press->holding_torque_Nmm,
                       f.press->holding_force_N.value_or(0));
  if (!options.all) return paragraph("Fit", text + grip, options);
  std::string out = paragraph("Fit", text + ".", options);
  if (f.press) {
    const PressFitResult& p = *f.press;
    text = fmt::format("Hoop stress at the bore {:.0f} MPa, {:.0f} MPa at the tightest", p.mean.hoop_MPa,
                       p.most.hoop_MPa);
    if (p.yield_margin) text += fmt::format("; yields at {:.2f} times that", *p.yield_margin);
    if (p.strain_margin) text += fmt::format("; stands {:.2f} times that strain for years", *p.strain_margin);
    if (!grip.empty()) grip += fmt::format(" (friction {:.1f}, no more than at first yield)", kFriction);
    out += paragraph("", text + grip + ".", options);
  }
  for (const std::string& note : f.notes) out += paragraph("", note, options);
  return out;
}

bool variation_seen(const SpeedRow& row) {
  return row.eccentricity_known ||
         std::ranges::any_of(row.harmonics, [](const SpeedHarmonic& h) { return h.amplitude_ratio > 1e-9; });
}

std::string speed_row(const SpeedRow& row, bool all) {
  std::string text = row.what + ": ";
  if (row.mean_error_ratio) {
    const Interval& mean = *row.mean_error_ratio;
    text += mean.width() > 0
                ? fmt::format("mean {} to {}, ", signed_percent(mean.lo), signed_percent(mean.hi))
                : fmt::format("mean {}, ", signed_percent(mean.lo));
  }
  if (!variation_seen(row)) return text + variation_words(row);
  text += fmt::format("varies +-{}", percent(row.peak_ratio));
  std::string parts;
  for (const SpeedHarmonic& h : row.harmonics)
    if (h.amplitude_ratio > 2e-4 && h.per_turn <= 3)
      parts += fmt::format("{}{}x +-{}", parts.empty() ? " (" : ", ", h.per_turn, percent(h.amplitude_ratio));
  if (all && !parts.empty()) text += parts + ")";
  if (all && row.audible_ratio) text += fmt::format(", weighted {} rms", percent(*row.audible_ratio));
  if (!row.eccentricity_known) text += ", eccentricity not known";
  return text;
}

std::string speed_text(const SpeedPlan& speed, const LengthWords& words, const TextOptions& options) {
  std::string about = fmt::format(
      "of the belt or film on '{}', against {}{}{}", speed.surface, words.one(speed.intended_mm, 3),
      speed.belt_thickness_mm > 0 ? " and a belt of " + words.one(speed.belt_thickness_mm, 3) : std::string(),
      speed.turns_hz ? fmt::format(", {:.2f} turns a second", *speed.turns_hz) : std::string());
  std::string rows;
  for (const SpeedRow& row : speed.rows) {
    if (options.all)
      rows += paragraph("", speed_row(row, true), options);
    else if (row.what != "old, nib off")
      about += "; " + speed_row(row, false);
  }
  return paragraph("Speed", about, options) + rows;
}

std::string choice_words(const ToolChoice& c, const LengthWords& words) {
  return fmt::format("{}, R {}, edge {}{}{}", c.tool, words.both_at(c.radius_mm, 3),
                     c.edge_error_mm < 0 ? "-" : "+", fine(std::fabs(c.edge_error_mm), words),
                     c.within_measurement ? ", within the measurement" : "");
}

std::string tools_text(const ReplacementPlan& plan, const LengthWords& words, const TextOptions& options) {
  std::string text;
  constexpr std::size_t kMostTools = 5;  // the best of a ranking
  for (const ToolRanking& r : plan.tools) {
    const std::string wanted =
        fmt::format("for '{}' R {} over {}", r.wanted.name, words.one(r.wanted.radius_mm.value, 3),
                    words.one(r.wanted.width_mm, 3));
    if (r.choices.empty()) {
      text += paragraph("Tool", wanted + ": nothing on the shelf is large enough for the width", options);
      continue;
    }
    if (!options.all) {
      const ToolChoice& best = r.choices.front();
      const double off_mm = best.edge_error_mm;
      text += paragraph(
          "Tool",
          fmt::format("for '{}' R {}: {} (R {}), edge {}", r.wanted.name,
                      words.one(r.wanted.radius_mm.value, 3), best.tool, words.one(best.radius_mm, 3),
                      words.inch_first() ? fmt::format("{:+.2f} thou", off_mm / 0.0254)
                                         : fmt::format("{:+.1f} um", off_mm * 1000)),
          options);
      continue;
    }
    text += paragraph(
        "Tool", wanted + "; the measured radius fixes the edge to " + fine(r.measurement_can_tell_mm, words),
        options);
    for (std::size_t i = 0; i < r.choices.size() && i < kMostTools; ++i)
      text += wrapped(choice_words(r.choices[i], words), i == 0 ? "        > " : "          ", "            ",
                      options.width);
  }
  for (const FormTool& t : plan.form_tools) {
    if (!options.all) {
      const bool asked =
          t.clearance_deg != PlanOptions{}.clearance_deg || t.rake_deg != PlanOptions{}.rake_deg;
      if (t.which == FormToolCase::kSection && asked)
        text += paragraph("Form tool",
                          fmt::format("ground round along the flank: R {} (clearance {:g}, rake {:g})",
                                      words.one(t.ground_radius_mm, 3), t.clearance_deg, t.rake_deg),
                          options);
      continue;
    }
    text +=
        t.which == FormToolCase::kSection
            ? paragraph(
                  "Form tool",
                  fmt::format("clearance {:g}, rake {:g} degrees, ground round along the flank (gauge "
                              "square to the flank): grind R {}; ground to {} it would cut {}",
                              t.clearance_deg, t.rake_deg, words.both_at(t.ground_radius_mm, 3),
                              words.number(t.wanted_radius_mm, 3), words.number(t.uncorrected_radius_mm, 3)),
                  options)
            : paragraph("",
                        fmt::format("True arc in its own top face: grind R {}{}",
                                    words.both_at(t.ground_radius_mm, 3),
                                    t.rake_deg == 0 ? ", no correction without rake" : ""),
                        options);
  }
  if (!plan.crown) return text;
  const Crown& c = *plan.crown;
  std::string of_arc;  // which arc was taken for it
  for (const PlannedSize& s : plan.sizes)
    if (s.kind == FeatureKind::kArc && !s.of.empty()) of_arc = "'" + s.name + "' ";
  std::string crown = fmt::format("{}R {} over {}: edges {} lower", of_arc, words.one(c.radius_mm, 3),
                                  words.one(c.width_mm, 3), words.one(c.height_mm, 3));
  if (options.all)
    crown += ", diameter " + words.both_at(c.edge_diameter_mm, 3) + " there; " +
             usual_crown(plan.running() ? plan.running()->target_mm : 0);
  return text + paragraph("Crown", crown, options);
}

std::string change_words(const RotorPlan& r, bool all) {
  const RotorChange& c = *r.change;
  std::string text;
  if (all)
    text = fmt::format(
        "; inertia {:.2f} times the old part's: start-up takes {:.2f} times as long at the same torque; "
        "speed ripple "
        "far above the belt's corner falls to {:.2f}",
        c.inertia_ratio, c.start_time_ratio, c.ripple_ratio_far_above);
  if (c.corner_new_hz)
    text += fmt::format("; corner {:.1f} Hz, was {:.1f} Hz", *c.corner_new_hz, c.corner_old_hz.value_or(0));
  if (c.ripple_new_ratio)
    text +=
        fmt::format("; ripple at {:g} Hz passes {:.2f} times{}", r.ripple_hz.value_or(0), *c.ripple_new_ratio,
                    c.ripple_old_ratio ? fmt::format(", was {:.2f}", *c.ripple_old_ratio) : std::string());
  if (c.near_resonance)
    text += "; that rate is near the resonance of belt and rotor: expect more ripple, not less";
  return text;
}

std::string rotor_text(const RotorPlan& r, const TextOptions& options) {
  const char* per = r.per_mm_width ? " per mm of width" : "";
  std::string text;
  if (options.all) {
    text = fmt::format("new {:.3f} g, {:.1f} g mm2{} ({})", r.new_part.mass_g, r.new_part.inertia_g_mm2, per,
                       r.new_material);
    if (r.old_part)
      text += fmt::format("; old {:.3f} g, {:.1f} g mm2{} ({})", r.old_part->mass_g,
                          r.old_part->inertia_g_mm2, per, r.old_material);
  } else {
    text = fmt::format(
        "new {:.3f} g{}{}; inertia {:.1f} g mm2{}", r.new_part.mass_g,
        r.old_part ? fmt::format(", old {:.3f} g", r.old_part->mass_g) : std::string(), per,
        r.new_part.inertia_g_mm2,
        r.change ? fmt::format(", {:.2f} times the old part's", r.change->inertia_ratio) : std::string());
  }
  if (!r.old_part) text += "; old material not known: name it with --material-old";
  if (r.change) text += change_words(r, options.all);
  if (r.mean_hoop_MPa && r.burst_speed_margin) {
    const bool matters = *r.burst_speed_margin <= 50;
    if (matters)
      text += fmt::format(
          "; at {:.0f} rpm: centrifugal hoop stress {:.3g} MPa, bursts at about {:.1f} times this speed",
          r.speed_rpm.value_or(0), r.hoop_MPa.value_or(0), *r.burst_speed_margin);
    else if (options.all)
      text += fmt::format("; at {:.0f} rpm the centrifugal stress is too small to matter",
                          r.speed_rpm.value_or(0));
  }
  return paragraph("Mass", text, options);
}

std::string checks_text(const std::vector<CheckLine>& lines, const LengthWords& words) {
  std::string text = "Check     in the order of making\n";
  const LengthUnit unit = words.inch_first() ? LengthUnit::kInch : LengthUnit::kMm;
  std::size_t name_width = 0;
  for (const CheckLine& c : lines) name_width = std::max(name_width, c.name.size() + 2);
  int number = 0;
  for (const CheckLine& c : lines) {
    const std::string limits =
        c.upper_mm ? PrintedLimits(c.lower_mm, c.upper_mm).range(unit) + " " + words.symbol() : std::string();
    text += fmt::format("       {:>2} {:<{}}{:<22} ________  {}{}\n", ++number, c.name, name_width, limits,
                        c.instrument,
                        c.zone_over_U > 0 && c.zone_over_U < 4 * (1 - 1e-9)
                            ? fmt::format(" (only {:.1f} to 1)", c.zone_over_U)
                            : "");
  }
  return text;
}

// Cautions of the work: one a line, or one paragraph of them all.
std::string care_text(const std::vector<Warning>& cautions, const TextOptions& options) {
  std::string text, all;
  for (const Warning& c : cautions) {
    if (options.all) text += paragraph(text.empty() ? "Care" : "", c.text, options);
    all += (all.empty() ? "" : " ") + c.text;
  }
  return options.all ? text : wrapped(all, "Care  ", "  ", options.width);
}

// Sizes whose original is not decided, in one sentence.
std::string undecided_words(const ReplacementPlan& plan) {
  std::string text;
  for (const PlannedSize& s : plan.sizes)
    if (s.basis == SizeBasis::kOriginalUndecided)
      text += fmt::format("{}{} ({}, {:.0f} %)", text.empty() ? "" : ", ", s.name, s.original_label,
                          100 * s.probability.value_or(0));
  return text.empty()
             ? text
             : text + ": the original is not decided; measure more before you cut, or --choose NAME=SIZE";
}

std::string warnings_text(const ReplacementPlan& plan, const TextOptions& options) {
  std::string text;
  const auto add = [&](const std::string& words) {
    text += marked(wrapped(words, "Caution   ", options.all ? "          " : "  ", options.width), "Caution",
                   options.ink, Says::kDoubtful);
  };
  const std::string undecided = options.all ? "" : undecided_words(plan);
  if (!undecided.empty()) add(undecided);
  for (const Warning& w : plan.warnings)
    if (is_note(w))
      text += wrapped(LengthWords(options.unit).sentence(w.text), "Note      ",
                      options.all ? "          " : "  ", options.width);
    else if (undecided.empty() || w.code != WarningCode::kSizeUndecided)
      add(LengthWords(options.unit).sentence(w.text));
  return text;
}

}  // namespace

std::string plan_text(const ReplacementPlan& plan, const Ink& ink) {
  TextOptions options;
  options.ink = ink;
  return plan_text(plan, options);
}

bool is_note(const Warning& warning) { return warning.code == WarningCode("names-differ"); }

std::string variation_words(const SpeedRow& row) {
  if (!variation_seen(row)) return "how it varies in a turn is not known";
  return fmt::format("varies +-{}", percent(row.peak_ratio)) +
         (row.eccentricity_known ? "" : ", eccentricity not known");
}

std::string plan_text(const ReplacementPlan& plan, const TextOptions& options) {
  const LengthWords words(options.unit);
  std::string text =
      fmt::format("{}: replacement in {}\n", plan.part.empty() ? "part" : plan.part, plan.material_new);
  text += sizes_text(plan, words, options);
  const auto add = [&](const std::string& more) {
    if (!more.empty()) text += (options.all ? "\n" : "") + more;
  };
  add(warnings_text(plan, options));
  if (plan.fit) add(fit_text(*plan.fit, words, options));
  if (plan.speed) add(speed_text(*plan.speed, words, options));
  add(tools_text(plan, words, options));
  if (plan.rotor) add(rotor_text(*plan.rotor, options));
  if (options.all && !plan.check_sheet.empty()) add(checks_text(plan.check_sheet, words));
  if (!plan.cautions.empty()) add(care_text(plan.cautions, options));
  return text;
}

}  // namespace rondure::plan
