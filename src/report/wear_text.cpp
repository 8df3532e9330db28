#include "rondure/report/wear_text.hpp"

#include <fmt/format.h>

#include "rondure/core/length.hpp"
#include "rondure/core/percent.hpp"
#include "rondure/core/shown.hpp"

namespace rondure {

std::string wear_text(const SetWear& wear, double confidence, const TextOptions& options) {
  const LengthWords words(options.unit);
  const std::size_t width = options.width;
  std::string out = fmt::format(
      "Wear of '{}' in {} parts, against {}\n\n", wear.feature, wear.parts.size(),
      wear.against_plan
          ? "the planned sizes"
          : fmt::format("their common drawing: {} ({})", wear.drawn.label, percent(wear.drawn.probability)));
  out += fmt::format(
      "  {:<12} {:>8}  {:>16}  {:>16}  {:>8}  {:>9}\n", fmt::format("part ({})", words.symbol()), "measured",
      wear.against_plan ? "planned" : "unworn", "missing", words.inch_first() ? "mm" : "in", "most worn");
  for (const PartWear& p : wear.parts) {
    const int d =
        std::min(4, shown_decimals(p.missing_mm.u > 0 ? std::optional(p.missing_mm.u) : std::nullopt));
    const double missing = p.missing_mm.value;
    out += fmt::format(
        "  {:<12} {:>8}  {:>16}  {:>16}  {:>8}  {:>7.0f} %\n", p.name, words.number(p.measured_mm, 3),
        words.number(p.unworn_mm.value, 3) +
            (p.unworn_mm.u > 0 ? " +- " + words.number(p.unworn_mm.u, 3) : ""),
        words.number(missing, d) + " +- " + words.number(p.missing_mm.u, d),
        words.inch_first() ? fmt::format("{:.3f}", missing) : fmt::format("{:.4f}", missing / kMmPerInch),
        100 * p.chance_most);
  }
  const PartWear& most = wear.parts.front();
  const bool sure = most.chance_most >= confidence;
  const bool shown = most.missing_mm.value > 2 * most.missing_mm.u;
  out += "\n";
  if (sure && shown)
    out += fmt::format("Most worn: {}\n", most.name);
  else if (sure)
    out += fmt::format("Most worn, if any: {}; that it has worn at all is not shown\n", most.name);
  else
    out += wrapped(
        fmt::format("Cannot tell which has worn most: {} with a chance of {:.0f} %, {:.0f} % asked for",
                    most.name, 100 * most.chance_most, 100 * confidence),
        "", "", width);
  if (!wear.against_plan)
    out += wrapped("Unworn: the common size, shrunk as told by " + wear.shrinkage_source +
                       "; +- with the making. Missing also holds what the common size is unsure of" + " (" +
                       words.one(wear.u_drawn_mm, 3) + ").",
                   "", "", width);
  for (const std::string& name : wear.left_out)
    out += wrapped("'" + name + "' is left out: it has no " + (wear.against_plan ? "planned size of " : "") +
                       "'" + wear.feature + "'",
                   "\nwarning: ", "         ", width);
  return out;
}

}  // namespace rondure
