#include <fmt/format.h>

#include "page_sections.hpp"
#include "rondure/core/length.hpp"
#include "rondure/plan/replacement_plan.hpp"
#include "rondure/plan/section_drawing.hpp"
#include "svg.hpp"

namespace rondure {
namespace {

std::string limits_words(const std::optional<double>& lower_mm, const std::optional<double>& upper_mm,
                         double scale, int decimals) {
  if (!lower_mm || !upper_mm) return "";
  return fmt::format("{:.{}f} to\u00a0{:.{}f}", *lower_mm / scale, decimals, *upper_mm / scale, decimals);
}

std::string why_words(const plan::PlannedSize& s) {
  if (s.basis == "original") return "drawn as " + s.original_label;
  if (s.basis == "original-undecided") return "likeliest original " + s.original_label + ", not certain";
  if (s.basis == "measured") return "as measured today";
  if (s.basis == "shaft") return "from the shaft";
  return s.basis;
}

std::string sizes_to_make(const plan::ReplacementPlan& p) {
  std::string rows;
  for (const auto& s : p.sizes) {
    rows += fmt::format(
        "<tr><th scope=\"row\">{}</th><td class=\"figure\">{:.3f}<br><span class=\"soft\">{}</span></td><td "
        "class=\"figure\">{:.4f}<br>"
        "<span class=\"soft\">{}</span></td><td>{}<span class=\"soft\">{}</span></td></tr>",
        escape_markup(s.name), s.target_mm, limits_words(s.lower_mm, s.upper_mm, 1, 3),
        s.target_mm / kMmPerInch, limits_words(s.lower_mm, s.upper_mm, kMmPerInch, 4),
        s.tolerance.empty() ? "" : escape_markup(s.tolerance) + "<br>", escape_markup(why_words(s)));
  }
  if (rows.empty()) return {};
  return "<table><caption>Sizes to make, in the order of making</caption><thead><tr><th "
         "scope=\"col\">feature</th><th scope=\"col\">mm</th>"
         "<th scope=\"col\">inch</th><th scope=\"col\">tolerance, why</th></tr></thead><tbody>" +
         rows + "</tbody></table>\n";
}

std::string check_sheet(const std::vector<plan::CheckLine>& lines) {
  std::string rows;
  for (const auto& line : lines)
    rows += fmt::format(
        "<tr><th scope=\"row\">{}</th><td class=\"figure\">{}</td><td>{}<br><span "
        "class=\"soft\">{}</span></td><td class=\"blank\"></td></tr>",
        escape_markup(line.name),
        line.lower_mm && line.upper_mm ? limits_words(line.lower_mm, line.upper_mm, 1, 3)
        : line.upper_mm                ? fmt::format("at most {:.3f}", *line.upper_mm)
        : line.target_mm               ? fmt::format("{:.3f}", *line.target_mm)
                                       : std::string(),
        escape_markup(line.instrument), escape_markup(line.when));
  if (rows.empty()) return {};
  return "<table><caption>Check sheet for the copy</caption><thead><tr><th scope=\"col\">what</th><th "
         "scope=\"col\">limits, mm</th>"
         "<th scope=\"col\">with, when</th><th scope=\"col\">measured</th></tr></thead><tbody>" +
         rows + "</tbody></table>\n";
}

}  // namespace

std::string plan_section(const std::string& replacement_json) {
  if (replacement_json.empty()) return {};
  const auto parsed = plan::parse_plan(replacement_json);
  if (!parsed)
    return "<section class=\"plan\" aria-labelledby=\"plan\">\n<h2 id=\"plan\">What to make</h2>\n<p "
           "class=\"caution\">The plan in this record cannot be read (" +
           escape_markup(parsed.error().detail) +
           "): nothing of it, and none of its cautions, is shown. Make it again with 'rondure plan'.</p>\n</section>\n";
  const plan::ReplacementPlan& p = *parsed;
  std::string html = "<section class=\"plan\" aria-labelledby=\"plan\">\n<h2 id=\"plan\">What to make</h2>\n";
  if (!p.material_new.empty()) html += "<p>Of " + escape_markup(p.material_new) + ".</p>\n";
  for (const auto& w : p.warnings) html += "<p class=\"caution\">" + words_markup(w.text) + "</p>\n";
  html += sizes_to_make(p) + check_sheet(p.check_sheet);
  if (const std::string drawing = plan::section_svg(p); !drawing.empty())
    html += "<figure class=\"drawing\" tabindex=\"0\">" + drawing +
            "<figcaption>Section of the replacement. Printed at full size (100 %) it has the scale "
            "that stands on it.</figcaption></figure>\n";
  return html + "</section>\n";
}

std::string cautions_section(const std::string& replacement_json) {
  if (replacement_json.empty()) return {};
  const auto parsed = plan::parse_plan(replacement_json);
  if (!parsed || parsed->cautions.empty()) return {};
  std::string html = "<section aria-labelledby=\"cautions\">\n<h2 id=\"cautions\">Cautions</h2>\n";
  for (const auto& c : parsed->cautions) html += "<p class=\"caution\">" + escape_markup(c.text) + "</p>\n";
  return html + "</section>\n";
}

}  // namespace rondure
