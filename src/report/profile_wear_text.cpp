#include "rondure/report/profile_wear_text.hpp"

#include <fmt/format.h>

namespace rondure {

std::string wear_words(const SurfaceWear& w, const LengthWords& words, bool planned) {
  std::string text = "radius " + words.one_u(w.mean_mm.value, w.mean_mm.u);
  if (w.worn)
    return text + (planned ? "; low: " : "; worn: ") + words.one_u(w.deepest_mm.value, w.deepest_mm.u) +
           " deeper at " + words.one(w.deepest_at_mm, 2) + " from the left face than where it is " +
           (planned ? "highest" : "worn least");
  return text + (planned ? "; no low place" : "; no wear in places") + " (more than " +
         words.one(kWearTold_u * w.deepest_mm.u, 4) + " would show)";
}

std::string profile_wear_text(const std::vector<SurfaceWear>& surfaces, const TextOptions& options) {
  if (surfaces.empty()) return {};
  const LengthWords words(options.unit);
  std::string text = "\nprofile against profile, B - A\n";
  for (const SurfaceWear& w : surfaces)
    text +=
        wrapped(wear_words(w, words), fmt::format("  {:<16} ", w.name), std::string(19, ' '), options.width);
  return text;
}

}  // namespace rondure
