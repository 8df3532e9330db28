#include "page_sections.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <regex>

#include "charts.hpp"
#include "rondure/core/shown.hpp"
#include "rondure/plan/plan_text.hpp"
#include "svg.hpp"

namespace rondure {
namespace {

std::string list_of(const std::vector<std::string>& items) {
  if (items.empty()) return {};
  std::string html = "<ul>";
  for (const auto& item : items) html += "<li>" + words_markup(item) + "</li>";
  return html + "</ul>\n";
}

// The readings of an oval or worn feature side by side.
std::string shapes_table(const OriginalFeature& f, const LengthWords& words) {
  if (f.shapes.empty()) return {};
  std::string rows;
  for (const ShapeVerdict& s : f.shapes)
    rows += fmt::format(
        "<tr><th scope=\"row\">{}</th><td class=\"figure\">{}{}<br>{}</td><td "
        "class=\"figure\">{}<br>"
        "<span class=\"soft\">then {} ({})</span></td></tr>",
        escape_markup(sentence(s.shape)),
        s.at_least ? (f.kind == FeatureKind::kBore ? "at most " : "at least ") : "",
        words.one(s.implied_mm, 3), words.other(s.implied_mm, 3), percent(s.probability),
        escape_markup(s.best_label), percent(s.best_probability));
  return "<table><caption>" + escape_markup(f.name) +
         ": how its shape may have come about</caption><thead><tr><th scope=\"col\">read as</th>"
         "<th scope=\"col\">size before shrinking</th><th scope=\"col\">chance</th></tr></thead><tbody>" +
         rows + "</tbody></table>\n";
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
  static const std::regex option("(^|[ (])(--[a-z][a-z0-9-]*)");
  return std::regex_replace(html, option, "$1<span class=\"whole\">$2</span>");
}

bool is_arc(const Feature& f) {
  return f.kind == FeatureKind::kArc || (f.points.coverage_deg > 0 && f.points.coverage_deg < 180);
}

std::string folded(const std::string& summary, const std::string& body) {
  return body.empty() ? std::string()
                      : "<details><summary>" + summary + "</summary>\n" + body + "</details>\n";
}

namespace {

std::string candidates_figure(const OriginalFeature& f) {
  std::string caption = f.name + ": ";
  if (f.candidates.empty())
    caption += "no candidate";
  else if (f.undecided)
    caption += fmt::format("not decided; likeliest {}, {}", f.candidates.front().label,
                           percent(f.candidates.front().probability));
  else
    caption += "most likely " + f.candidates.front().label;
  return figure(candidates_chart(f), caption);
}

std::string next_list(const OriginalResult& o, const LengthWords& words) {
  std::string html;
  for (const auto& m : o.measure_next)
    html += fmt::format("<li>{} <span class=\"soft\">({})</span></li>", escape_markup(words.sentence(m.what)),
                        help_words(m.expected_gain_bits, o.measure_next.front().expected_gain_bits));
  return html.empty() ? html
                      : "<div class=\"next\"><h3>What to measure next</h3><ol>" + html + "</ol></div>\n";
}

}  // namespace

std::string original_section(const OriginalResult& o, const Feature* main, const LengthWords& words) {
  std::string html =
      "<section aria-labelledby=\"original\">\n<h2 id=\"original\">What it was drawn as</h2>\n";
  html += fmt::format("<p>Drawn in metric units: {}; in inch units: {}.", percent(o.p_metric),
                      percent(1 - o.p_metric));
  if (o.has_shrunk())
    html += fmt::format(" Shrinkage since it was made: {:.2f} % (95 %: {:.2f} to {:.2f} %).",
                        100 * o.shrinkage_mean, 100 * o.shrinkage95.lo, 100 * o.shrinkage95.hi);
  html += "</p>\n";
  std::vector<std::string> reasons;
  for (const std::string& reason : o.reasons) reasons.push_back(words.sentence(reason));
  html += list_of(reasons);
  for (const auto& w : o.warnings)
    html += std::string(plan::is_note(w) ? "<p>" : "<p class=\"caution\">") +
            words_markup(words.sentence(w.text)) + "</p>\n";
  std::string first, others, names, shapes;
  for (const auto& f : o.features) {
    shapes += shapes_table(f, words);
    if (first.empty() && (!main || f.name == main->name)) {
      first = candidates_figure(f);
      continue;
    }
    others += candidates_figure(f);
    if (!f.candidates.empty())
      names += fmt::format("{}{} {} ({})", names.empty() ? "" : "; ", f.name, f.candidates.front().label,
                           percent(f.candidates.front().probability));
  }
  html += "<div class=\"pair\">\n" + first + next_list(o, words) + "</div>\n";
  if (!others.empty())
    html += folded(escape_markup("The others: " + names), "<div class=\"row\">\n" + others + "</div>\n");
  html += folded("How the shape may have come about", shapes);
  return html + "</section>\n";
}

namespace {
// Whether the sizes were brought to 20 degrees: the budget then has a line for it.
bool at_20_c(const Feature& f) {
  return std::ranges::any_of(
      f.budget, [](const BudgetLine& line) { return line.source == UncertaintySource::kTemperature; });
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
  struct Row {
    std::string features, from, points;
  };
  std::vector<Row> sources;  // features of one source share a row
  bool left_out = false;
  std::size_t brought = 0;
  for (const auto& f : record.features) {
    std::string from =
        escape_markup(std::string(name(f.source.type)) + (f.source.file.empty() ? "" : ", " + f.source.file));
    if (!f.source.calibration.empty()) from += "<br>calibration: " + escape_markup(f.source.calibration);
    if (!f.source.time.empty()) from += " <span class=\"soft\">" + escape_markup(f.source.time) + "</span>";
    const auto same = std::ranges::find(sources, from, &Row::from);
    if (same == sources.end())
      sources.push_back({escape_markup(f.name), from, points_words(f)});
    else
      same->features += "<br>" + escape_markup(f.name), same->points += "<br>" + points_words(f);
    left_out = left_out || !f.excluded.empty();
    brought += at_20_c(f);
  }
  std::string rows;
  for (const Row& row : sources)
    rows += fmt::format("<tr><th scope=\"row\">{}</th><td class=\"path\">{}</td><td>{}</td></tr>",
                        row.features, row.from, row.points);
  if (rows.empty()) return {};
  std::string notes = brought == 0
                          ? "No temperature was given: the sizes are those at the temperature it had."
                      : brought == record.features.size()
                          ? "The sizes are for 20 \u00b0C."
                          : "Only the features whose budget names a temperature are sizes for 20 \u00b0C.";
  if (left_out)
    notes +=
        " Points were left out where they stand further off the outline than its scatter explains: a nib, a "
        "nick or dirt; they are "
        "hatched and lettered in the charts.";
  std::string html = "<section aria-labelledby=\"method\">\n<h2 id=\"method\">What was read, and how</h2>\n";
  for (const std::string& file : options.changed_files)
    html += "<p class=\"caution\">" + escape_markup(file) + " is NO LONGER the file that was measured.</p>\n";
  return html +
         folded(
             "Sources of every feature, and what the figures mean",
             "<table aria-label=\"Sources\"><thead><tr><th scope=\"col\">feature</th><th "
             "scope=\"col\">from</th>"
             "<th scope=\"col\">points used</th></tr></thead><tbody>" +
                 rows + "</tbody></table>\n<p>" + notes +
                 "</p>\n<p class=\"soft\">Figures after \u00b1 are standard uncertainties (GUM). Angles run "
                 "counter-clockwise from the right. Ovality is counted on the diameter, RONt on the "
                 "radius.</p>\n") +
         "</section>\n";
}

}  // namespace rondure
