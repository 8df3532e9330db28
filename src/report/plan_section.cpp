#include <fmt/format.h>

#include "page_sections.hpp"
#include "rondure/core/shown.hpp"
#include "rondure/plan/plan_text.hpp"
#include "rondure/plan/replacement_plan.hpp"
#include "rondure/plan/section_drawing.hpp"
#include "svg.hpp"

namespace rondure {
namespace {

std::string why_words(const plan::PlannedSize& s) {
  if (s.basis == plan::SizeBasis::kOriginal) return "drawn as " + s.original_label;
  if (s.basis == plan::SizeBasis::kOriginalUndecided)
    return "likeliest original " + s.original_label + ", not certain";
  if (s.basis == plan::SizeBasis::kMeasured) return "as measured today";
  if (s.basis == plan::SizeBasis::kShaft) return "from the shaft";
  return std::string(name(s.basis));
}

std::string sizes_to_make(const plan::ReplacementPlan& p, const LengthWords& words) {
  const LengthUnit first = words.inch_first() ? LengthUnit::kInch : LengthUnit::kMm,
                   second = words.inch_first() ? LengthUnit::kMm : LengthUnit::kInch;
  std::string rows;
  for (const auto& s : p.sizes) {
    const PrintedLimits printed(s.lower_mm, s.upper_mm, s.target_mm);
    const auto limits = [&](LengthUnit unit) {
      return s.lower_mm && s.upper_mm ? printed.range(unit, " to\u00a0") : std::string();
    };
    rows += fmt::format(
        "<tr><th scope=\"row\">{}</th><td class=\"figure\">{}<br><span class=\"soft\">{}</span></td><td "
        "class=\"figure\">{}<br>"
        "<span class=\"soft\">{}</span></td><td>{}<span class=\"soft\">{}</span></td></tr>",
        escape_markup(s.name), printed.target(first), limits(first), printed.target(second), limits(second),
        s.tolerance.empty() ? "" : escape_markup(s.tolerance) + "<br>", escape_markup(why_words(s)));
  }
  if (rows.empty()) return {};
  return "<table><caption>Sizes to make" +
         (p.material_new.empty() ? "" : " of " + escape_markup(p.material_new)) +
         ", in the order of making</caption><thead><tr><th "
         "scope=\"col\">feature</th><th scope=\"col\">" +
         std::string(symbol(first)) + "</th><th scope=\"col\">" + std::string(symbol(second)) +
         "</th><th scope=\"col\">tolerance, why</th></tr></thead><tbody>" + rows + "</tbody></table>\n";
}

std::string check_sheet(const std::vector<plan::CheckLine>& lines, const LengthWords& words) {
  const LengthUnit unit = words.inch_first() ? LengthUnit::kInch : LengthUnit::kMm;
  std::string rows;
  for (const auto& line : lines)
    rows += fmt::format(
        "<tr><th scope=\"row\">{}: <span class=\"figure\">{}</span><br><span class=\"soft\">{}; "
        "{}</span></th><td "
        "class=\"blank\"></td></tr>",
        escape_markup(line.name),
        PrintedLimits(line.lower_mm, line.upper_mm, line.target_mm).range(unit, " to\u00a0"),
        escape_markup(line.instrument), escape_markup(line.when));
  if (rows.empty()) return {};
  return "<table class=\"sheet\"><caption>Check sheet for the copy, in the order of "
         "making</caption><thead><tr><th "
         "scope=\"col\">what, limits (" +
         std::string(symbol(unit)) + "), with, when</th><th scope=\"col\">measured</th></tr></thead><tbody>" +
         rows + "</tbody></table>\n";
}

std::string cautions(const std::vector<Warning>& list) {
  if (list.empty()) return {};
  std::string html = "<div class=\"care\"><h3>Take care</h3><ul>";
  for (const auto& c : list) html += "<li>" + escape_markup(c.text) + "</li>";
  return html + "</ul></div>\n";
}

}  // namespace

std::string plan_section(const PartRecord& record, const LengthWords& words) {
  if (!record.replacement) return {};
  const plan::ReplacementPlan& p = *record.replacement;
  std::string html = "<section class=\"plan\" aria-labelledby=\"plan\">\n<h2 id=\"plan\">What to make</h2>\n";
  html += sizes_to_make(p, words);
  for (const auto& w : p.warnings)
    html += (plan::is_note(w) ? "<p>" : "<p class=\"caution\">") + words_markup(words.sentence(w.text)) +
            "</p>\n";
  html += plan_facts(p, words);
  if (const std::string drawing = plan::section_svg(p); !drawing.empty())
    html += "<figure class=\"drawing\" tabindex=\"0\">" + drawing +
            "<figcaption>Section of the replacement. Printed at full size (100 %) it has the scale "
            "that stands on it.</figcaption></figure>\n";
  return html + check_sheet(p.check_sheet, words) + cautions(p.cautions) + "</section>\n";
}

}  // namespace rondure
