#include "rondure/making/replacement.hpp"

namespace rondure::plan {
namespace {
constexpr std::string_view kBases[] = {"",         "chosen", "original", "original-undecided",
                                       "measured", "shaft",  "stated"};
}

std::string_view name(SizeBasis basis) { return kBases[static_cast<int>(basis)]; }

SizeBasis parse_size_basis(std::string_view name) {
  for (int k = 1; k <= static_cast<int>(SizeBasis::kStated); ++k)
    if (kBases[k] == name) return static_cast<SizeBasis>(k);
  return SizeBasis::kUnknown;
}

const PlannedSize* ReplacementPlan::find(const std::string& name) const {
  for (const PlannedSize& s : sizes)
    if (s.name == name) return &s;
  return nullptr;
}

const PlannedSize* ReplacementPlan::running() const {
  const PlannedSize* first = nullptr;
  for (const PlannedSize& s : sizes) {
    if (s.kind != FeatureKind::kOutside) continue;
    if (s.run_out_mm) return &s;
    if (!first) first = &s;
  }
  return first;
}

}  // namespace rondure::plan
