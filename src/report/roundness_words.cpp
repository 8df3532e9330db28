#include "roundness_words.hpp"

namespace rondure {

std::string roundness_figures(const RoundnessResult& r, const LengthWords& words) {
  std::string text;
  const auto add = [&](const char* name, const std::optional<ReferenceCircleResult>& reference) {
    if (reference) text += (text.empty() ? "" : ", ") + words.number(reference->ront_mm, 4) + " " + name;
  };
  add("LSCI", r.lsci);
  add("MZCI", r.mzci);
  add("MCCI", r.mcci);
  add("MICI", r.mici);
  return text;
}

std::string noise_beside_roundness(const RoundnessResult& r, const LengthWords& words) {
  if (!r.noise_floor_mm) return {};
  if (r.lsci && *r.noise_floor_mm >= r.lsci->ront_mm) return "noise alone shows as much";
  return "noise alone: " + words.number(*r.noise_floor_mm, 4);
}

}  // namespace rondure
