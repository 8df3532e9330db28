#include "rondure/report/set_text.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "rondure/core/percent.hpp"
#include "rondure/core/shown.hpp"
#include "set_habits.hpp"
#include "set_odd.hpp"

namespace rondure {
namespace {

std::string with_chance(const BestAnswer& best) { return best.label + " " + percent(best.probability); }

std::string feature_line(const OriginalFeature& f, const LengthWords& words) {
  if (f.candidates.empty()) return {};
  const SizeCandidate& best = f.candidates.front();
  const double other = best.system == UnitSystem::kMetric ? best.size_mm / kMmPerInch : best.size_mm;
  std::string line = fmt::format(
      "  {:<16} {:>11}   {:>11} ({}) {:>6}{}", f.name, words.one(f.measured_mm, 3), best.label,
      best.system == UnitSystem::kMetric ? fmt::format("{:.4f} in", other) : fmt::format("{:.3f} mm", other),
      percent(best.probability), f.undecided ? "  UNDECIDED" : "");
  line += "\n";
  if (f.undecided && f.candidates.size() > 1)
    line +=
        fmt::format("  {:<16} next {} {}\n", "", f.candidates[1].label, percent(f.candidates[1].probability));
  return line;
}

std::string part_lines(const SetPartResult& part, const LengthWords& words) {
  const OriginalResult& r = part.original;
  std::string out = part.name;
  if (r.has_shrunk())
    out += fmt::format("   shrunk {:.2f} % (95 %: {:.2f} to {:.2f} %)", 100 * r.shrinkage_mean,
                       100 * r.shrinkage95.lo, 100 * r.shrinkage95.hi);
  out += '\n';
  for (const OriginalFeature& f : r.features) {
    out += feature_line(f, words);
    if (f.name == r.about && !f.candidates.empty())
      out += fmt::format("  {:<16} alone {}, with the set {} {}\n", "", with_chance(part.alone),
                         f.candidates.front().label, percent(f.candidates.front().probability));
  }
  return out;
}

std::string odd_lines(const OddPart& odd, const TextOptions& options) {
  std::string out =
      wrapped("'" + odd.name + "' " + odd_words(odd), "\nwarning: ", "         ", options.width);
  for (const OddPart::Change& c : odd.changes)
    out += fmt::format("         {} '{}': with it {}, without {}\n", c.part, c.feature, with_chance(c.with),
                       with_chance(c.without));
  return out;
}

}  // namespace

std::string set_text(const SetResult& set, const TextOptions& options) {
  const LengthWords words(options.unit);
  std::string out = fmt::format("Original sizes of {} parts together\n\n", set.parts.size());
  for (const SetPartResult& part : set.parts) out += part_lines(part, words) + "\n";
  out += fmt::format("Unit system   metric {}   inch {}\n", percent(set.p_metric), percent(1 - set.p_metric));
  if (has_shrunk(set.shrinkage95)) {
    out += fmt::format("Shrinkage     another part{}: {:.2f} % (95 %: {:.2f} to {:.2f} %)\n",
                       set.material.empty() ? "" : " of " + set.material, 100 * set.shrinkage_mean,
                       100 * set.shrinkage95.lo, 100 * set.shrinkage95.hi);
    out += wrapped("ageing only: the moulding shrinkage was in the mould and is not undone",
                   std::string(14, ' '), std::string(14, ' '), options.width);
  } else {
    out += "Shrinkage     none" +
           (set.material.empty() ? "" : ": " + set.material + " does not shrink with age") + '\n';
  }
  if (const std::string habits = habit_words(set); !habits.empty())
    out += wrapped("on steps of " + habits + " (of all sizes, judged from these)", "Sizes drawn   ",
                   std::string(14, ' '), options.width);
  for (const std::string& name : set.same_drawing)
    out += fmt::format("One drawing   '{}' of all parts that have it\n", name);
  for (const OddPart& odd : set.odd) out += odd_lines(odd, options);
  for (const SetPartResult& part : set.parts)
    for (const Warning& w : part.original.warnings)
      out += wrapped("'" + part.name + "': " + words.sentence(w.text), "\nwarning: ", "         ",
                     options.width);
  for (const Warning& w : set.warnings)
    out += wrapped(words.sentence(w.text), "\nwarning: ", "         ", options.width);
  return out;
}

}  // namespace rondure
