#include "rondure/report/set_page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <functional>

#include "page_sections.hpp"
#include "page_shell.hpp"
#include "rondure/core/length.hpp"
#include "set_chart.hpp"
#include "set_habits.hpp"
#include "set_odd.hpp"
#include "svg.hpp"

namespace rondure {
namespace {

// Not to be broken between number and unit.
std::string held_together(std::string text) {
  for (std::size_t at = 0; (at = text.find(' ', at)) != std::string::npos;) text.replace(at, 1, "\u00a0");
  return text;
}

std::string best_markup(const BestAnswer& best) {
  return held_together(escape_markup(best.label)) + "<br><span class=\"soft\">" + percent(best.probability) +
         "</span>";
}

std::string both_units(double mm, int decimals, const LengthWords& words) {
  return held_together(words.one(mm, decimals)) + "<br><span class=\"soft\">" +
         held_together(words.other(mm, decimals)) + "</span>";
}

std::string part_cell(const SetPartResult& part, const std::string& page) {
  const std::string name = escape_markup(part.name);
  return (page.empty() ? name : fmt::format("<a href=\"{}\">{}</a>", escape_markup(page), name)) +
         (part.original.has_shrunk()
              ? fmt::format("<br><span class=\"soft\">shrunk\u00a0{:.2f}\u00a0%</span>",
                            100 * part.original.shrinkage_mean)
              : "") +
         (probably_odd(part) ? "<br><strong>does not fit</strong>" : "");
}

// One line a part: its size in question.
std::string parts_table(const SetResult& set, const SetPageOptions& options, const LengthWords& words) {
  std::string rows;
  for (std::size_t p = 0; p < set.parts.size(); ++p) {
    const SetPartResult& part = set.parts[p];
    const OriginalFeature* f = size_in_question(part);
    if (!f) continue;
    const SizeCandidate& best = f->candidates.front();
    rows += fmt::format(
        "<tr><th scope=\"row\">{}</th><td class=\"figure\">{}</td><td class=\"figure\">{}{}</td><td "
        "class=\"figure\">{}</td></tr>",
        part_cell(part, p < options.part_pages.size() ? options.part_pages[p] : ""),
        both_units(f->measured_mm, 3, words), best_markup({best.label, best.size_mm, best.probability}),
        f->undecided ? "<br>undecided" : "", best_markup(part.alone));
  }
  return "<table><caption>The parts, each by its size in question</caption><thead><tr><th "
         "scope=\"col\">part</th>"
         "<th scope=\"col\">measured</th><th scope=\"col\">drawn as,<br>with the set</th><th "
         "scope=\"col\">alone</th></tr>"
         "</thead><tbody>" +
         rows + "</tbody></table>\n";
}

std::string other_sizes(const SetResult& set, const LengthWords& words) {
  std::string rows;
  for (const SetPartResult& part : set.parts)
    for (const OriginalFeature& f : part.original.features) {
      if (f.name == part.original.about || f.candidates.empty()) continue;
      const SizeCandidate& best = f.candidates.front();
      rows += fmt::format(
          "<tr><th scope=\"row\">{}<br><span class=\"soft\">{}</span></th><td class=\"figure\">{}</td><td "
          "class=\"figure\">{}</td></tr>",
          escape_markup(part.name), escape_markup(f.name), both_units(f.measured_mm, 3, words),
          best_markup({best.label, best.size_mm, best.probability}));
    }
  if (rows.empty()) return {};
  return "<h2>Other sizes of the parts</h2>\n<table><thead><tr><th scope=\"col\">part and size</th><th "
         "scope=\"col\">measured</th><th scope=\"col\">drawn as</th></tr></thead><tbody>" +
         rows + "</tbody></table>\n";
}

std::string common_list(const SetResult& set) {
  std::string html = "<h2>What they have in common</h2>\n<ul>";
  html += fmt::format("<li>Unit system: metric {}, inch {}.</li>", percent(set.p_metric),
                      percent(1 - set.p_metric));
  if (has_shrunk(set.shrinkage95))
    html += fmt::format(
        "<li>Shrinkage of a further part{}: {:.2f} % (95 %: {:.2f} to {:.2f} %), after moulding; the "
        "moulding "
        "shrinkage "
        "was cut into the mould and is not undone.</li>",
        set.material.empty() ? "" : " of " + escape_markup(set.material), 100 * set.shrinkage_mean,
        100 * set.shrinkage95.lo, 100 * set.shrinkage95.hi);
  else
    html += "<li>Shrinkage: none" +
            (set.material.empty() ? "" : "; " + escape_markup(set.material) + " does not shrink with age") +
            ".</li>";
  if (const std::string habits = habit_words(set); !habits.empty())
    html += "<li>Sizes drawn on steps of " + escape_markup(habits) + ", judged from these.</li>";
  for (const std::string& name : set.same_drawing)
    html += "<li>One drawing: \u2018" + escape_markup(name) + "\u2019 of the parts that have it.</li>";
  return html + "</ul>\n";
}

std::string odd_section(const OddPart& odd) {
  std::string html = fmt::format("<p class=\"caution\"><strong>{}</strong> {}</p>\n", escape_markup(odd.name),
                                 odd_words(odd));
  std::string rows;
  for (const OddPart::Change& c : odd.changes)
    rows += fmt::format(
        "<tr><th scope=\"row\">{}<br><span class=\"soft\">{}</span></th><td class=\"figure\">{}</td><td "
        "class=\"figure\">{}</td></tr>",
        escape_markup(c.part), escape_markup(c.feature), best_markup(c.with), best_markup(c.without));
  if (rows.empty()) return html;
  return html + "<table><thead><tr><th scope=\"col\">the other parts</th><th scope=\"col\">with " +
         escape_markup(odd.name) + "</th><th scope=\"col\">without it</th></tr></thead><tbody>" + rows +
         "</tbody></table>\n";
}

std::string cautions(const SetResult& set, const LengthWords& words) {
  std::string html;
  for (const SetPartResult& part : set.parts)
    for (const Warning& w : part.original.warnings)
      html += "<p class=\"caution\"><strong>" + escape_markup(part.name) +
              "</strong>: " + words_markup(words.sentence(w.text)) + "</p>\n";
  for (const Warning& w : set.warnings)
    html += "<p class=\"caution\">" + words_markup(words.sentence(w.text)) + "</p>\n";
  return html;
}

}  // namespace

std::string set_sentence(const SetResult& set) {
  std::size_t decided = 0, alone = 0, asked = 0;
  std::vector<std::pair<std::string, std::size_t>> labels;
  for (const SetPartResult& part : set.parts) {
    const OriginalFeature* f = size_in_question(part);
    if (!f) continue;
    ++asked;
    alone += part.alone.probability >= set.confidence_ratio;
    if (f->undecided) continue;
    ++decided;
    const auto at =
        std::ranges::find(labels, f->candidates.front().label, &std::pair<std::string, std::size_t>::first);
    if (at != labels.end())
      ++at->second;
    else
      labels.emplace_back(f->candidates.front().label, 1);
  }
  std::ranges::sort(labels, std::greater{}, &std::pair<std::string, std::size_t>::second);
  std::string text = fmt::format("{} of {} sizes decided together ({} alone)", decided, asked, alone);
  for (std::size_t i = 0; i < std::min<std::size_t>(3, labels.size()); ++i)
    text += fmt::format("{} {} \u00d7 {}", i == 0 ? ":" : ",", labels[i].second, labels[i].first);
  if (labels.size() > 3) text += ", and others";
  return text + fmt::format("; {}.", set.p_metric >= 0.5 ? "metric " + percent(set.p_metric)
                                                         : "inch " + percent(1 - set.p_metric));
}

std::string best_words(const BestAnswer& best) {
  return best.label.empty() ? "" : best.label + " (" + percent(best.probability) + ")";
}

std::string set_page(const SetResult& set, const SetPageOptions& options) {
  const LengthWords words = page_words(options.unit);
  std::string html = page_opening(options.title.empty() ? "A set of parts" : options.title);
  html += fmt::format("<p class=\"soft\">{} parts of one machine, asked together. Made by rondure{}{}.</p>\n",
                      set.parts.size(), options.made_at.empty() ? "" : ", ", escape_markup(options.made_at));
  html += "<p class=\"answer\">" + escape_markup(set_sentence(set)) + "</p>\n</header>\n<main>\n";
  for (const OddPart& odd : set.odd) html += odd_section(odd);
  html += parts_table(set, options, words);
  const bool hatched = std::ranges::any_of(set.parts, probably_odd);
  html += figure(
      set_chart(set, words),
      std::string("Thick mark: as measured. Bar: before it shrank, judged from the whole set (95 %). Lines "
                  "down: sizes it may have been drawn as.") +
          (hatched ? " Hatched: does not fit the set." : ""));
  html += common_list(set);
  html += cautions(set, words);
  html += other_sizes(set, words);
  return html + "</main>\n</body>\n</html>\n";
}

}  // namespace rondure
