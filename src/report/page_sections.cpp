#include "page_sections.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "charts.hpp"
#include "decimals.hpp"
#include "photo_figure.hpp"
#include "svg.hpp"

namespace rondure {
namespace {

std::string percent(double p) {
  if (p < 0.01) return "under 1 %";
  if (p > 0.995) return "over 99 %";
  return fmt::format("{:.0f} %", 100 * p);
}

std::string range_words(const Interval& range_mm, int decimals) {
  return fmt::format("{:.{}f} to {:.{}f} mm", range_mm.lo, decimals, range_mm.hi, decimals);
}

std::string list_of(const std::vector<std::string>& items) {
  if (items.empty()) return {};
  std::string html = "<ul>";
  for (const auto& item : items) html += "<li>" + words_markup(item) + "</li>";
  return html + "</ul>\n";
}

// What the shape is, in words a reader can check against the chart.
std::string shape_words(const Feature& f) {
  std::string words;
  if (f.verdict == "round")
    words = "Round, as far as these points can tell.";
  else if (f.verdict == "oval")
    words = "Oval.";
  else if (f.verdict == "lobed")
    words = "Lobed.";
  else if (f.verdict == "irregular")
    words = "Out of round without a simple pattern.";
  else if (f.verdict == "undecided")
    words = "Cannot tell whether it is round from these points.";
  if (f.ellipse && f.ellipse->ovality95_mm) {
    const auto& o = *f.ellipse->ovality95_mm;
    const int decimals = shown_decimals(f.ellipse->u_ovality_mm);
    words +=
        fmt::format(" Ovality {} (95 %: {}).", size_words(f.ellipse->ovality_mm, f.ellipse->u_ovality_mm),
                    range_words(o, decimals));
    if (f.ellipse->p_round)
      words += fmt::format(
          " A truly round part would show as much in {} of cases.",
          *f.ellipse->p_round < 0.001 ? "under 0.1 %" : fmt::format("{:.1f} %", 100 * *f.ellipse->p_round));
  }
  return words;
}

// The readings of an oval or worn feature side by side.
std::string shapes_table(const OriginalFeature& f) {
  if (f.shapes.empty()) return {};
  std::string rows;
  for (const ShapeVerdict& s : f.shapes)
    rows += fmt::format(
        "<tr><th scope=\"row\">{}</th><td class=\"figure\">{}{:.3f} mm<br>{:.4f} in</td><td "
        "class=\"figure\">{}<br>"
        "<span class=\"soft\">then {} ({})</span></td></tr>",
        escape_markup(sentence(s.shape)), s.at_least ? (f.kind == "bore" ? "at most " : "at least ") : "",
        s.implied_mm, s.implied_mm / kMmPerInch, percent(s.probability), escape_markup(s.best_label),
        percent(s.best_probability));
  return "<table><caption>" + escape_markup(f.name) +
         ": how its shape may have come about</caption><thead><tr><th scope=\"col\">read as</th>"
         "<th scope=\"col\">size before shrinking</th><th scope=\"col\">chance</th></tr></thead><tbody>" +
         rows + "</tbody></table>\n";
}

std::string roundness_table(const RoundnessResult& r) {
  std::string rows;
  const auto add = [&](const std::string& name, double ront_mm) {
    rows += fmt::format(
        "<tr><th scope=\"row\">{}</th><td class=\"figure\">{:.4f}</td><td class=\"figure\">{:.5f}</td></tr>",
        name, ront_mm, ront_mm / kMmPerInch);
  };
  if (r.lsci) add("least squares (LSCI)", r.lsci->ront_mm);
  for (const FilteredRoundness& f : r.filtered)
    add(fmt::format("the same, 1 to {} UPR", f.cutoff_upr), f.ront_mm);
  if (r.mzci) add("minimum zone (MZCI)", r.mzci->ront_mm);
  if (r.mcci) add("minimum circumscribed (MCCI)", r.mcci->ront_mm);
  if (r.mici) add("maximum inscribed (MICI)", r.mici->ront_mm);
  if (rows.empty()) return {};
  std::string html =
      "<div class=\"keep\"><table><caption>Roundness deviation RONt (ISO 12181-1), counted on the "
      "radius</caption><thead><tr>"
      "<th scope=\"col\">reference circle</th><th scope=\"col\">mm</th><th "
      "scope=\"col\">inch</th></tr></thead><tbody>" +
      rows + "</tbody></table>\n";
  if (r.noise_floor_mm)
    html += fmt::format(
        "<p class=\"soft\">A perfectly round part read with these points would show about {:.4f} mm.</p>\n",
        *r.noise_floor_mm);
  return html + "</div>\n";
}

std::string excluded_list(const Feature& f) {
  if (f.excluded.empty()) return {};
  std::string html = "<div class=\"keep\"><h3>Left out of the fit</h3><ul>";
  for (std::size_t i = 0; i < f.excluded.size(); ++i) {
    const auto& s = f.excluded[i];
    html += fmt::format(
        "<li><strong>{}</strong> at {:.0f}\u00b0{}: {:.3f} mm {} the outline, {} point{}</li>",
        place_letter(i), s.from_deg, s.points > 1 ? fmt::format(" to {:.0f}\u00b0", s.to_deg) : "",
        std::abs(s.height_mm), s.height_mm > 0 ? "above" : "below", s.points, s.points == 1 ? "" : "s");
  }
  return html + "</ul>\n</div>\n";
}

std::string iso_sizes(const SizesResult& s) {
  std::string rows;
  const auto add = [&](const char* code, const char* words, const std::optional<double>& mm) {
    if (mm)
      rows += fmt::format(
          "<tr><th scope=\"row\" class=\"code\">{}</th><td>{}</td><td class=\"figure\">{:.4f}</td><td "
          "class=\"figure\">{:.5f}</td></tr>",
          code, words, *mm, *mm / kMmPerInch);
  };
  add("(GG)", "least squares", s.gg);
  add("(GN)", "minimum circumscribed", s.gn);
  add("(GX)", "maximum inscribed", s.gx);
  add("(CC)", "circumference diameter", s.cc);
  add("(CA)", "area diameter", s.ca);
  add("(LP)(SX)", "largest two-point", s.lp_max);
  add("(LP)(SN)", "smallest two-point", s.lp_min);
  add("(LP)(SR)", "range of two-point", s.lp_range);
  if (rows.empty()) return {};
  return "<div class=\"keep\"><table><caption>Sizes of this section by ISO 14405-1</caption><thead><tr><th "
         "scope=\"col\">code</th><th scope=\"col\">"
         "what</th><th scope=\"col\">mm</th><th scope=\"col\">inch</th></tr></thead><tbody>" +
         rows + "</tbody></table></div>\n";
}

}  // namespace

std::string figure(const std::string& svg, const std::string& caption) {
  if (svg.empty()) return {};
  return "<figure>" + svg +
         (caption.empty() ? "" : "<figcaption>" + escape_markup(caption) + "</figcaption>") + "</figure>\n";
}

std::string words_markup(std::string_view text) {
  std::string html = escape_markup(text);
  for (std::size_t at = 0; (at = html.find("+-", at)) != std::string::npos;) html.replace(at, 2, "\u00b1");
  return html;
}

bool is_arc(const Feature& f) {
  return f.kind == "arc" || (f.points.coverage_deg > 0 && f.points.coverage_deg < 180);
}

std::string size_words(double mm, std::optional<double> u_mm) {
  const int d = shown_decimals(u_mm);
  if (!u_mm) return fmt::format("{:.{}f} mm ({:.{}f} in)", mm, d, mm / kMmPerInch, d + 1);
  return fmt::format("{:.{}f} \u00b1 {:.{}f} mm ({:.{}f} \u00b1 {:.{}f} in)", mm, d, *u_mm, d,
                     mm / kMmPerInch, d + 1, *u_mm / kMmPerInch, d + 1);
}

std::string feature_section(const Feature& f, const PageOptions& options, std::size_t number) {
  std::string html = fmt::format(
      "<section class=\"feature\" aria-labelledby=\"feature-{0}\">\n<h2 id=\"feature-{0}\">{1}</h2>\n",
      number, escape_markup(f.name.empty() ? f.kind : f.name));
  if (f.circle) {
    const double half = is_arc(f) ? 0.5 : 1;
    const auto u = f.circle->u_diameter_mm ? std::optional(*f.circle->u_diameter_mm * half) : std::nullopt;
    html += fmt::format("<p><strong>{} {}</strong>", is_arc(f) ? "Radius" : "Diameter",
                        escape_markup(size_words(f.circle->diameter_mm * half, u)));
    if (f.circle->diameter95_mm) {
      const Interval range{f.circle->diameter95_mm->lo * half, f.circle->diameter95_mm->hi * half};
      html += fmt::format(", 95 % interval {}", range_words(range, shown_decimals(u)));
    } else if (u && f.source.type != "two-point") {
      html += ", with no upper limit: as far as these points tell, the edge may be straight";
    }
    html += ".</p>\n";
  }
  if (const std::string words = shape_words(f); !words.empty())
    html += "<p>" + escape_markup(words) + "</p>\n";
  for (const auto& w : f.warnings)
    html += fmt::format("<p{}>{}</p>\n", w.code == "eccentricity" ? "" : " class=\"caution\"",
                        words_markup(w.text));

  std::string photo;
  for (const auto& picture : options.pictures)
    if (picture.feature == f.name && photo.empty()) photo = photo_figure(f, picture);
  const auto chart = is_arc(f) ? RoundnessChart{} : roundness_chart(f);  // an arc shows better unrolled
  html += "<div class=\"pair\">\n";
  html += figure(photo,
                 "The photograph. Dots: the edge as found; line: fitted circle; dashes: fitted ellipse, "
                 "where the part is oval. Degrees and letters are those of the charts.");
  html += figure(
      chart.svg,
      fmt::format("Deviations enlarged {:.0f} times against the radius. Thin ring: least-squares circle; "
                  "line: measured outline; dashes: ellipse; hatched: left out.",
                  chart.magnification));
  html += figure(deviation_chart(f), "The outline unrolled: deviation from the least-squares circle.");
  html += figure(harmonics_chart(f.harmonics),
                 "How much of the deviation repeats how often. Dark bars stand clear of the noise.");
  html += figure(
      budget_chart(f.budget, is_arc(f) ? 0.5 : 1),
      fmt::format("What the standard uncertainty of the {} is made of.", is_arc(f) ? "radius" : "diameter"));
  html += excluded_list(f);
  if (f.roundness) html += roundness_table(*f.roundness);
  if (f.sizes) html += iso_sizes(*f.sizes);
  return html + "</div>\n</section>\n";
}

std::string sizes_section(const PartRecord& record) {
  std::string rows;
  for (const auto& f : record.features) {
    if (!f.circle) continue;
    const double half = is_arc(f) ? 0.5 : 1, size_mm = f.circle->diameter_mm * half;
    const auto u = f.circle->u_diameter_mm ? std::optional(*f.circle->u_diameter_mm * half) : std::nullopt;
    const int d = shown_decimals(u);
    const auto with_u = [&](double scale, int decimals, const char* unit) {
      return fmt::format("{:.{}f}{}\u00a0{}", size_mm / scale, decimals,
                         u ? fmt::format("\u00a0\u00b1\u00a0{:.{}f}", *u / scale, decimals) : "", unit);
    };
    std::string range;
    if (const auto& both = f.circle->diameter95_mm)
      range = fmt::format("<br><span class=\"soft\">95\u00a0%: {:.{}f} to {:.{}f}\u00a0mm</span>",
                          both->lo * half, d, both->hi * half, d);
    rows += fmt::format(
        "<tr><th scope=\"row\">{}<br><span class=\"soft\">{}</span></th><td class=\"figure\">{}<br>{}{}</td>"
        "<td>{}</td></tr>",
        escape_markup(f.name), is_arc(f) ? "radius" : "diameter", with_u(1, d, "mm"),
        with_u(kMmPerInch, d + 1, "in"), range, escape_markup(f.verdict));
  }
  if (rows.empty()) return {};
  return "<section aria-labelledby=\"sizes\">\n<h2 id=\"sizes\">Sizes and "
         "uncertainty</h2>\n<table><caption>Every feature measured, with its "
         "standard uncertainty</caption><thead><tr><th scope=\"col\">feature</th><th scope=\"col\">size</th>"
         "<th scope=\"col\">shape</th></tr></thead><tbody>" +
         rows + "</tbody></table>\n</section>\n";
}

std::string original_section(const OriginalResult& o) {
  std::string html =
      "<section aria-labelledby=\"original\">\n<h2 id=\"original\">What it was drawn as</h2>\n";
  html += fmt::format(
      "<p>Drawn in metric units: {}; in inch units: {}. Shrinkage since it was made: {:.2f} % (95 %: {:.2f} "
      "to {:.2f} %).</p>\n",
      percent(o.p_metric), percent(1 - o.p_metric), 100 * o.shrinkage_mean, 100 * o.shrinkage95.lo,
      100 * o.shrinkage95.hi);
  html += list_of(o.reasons);
  html += "<div class=\"pair\">\n";
  for (const auto& f : o.features) {
    std::string caption = f.name + ": ";
    if (f.candidates.empty())
      caption += "no candidate";
    else if (f.undecided)
      caption += "undecided; no size stands out";
    else
      caption += "most likely " + f.candidates.front().label;
    html += figure(candidates_chart(f), caption);
  }
  html += "</div>\n";
  for (const auto& f : o.features) html += shapes_table(f);
  if (!o.measure_next.empty()) {
    html += "<h3>What to measure next</h3><ol>";
    for (const auto& m : o.measure_next)
      html += fmt::format("<li>{} <span class=\"soft\">({:.2f} bit)</span></li>", escape_markup(m.what),
                          m.expected_gain_bits);
    html += "</ol>\n";
  }
  for (const auto& w : o.warnings) html += "<p class=\"caution\">" + words_markup(w.text) + "</p>\n";
  return html + "</section>\n";
}

namespace {
// Whether the sizes were brought to 20 degrees: the budget then has a line for it.
bool at_20_c(const Feature& f) {
  return std::ranges::any_of(f.budget, [](const BudgetLine& line) { return line.source == "temperature"; });
}

std::string points_words(const Feature& f) {
  std::string words = fmt::format("{} of {}", f.points.used, f.points.count);
  if (f.points.coverage_deg > 0) words += fmt::format(", over {:.0f}\u00b0", f.points.coverage_deg);
  if (!f.excluded.empty()) {
    std::string letters;
    for (std::size_t i = 0; i < f.excluded.size(); ++i) letters += (i ? " " : "") + place_letter(i);
    words += "; left out: " + letters;
  }
  return words;
}
}  // namespace

std::string method_section(const PartRecord& record, const PageOptions& options) {
  std::string rows;
  bool left_out = false;
  std::size_t brought = 0;
  for (const auto& f : record.features) {
    const bool changed = std::find(options.changed_files.begin(), options.changed_files.end(),
                                   f.source.file) != options.changed_files.end();
    std::string source = f.source.type;
    if (!f.source.file.empty()) source += ", " + f.source.file;
    if (changed) source += " (NOT the file that was measured any more)";
    std::string from = escape_markup(source);
    from +=
        "<br>calibration: " + (f.source.calibration.empty() ? "none" : escape_markup(f.source.calibration));
    if (!f.source.time.empty())
      from += "<br><span class=\"soft\">" + escape_markup(f.source.time) + "</span>";
    rows += fmt::format("<tr><th scope=\"row\">{}</th><td class=\"path\">{}</td><td>{}</td></tr>",
                        escape_markup(f.name), from, points_words(f));
    left_out = left_out || !f.excluded.empty();
    brought += at_20_c(f);
  }
  if (rows.empty()) return {};
  std::string notes = brought == 0 ? "No temperature was given: the sizes are those of the part as it lay."
                      : brought == record.features.size()
                          ? "The sizes are for 20 \u00b0C."
                          : "Only the features whose budget names a temperature are sizes for 20 \u00b0C.";
  if (left_out)
    notes +=
        " Points were left out where they stand further off the outline than its scatter explains: a nib, a "
        "nick or dirt; they are "
        "hatched and lettered in the charts.";
  return "<section aria-labelledby=\"method\">\n<h2 id=\"method\">How it was "
         "measured</h2>\n<table><caption>Sources</caption><thead><tr>"
         "<th scope=\"col\">feature</th><th scope=\"col\">from</th><th scope=\"col\">points "
         "used</th></tr></thead><tbody>" +
         rows + "</tbody></table>\n<p>" + notes +
         "</p>\n<p class=\"soft\">Figures after \u00b1 are standard uncertainties (GUM). Angles run "
         "counter-clockwise from the right. Ovality is counted on the diameter, RONt on the "
         "radius.</p>\n</section>\n";
}

}  // namespace rondure
