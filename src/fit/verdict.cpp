#include "rondure/fit/verdict.hpp"

#include <cmath>

#include "rondure/fit/distributions.hpp"

namespace rondure {
namespace {

// Of as large an amplitude when the order is absent, noise and what the points share together: two normal coefficients.
double shared_chance(const HarmonicEstimate& h, double u_lobes_mm) {
  if (!(u_lobes_mm > 0)) return 0;
  const double variance = u_lobes_mm * u_lobes_mm + h.u_amplitude_mm * h.u_amplitude_mm;
  return std::exp(-h.amplitude_mm * h.amplitude_mm / (2 * variance));
}

}  // namespace

Verdict judge(const std::optional<OvalityEstimate>& ovality, const HarmonicAnalysis& analysis,
              bool sigma_known, double u_lobes_mm) {
  if (!ovality) return {OutlineForm::kUndecided, 0};
  double total = 0, largest = 0;
  int upr = 0;
  const auto shows = [&](int order, double amplitude_mm) {
    const double power = amplitude_mm * amplitude_mm;
    total += power;
    if (power > largest) largest = power, upr = order;
  };
  if (ovality->p_round < kFalseOval)
    shows(2, std::max(ovality->ovality_mm, 1e-9 * ovality->mean_radius_mm) / 2);
  const double chance = (kFalseVerdict - kFalseOval) / (static_cast<double>(analysis.harmonics.size()) - 1);
  for (const HarmonicEstimate& h : analysis.harmonics)
    if (h.upr > 2 && h.p_zero < chance && shared_chance(h, u_lobes_mm) < chance) shows(h.upr, h.corrected_mm);

  if (sigma_known && analysis.dof > 0) {
    const double sigma_mm = std::hypot(analysis.sigma_mm, u_lobes_mm);
    const double excess = analysis.residual_mm / sigma_mm;
    const double left = analysis.residual_mm * analysis.residual_mm - sigma_mm * sigma_mm;
    if (excess > 2 && 2 * left > total && chi2_upper_p(analysis.dof * excess * excess, analysis.dof) < 1e-4)
      return {OutlineForm::kIrregular, 0};
  }
  if (upr > 0) {
    if (largest < 0.5 * total) return {OutlineForm::kIrregular, 0};
    return {upr == 2 ? OutlineForm::kOval : OutlineForm::kLobed, upr};
  }
  // Half-way cases are not called round either.
  const bool borderline = ovality->p_round < 0.05;
  const bool fine = 2 * ovality->ovality95_mm.hi < kRoundEnough * 2 * ovality->mean_radius_mm;
  return {fine && !borderline ? OutlineForm::kRound : OutlineForm::kUndecided, 0};
}

}  // namespace rondure
