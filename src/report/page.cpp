#include "rondure/report/page.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "charts.hpp"
#include "page_sections.hpp"
#include "page_shell.hpp"
#include "profile_section.hpp"
#include "rondure/core/shown.hpp"
#include "rondure/record/one_surface.hpp"
#include "rondure/record/part_facts.hpp"
#include "size_word.hpp"
#include "svg.hpp"

namespace rondure {
namespace {

// The feature the part is about: the first with an original size asked for, else the first with a size.
const Feature* main_feature(const PartRecord& record) {
  if (record.original)
    for (const auto& o : record.original->features)
      for (const auto& f : record.features)
        if (f.name == o.name && f.circle && f.kind != FeatureKind::kMetal) return &f;
  for (const auto& f : record.features)
    if (f.circle) return &f;
  return nullptr;
}

// The record as the page shows it: every surface once; its photograph goes with it.
PartRecord page_record(const PartRecord& own, PageOptions& options) {
  PartRecord record = own;
  if (options.set && options.set->original) record.original = options.set->original;
  SurfacesOnce once = surfaces_once(record, "shown");
  for (const SharedSurface& s : once.shared)
    for (PagePicture& picture : options.pictures)
      if (picture.feature == s.other) picture.feature = s.name;
  if (!record.original && !record.replacement)  // these two have said so
    once.record.warnings.insert(once.record.warnings.end(), once.notes.begin(), once.notes.end());
  return std::move(once.record);
}

}  // namespace

const OriginalFeature* original_of(const PartRecord& record, const std::string& name) {
  if (record.original)
    for (const auto& o : record.original->features)
      if (o.name == name) return &o;
  return nullptr;
}

std::string answer_sentence(const PartRecord& own, LengthUnit unit) {
  const PartRecord record = surfaces_once(own).record;
  const Feature* f = main_feature(record);
  if (!f) return "Nothing has been measured yet.";
  const LengthWords words = page_words(unit);
  const double half = is_arc(*f) ? 0.5 : 1;
  const auto u = f->circle->u_diameter_mm ? std::optional(*f->circle->u_diameter_mm * half) : std::nullopt;
  std::string text = fmt::format("{}: {} {}", f->name, size_word(*f, is_arc(*f)),
                                 words.both(f->circle->diameter_mm * half, u, true));
  if (f->verdict == OutlineForm::kOval && f->ellipse)
    text += ", oval by " + words.one(f->ellipse->ovality_mm, shown_decimals(f->ellipse->u_ovality_mm));
  else if (is_told(f->verdict))
    text.append(", ").append(name(f->verdict));
  if (const OriginalFeature* o = original_of(record, f->name); o && !o->candidates.empty()) {
    const auto& best = o->candidates.front();
    if (o->undecided)
      text += fmt::format("; its drawn size is not certain yet (nearest: {}, {})", best.label,
                          percent(best.probability));
    else
      text += fmt::format("; most likely drawn as {} ({})", best.label, percent(best.probability));
  }
  return text + ".";
}

std::string report_page(const PartRecord& own, const PageOptions& asked) {
  PageOptions options = asked;
  PartRecord record = page_record(own, options);
  const std::string title = record.name.empty() ? "Measured part" : record.name;
  std::string html = page_opening(title);
  const PartFacts facts = facts_of(record);
  const auto said = [](const char* what, const std::string& text) {
    return text.empty() ? "" : what + escape_markup(text) + ". ";
  };
  html += fmt::format("<p class=\"soft\">{}Made by rondure{}{}.</p>\n",
                      said("Material: ", record.material) + said("Mark: ", facts.mark) +
                          said("Date: ", facts.date) + said("Note: ", facts.note),
                      options.made_at.empty() ? "" : ", ", escape_markup(options.made_at));
  if (options.set)
    html += fmt::format("<p><a href=\"{}\">{}</a></p>\n", escape_markup(options.set->href),
                        escape_markup(options.set->words));
  const Feature* first = main_feature(record);
  const LengthWords words = page_words(options.unit);
  html += "<div class=\"opening\">\n" + opening_lines(record, first, words, options.set);
  if (first) html += figure(answer_chart(*first, original_of(record, first->name), words), "");
  html += "</div>\n</header>\n<main>\n";
  for (const auto& w : record.warnings)
    html += "<p class=\"caution\">" + words_markup(words.sentence(w.text)) + "</p>\n";
  html += plan_section(record, words);
  if (record.original) html += original_section(*record.original, first, words);
  if (first) html += main_feature_section(*first, options);
  html += further_features_section(record, first, options);
  html += profile_section(record, options.unit);
  html += wear_section(record, options);
  html += method_section(record, options);
  html += "</main>\n</body>\n</html>\n";
  return html;
}

}  // namespace rondure
