// How a feature was measured: the main one with its charts, the further ones folded, a line and a row of small charts each.
#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>

#include "charts.hpp"
#include "page_sections.hpp"
#include "photo_figure.hpp"
#include "rondure/core/shown.hpp"
#include "rondure/core/warning.hpp"
#include "rondure/report/feature_text.hpp"
#include "roundness_words.hpp"
#include "size_word.hpp"
#include "svg.hpp"

namespace rondure {
namespace {

// What the shape is, in words a reader can check against the chart.
std::string shape_words(const Feature& f, const LengthWords& lengths) {
  std::string words;
  if (f.verdict == OutlineForm::kRound)
    words = "Round, as far as these points show.";
  else if (f.verdict == OutlineForm::kOval)
    words = "Oval.";
  else if (f.verdict == OutlineForm::kLobed)
    words = "Lobed.";
  else if (f.verdict == OutlineForm::kIrregular)
    words = "Out of round without a simple pattern.";
  else if (f.verdict == OutlineForm::kUndecided)
    words = "Cannot tell whether it is round from these points.";
  if (f.ellipse && f.ellipse->ovality95_mm) {
    const auto& o = *f.ellipse->ovality95_mm;
    const int decimals = shown_decimals(f.ellipse->u_ovality_mm);
    words += fmt::format(" Ovality {} (95 %: {}).",
                         u_beside_interval(*f.ellipse)
                             ? lengths.both(f.ellipse->ovality_mm, f.ellipse->u_ovality_mm, true)
                             : lengths.both_at(f.ellipse->ovality_mm, decimals),
                         lengths.one_range(o, decimals));
    if (f.ellipse->p_round)
      words += fmt::format(" A truly round part would show as much in {} of cases.",
                           chance_words(*f.ellipse->p_round));
  }
  return words;
}

std::string roundness_table(const RoundnessResult& r, const LengthWords& words) {
  const LengthWords second(words.inch_first() ? LengthUnit::kMm : LengthUnit::kInch);
  std::string rows;
  const auto add = [&](const std::string& name, double ront_mm) {
    rows += fmt::format(
        "<tr><th scope=\"row\">{}</th><td class=\"figure\">{}</td><td class=\"figure\">{}</td></tr>", name,
        words.number(ront_mm, 4), second.number(ront_mm, 4));
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
      "<th scope=\"col\">reference circle</th><th scope=\"col\">" +
      std::string(words.symbol()) + "</th><th scope=\"col\">" + second.symbol() +
      "</th></tr></thead><tbody>" + rows + "</tbody></table>\n";
  if (r.noise_floor_mm)
    html += fmt::format(
        "<p class=\"soft\">A perfectly round part read with these points would show about {}.</p>\n",
        words.one(*r.noise_floor_mm, 4));
  return html + "</div>\n";
}

std::string excluded_list(const Feature& f, const LengthWords& words) {
  if (f.excluded.empty()) return {};
  std::string html = "<div class=\"keep\"><h3>Left out of the fit</h3><ul>";
  for (std::size_t i = 0; i < f.excluded.size(); ++i) {
    const auto& s = f.excluded[i];
    html += fmt::format("<li><strong>{}</strong> at {:.0f}\u00b0{}: {} {} the outline, {} point{}</li>",
                        place_letter(i), s.from_deg,
                        s.points > 1 ? fmt::format(" to {:.0f}\u00b0", s.to_deg) : "",
                        words.one(std::abs(s.height_mm), 3), s.height_mm > 0 ? "above" : "below", s.points,
                        s.points == 1 ? "" : "s");
  }
  return html + "</ul>\n</div>\n";
}

std::string iso_sizes(const SizesResult& s, const LengthWords& lengths) {
  const LengthWords second(lengths.inch_first() ? LengthUnit::kMm : LengthUnit::kInch);
  std::string rows;
  const auto add = [&](const char* code, const char* words, const std::optional<double>& mm) {
    if (mm)
      rows += fmt::format(
          "<tr><th scope=\"row\" class=\"code\">{}</th><td>{}</td><td class=\"figure\">{}</td><td "
          "class=\"figure\">{}</td></tr>",
          code, words, lengths.number(*mm, 4), second.number(*mm, 4));
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
         "what</th><th scope=\"col\">" +
         std::string(lengths.symbol()) + "</th><th scope=\"col\">" + second.symbol() +
         "</th></tr></thead><tbody>" + rows + "</tbody></table></div>\n";
}

// The tables as lines of text: enough for a feature that is not the main one.
std::string roundness_line(const RoundnessResult& r, const LengthWords& words) {
  std::string figures = roundness_figures(r, words);
  if (figures.empty()) return {};
  if (const std::string noise = noise_beside_roundness(r, words); !noise.empty()) figures += "; " + noise;
  return "<p class=\"soft\">RONt in " + std::string(words.symbol()) + " (ISO 12181-1): " + figures +
         ".</p>\n";
}

std::string iso_sizes_line(const SizesResult& s, const LengthWords& words) {
  std::string figures;
  const auto add = [&](const char* code, const std::optional<double>& mm) {
    if (mm) figures += fmt::format("{}{}\u00a0{}", figures.empty() ? "" : ", ", code, words.number(*mm, 4));
  };
  add("(GG)", s.gg), add("(GN)", s.gn), add("(GX)", s.gx), add("(CC)", s.cc), add("(CA)", s.ca);
  add("(LP)(SX)", s.lp_max), add("(LP)(SN)", s.lp_min);
  return figures.empty() ? std::string()
                         : "<p class=\"soft\">Sizes in " + std::string(words.symbol()) +
                               " by ISO 14405-1: " + figures + ".</p>\n";
}

struct Size {
  const char* what;
  double mm;
  std::optional<double> u_mm;
};
Size size_of(const Feature& f) {
  const double half = is_arc(f) ? 0.5 : 1;
  return {f.kind == FeatureKind::kWidth ? "Width"
          : is_arc(f)                   ? "Radius"
                                        : "Diameter",
          f.circle->diameter_mm * half,
          f.circle->u_diameter_mm ? std::optional(*f.circle->u_diameter_mm * half) : std::nullopt};
}

std::string interval_words(const Feature& f, const LengthWords& words) {
  if (!f.circle) return {};
  const Size size = size_of(f);
  const double half = is_arc(f) ? 0.5 : 1;
  if (const auto& range = f.circle->diameter95_mm)
    return "95 % interval " +
           words.one_range({range->lo * half, range->hi * half}, shown_decimals(size.u_mm));
  if (size.u_mm && f.source.type != SourceType::kTwoPoint)
    return "no upper limit: these points do not rule out a straight edge";
  return {};
}

std::string shape_and_notes(const Feature& f, const std::string& interval, const LengthWords& lengths) {
  std::string html;
  std::string words = interval.empty() ? "" : interval + ". ";
  if (!words.empty()) words[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(words[0])));
  words += shape_words(f, lengths);
  if (!words.empty()) html += "<p>" + escape_markup(words) + "</p>\n";
  for (const auto& w : f.warnings)
    html += fmt::format("<p{}>{}</p>\n", is_caution(w) ? " class=\"caution\"" : "",
                        words_markup(lengths.sentence(w.text)));
  return html;
}

std::string photo_of(const Feature& f, const PageOptions& options) {
  for (const auto& picture : options.pictures)
    if (picture.feature == f.name)
      if (std::string photo = photo_figure(f, picture); !photo.empty()) return photo;
  return {};
}

std::string budget_figure(const Feature& f, const LengthWords& words) {
  return figure(budget_chart(f.budget, is_arc(f) ? 0.5 : 1, words),
                fmt::format("What the standard uncertainty of the {} is made of.", size_word(f, is_arc(f))));
}

bool has_noise_band(const Feature& f) { return f.roundness && f.roundness->noise_floor_mm.value_or(0) > 0; }

std::string unrolled_figure(const Feature& f, const LengthWords& words) {
  return figure(deviation_chart(f, words),
                std::string("The outline unrolled: deviation from the least-squares circle.") +
                    (has_noise_band(f) ? " Grey band: what noise alone would show." : ""));
}

// Beside the name of a folded feature.
std::string one_line(const Feature& f, const LengthWords& words) {
  if (!f.circle) return {};
  const Size size = size_of(f);
  return fmt::format(
      ": {}{}{}", is_arc(f) ? "R " : "", words.both(size.mm, size.u_mm, true),
      f.verdict == OutlineForm::kNotJudged || is_arc(f) ? "" : ", " + std::string(name(f.verdict)));
}

// The marks of the charts are explained under the main feature's.
std::string further_feature(const Feature& f, const PageOptions& options) {
  const LengthWords words = page_words(options.unit);
  std::string charts = figure(photo_of(f, options), "") + figure(deviation_chart(f, words), "");
  if (!noise_alone(f)) charts += figure(harmonics_chart(f.harmonics, words), "");
  charts += budget_figure(f, words);
  std::string body = shape_and_notes(f, interval_words(f, words), words);
  if (!charts.empty()) body += "<div class=\"row\">\n" + charts + "</div>\n";
  body += excluded_list(f, words);
  if (f.roundness) body += roundness_line(*f.roundness, words);
  if (f.sizes) body += iso_sizes_line(*f.sizes, words);
  return folded(escape_markup(f.name.empty() ? std::string(f.kind.word()) : f.name) + one_line(f, words),
                body);
}

}  // namespace

bool noise_alone(const Feature& f) {
  if (f.verdict == OutlineForm::kOval || f.verdict == OutlineForm::kLobed ||
      f.verdict == OutlineForm::kIrregular || !f.excluded.empty())
    return false;
  return std::ranges::none_of(f.harmonics, [](const HarmonicResult& h) {
    return h.u_amplitude_mm && h.amplitude_mm > 3 * *h.u_amplitude_mm;
  });
}

std::string main_feature_section(const Feature& f, const PageOptions& options) {
  const LengthWords words = page_words(options.unit);
  std::string html = "<section class=\"feature\" aria-labelledby=\"measured\">\n<h2 id=\"measured\">How " +
                     escape_markup(f.name.empty() ? std::string(f.kind.word()) : f.name) +
                     " was measured</h2>\n";
  if (f.circle) {
    const Size size = size_of(f);
    const std::string interval = interval_words(f, words);
    html += fmt::format("<p><strong>{} {}</strong>{}{}.</p>\n", size.what,
                        words.both(size.mm, size.u_mm, true), interval.empty() ? "" : ", ", interval);
  }
  html += shape_and_notes(f, {}, words);
  html += "<div class=\"pair\">\n";
  const bool stands = f.height_mm.value_or(0) > 0;
  html += figure(
      photo_of(f, options),
      fmt::format(
          "The photograph. Dots: the edge as found; line: fitted circle; dashes: fitted ellipse, "
          "where the part is oval. {}Degrees and letters are those of the charts.",
          stands ? "All at the height of the rim: where the wall below it shows, that lies outside. " : ""));
  // an arc shows better unrolled
  const auto chart = is_arc(f) ? RoundnessChart{} : roundness_chart(f, words);
  if (!chart.svg.empty())
    html +=
        figure(chart.svg,
               fmt::format(
                   "Deviations enlarged {:.0f} times against the radius. Thin ring: least-squares circle; "
                   "{}line: measured outline; dashes: ellipse; hatched: left out.",
                   chart.magnification, has_noise_band(f) ? "grey ring: what noise alone would show; " : ""));
  else
    html += unrolled_figure(f, words);
  html += "</div>\n";
  std::string charts;
  if (!chart.svg.empty()) charts += unrolled_figure(f, words);
  if (!noise_alone(f))
    charts += figure(harmonics_chart(f.harmonics, words),
                     "How much of the deviation repeats how often. Dark bars stand clear of the noise.");
  charts += budget_figure(f, words);
  std::string tables;
  if (f.roundness) tables += roundness_table(*f.roundness, words);
  if (f.sizes) tables += iso_sizes(*f.sizes, words);
  std::string more;
  if (!charts.empty()) more += "<div class=\"row\">\n" + charts + "</div>\n";
  more += excluded_list(f, words);
  if (!tables.empty()) more += "<div class=\"pair\">\n" + tables + "</div>\n";
  return html + folded("Charts and tables of this feature", more) + "</section>\n";
}

std::string further_features_section(const PartRecord& record, const Feature* main,
                                     const PageOptions& options) {
  std::string html;
  for (const auto& f : record.features)
    if (&f != main) html += further_feature(f, options);
  if (html.empty()) return {};
  return "<section class=\"further\" aria-labelledby=\"further\">\n<h2 id=\"further\">The other "
         "features</h2>\n" +
         html + "</section>\n";
}

}  // namespace rondure
