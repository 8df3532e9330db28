#include "rondure/interpret/learned_grids.hpp"

#include <cmath>
#include <cstdio>

namespace rondure {
namespace {

bool holds(const LearnedGrids::Row& grid, double size_mm) {
  return std::abs(size_mm - std::round(size_mm / grid.step_mm) * grid.step_mm) < kSameSize_mm;
}

void count(std::vector<LearnedGrids::Row>& rows, const SizeCandidate& candidate) {
  double all = 0;
  const auto share = [&](const LearnedGrids::Row& r) {
    return r.system == candidate.system && holds(r, candidate.size_mm) ? r.weight * r.step_mm : 0;
  };
  for (const auto& r : rows) all += share(r);
  if (!(all > 0)) return;
  for (auto& r : rows) r.counted += candidate.probability * share(r) / all;
}

}  // namespace

Result<LearnedGrids> learn_grids(std::span<const OriginalResult> parts, const SizeGrids& prior) {
  LearnedGrids learned;
  for (const UnitSystem system : {UnitSystem::kMetric, UnitSystem::kInch})
    for (const SizeGrid& g : prior.of(system))
      learned.rows.push_back({g.name, system, g.step_mm, g.weight, 0});
  for (const OriginalResult& part : parts)
    for (const OriginalFeature& f : part.features) {
      if (f.kind != FeatureKind::kMetal) continue;
      ++learned.sizes;
      for (const SizeCandidate& c : f.candidates) count(learned.rows, c);
    }
  if (learned.sizes == 0)
    return Error{ErrorCode::kNoAnswer,
                 "found no size of the kind metal to learn from, needed shafts or pins"};
  for (const auto& r : learned.rows)
    (r.system == UnitSystem::kMetric ? learned.metric_counted : learned.inch_counted) += r.counted;
  for (auto& r : learned.rows) {
    const double of_system = r.system == UnitSystem::kMetric ? learned.metric_counted : learned.inch_counted;
    r.weight = (kPriorCounts * r.weight + r.counted) / (kPriorCounts + of_system);
  }
  return learned;
}

std::string grids_csv(const LearnedGrids& learned) {
  char line[240];
  const double counted = learned.metric_counted + learned.inch_counted;
  std::snprintf(line, sizeof line,
                "# Size grids learned from %zu metal sizes: %.1f metric, %.1f inch, as expected counts.\n",
                learned.sizes, learned.metric_counted, learned.inch_counted);
  std::string text = line;
  std::snprintf(
      line, sizeof line,
      "# Trust: the prior grids still count as %.0f sizes of each system, so these sizes make up %.0f %% "
      "of the weights.\n# Use: rondure original PART.json --grids THIS-FILE --metric-prior %.2f\n",
      kPriorCounts, 100 * counted / (2 * kPriorCounts + counted),
      (1 + learned.metric_counted) / (2 + counted));
  text += line;
  text += "system,grid,step_mm,weight,counted\n";
  for (const auto& r : learned.rows) {
    std::snprintf(line, sizeof line, ",%.9g,%.6g,%.2f\n", r.step_mm, r.weight, r.counted);
    text += std::string(name(r.system)) + "," + r.grid + line;
  }
  return text;
}

}  // namespace rondure
