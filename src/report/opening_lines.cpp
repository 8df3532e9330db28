// The page's first three lines.
#include <fmt/format.h>

#include <algorithm>

#include "page_sections.hpp"
#include "rondure/core/shown.hpp"
#include "svg.hpp"

namespace rondure {
namespace {

constexpr std::size_t kNamedSizes = 3;  // a fourth would hide the first

std::string measured_words(const Feature& f, const LengthWords& words) {
  const double half = is_arc(f) ? 0.5 : 1;
  const auto u = f.circle->u_diameter_mm ? std::optional(*f.circle->u_diameter_mm * half) : std::nullopt;
  std::string text = fmt::format("{} {}{}", f.name, is_arc(f) ? "R " : "",
                                 words.both(f.circle->diameter_mm * half, u, true));
  if (f.verdict == OutlineForm::kOval && f.ellipse)
    text += ", oval by " + words.one(f.ellipse->ovality_mm, shown_decimals(f.ellipse->u_ovality_mm));
  else if (is_told(f.verdict))
    text.append(", ").append(name(f.verdict));
  return text;
}

std::string drawn_words(const OriginalFeature* o, const std::optional<SetLink>& set) {
  if (!o) return "not asked yet (rondure original)";
  if (o->candidates.empty()) return "cannot tell: no usual size is near";
  const SizeCandidate& best = o->candidates.front();
  std::string text =
      o->undecided ? fmt::format("cannot tell yet; likeliest {} ({})", best.label, percent(best.probability))
                   : fmt::format("most likely {} ({})", best.label, percent(best.probability));
  if (set && set->original && !set->alone.empty()) text += "; that is with the set, alone " + set->alone;
  return text;
}

bool firm(const plan::PlannedSize& s) {
  return s.basis != plan::SizeBasis::kOriginalUndecided && s.basis != plan::SizeBasis::kMeasured;
}

std::string make_words(const PartRecord& record, const LengthWords& words) {
  if (!record.replacement) return "not planned yet (rondure plan)";
  const plan::ReplacementPlan& plan = *record.replacement;
  std::vector<const plan::PlannedSize*> sizes;
  if (const auto* running = plan.running()) sizes.push_back(running);
  for (const auto& s : plan.sizes)
    if (s.lower_mm && s.upper_mm && std::ranges::find(sizes, &s) == sizes.end()) sizes.push_back(&s);
  std::string text, unsure;
  for (std::size_t i = 0; i < sizes.size() && i < kNamedSizes; ++i) {
    const plan::PlannedSize& s = *sizes[i];
    const PrintedLimits limits(s.lower_mm, s.upper_mm, s.target_mm);
    const std::string mm = limits.range(LengthUnit::kMm, " to\u00a0") + " mm",
                      inch = limits.range(LengthUnit::kInch, " to\u00a0") + " in";
    text += fmt::format("{}{} {} ({})", i ? "; " : "", s.name, words.inch_first() ? inch : mm,
                        words.inch_first() ? mm : inch);
  }
  for (const auto& s : plan.sizes)
    if (!firm(s)) unsure += (unsure.empty() ? "" : ", ") + s.name;
  if (!plan.material_new.empty()) text += (text.empty() ? "of " : "; of ") + plan.material_new;
  if (!unsure.empty()) text += ". Not certain yet: " + unsure;
  return text;
}

std::string line(const char* name, const std::string& words) {
  return fmt::format("<div><dt>{}</dt><dd>{}</dd></div>\n", name, words_markup(words));
}

}  // namespace

std::string opening_lines(const PartRecord& record, const Feature* main, const LengthWords& words,
                          const std::optional<SetLink>& set) {
  if (!main) return "<p class=\"answer\">Nothing has been measured yet.</p>\n";
  return "<dl class=\"answer\">\n" + line("Measured", measured_words(*main, words)) +
         line("Drawn as", drawn_words(original_of(record, main->name), set)) +
         line("Make", make_words(record, words)) + "</dl>\n";
}

}  // namespace rondure
