#include "noise_knowledge.hpp"

#include <algorithm>
#include <cmath>

#include "rondure/core/csv_table.hpp"

namespace rondure {
namespace {
// In ln s, a factor of 2.7. By judgement; study_readings_coverage checks what comes of it (readings whose noise is not told).
constexpr double kSpreadBeyond = 1;
constexpr double kBeyondKinds = 3;  // a good hand and a bad one
}  // namespace

const ReadingBelief& reading_belief() {
  static const ReadingBelief belief = [] {
    const CsvTable& table = CsvTable::builtin("instruments.csv");
    std::vector<double> log_u;
    for (std::size_t i = 0; i < table.rows(); ++i)
      if (const auto u = table.number(i, "u_mm"); u && table.text(i, "kinds") == "points")
        log_u.push_back(std::log(*u));
    const auto [finest, coarsest] = std::minmax_element(log_u.begin(), log_u.end());
    return ReadingBelief{std::exp(*finest) / kBeyondKinds, std::exp(*coarsest) * kBeyondKinds, kSpreadBeyond};
  }();
  return belief;
}

NoiseKnowledge noise_knowledge(std::span<const PartPoint> points, std::span<const double> sigma_mm,
                               double radius_mm, double ssq, int unknowns, const FormRadiusOptions& options) {
  NoiseKnowledge noise;
  double own = 0;
  if (!sigma_mm.empty() && std::all_of(sigma_mm.begin(), sigma_mm.end(), [](double s) { return s > 0; })) {
    for (const double s : sigma_mm) own += s * s;
    own = std::sqrt(own / static_cast<double>(sigma_mm.size()));
    for (const double s : sigma_mm) noise.relative.push_back(s / own);
  }
  const double step2 = options.resolution_mm * options.resolution_mm / 12;
  const double rms = std::sqrt(ssq / std::max(1.0, static_cast<double>(points.size()) - unknowns));
  double lo, hi;
  if (options.sigma_mm) {
    lo = hi = std::sqrt(*options.sigma_mm * *options.sigma_mm + step2);
  } else if (own > 0 && options.sigma_guess_mm <= 0) {
    lo = hi = std::sqrt(own * own + step2);
  } else if (options.sigma_guess_mm > 0) {
    lo = options.sigma_guess_mm / 20, hi = std::max(8 * options.sigma_guess_mm, 1.5 * rms);
  } else {
    // What people's instruments do, and far beyond both ways; the digits only bound it by their rounding.
    const ReadingBelief& belief = reading_belief();
    lo = std::max(std::min(belief.least_mm, rms) / 300, std::sqrt(step2));
    hi = 300 * std::max({belief.most_mm, rms, lo});
    noise.range.even_lo = belief.least_mm / radius_mm, noise.range.even_hi = belief.most_mm / radius_mm;
    noise.range.spread = belief.spread;
  }
  const double floor_mm = 1e-14 * radius_mm;  // readings without any error
  const bool known = lo == hi && (options.sigma_mm || own > 0);
  lo = std::max(lo, floor_mm);
  noise.range.lo = lo / radius_mm;
  noise.range.hi = (known ? lo : std::max(hi, 30 * floor_mm)) / radius_mm;
  return noise;
}

}  // namespace rondure
