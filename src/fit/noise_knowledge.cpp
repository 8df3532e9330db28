#include "noise_knowledge.hpp"

#include <algorithm>
#include <cmath>

namespace rondure {

NoiseKnowledge noise_knowledge(std::span<const PartPoint> points, std::span<const double> sigma_mm, double radius_mm,
                               double ssq, int unknowns, const FormRadiusOptions& options) {
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
  } else if (options.resolution_mm > 0) {
    lo = 0.3 * options.resolution_mm, hi = std::max(12 * options.resolution_mm, rms);
  } else {
    lo = rms / 30, hi = 3 * rms;
  }
  const double floor_mm = 1e-14 * radius_mm;  // readings without any error
  const bool known = lo == hi && (options.sigma_mm || own > 0);
  lo = std::max(lo, floor_mm);
  noise.range = {lo / radius_mm, (known ? lo : std::max(hi, 30 * floor_mm)) / radius_mm};
  return noise;
}

}  // namespace rondure
