// Amplitude and phase of the undulations of an outline (UPR, undulations per revolution) from points that
// need not be evenly spaced and may leave gaps.
//
// Model: r(t) = R + u cos t + v sin t + sum_{k=2..K} (a_k cos k t + b_k sin k t) + noise, all coefficients by
// least squares together. K is the highest order that the points carry: at most a third of their number, and
// none of the orders known worse than kLargestInflation times what the same number of evenly spaced points
// would give. Orders above K are not invented and not reported; what they may leak into those below (through
// uneven spacing and gaps) is in the uncertainty: each of the six above K is taken to be as strong as an
// order of the upper half of those seen (less what noise gives these), all of them together at most a third
// of the amplitude seen. Where neighbouring points share errors the answer is mixed over the correlation by
// restricted likelihood (form_rows.hpp). Test of an order: F(2, n - 2K - 1), or chi-squared where sigma is
// known; exact for independent Gaussian noise. Accuracy: exact for a band-limited outline without noise.
// Cost: about n (2K + 1)^2 multiplications.
#pragma once
#include <Eigen/Core>
#include <span>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/fit/form_radius.hpp"

namespace rondure {

inline constexpr double kLargestInflation = 2.5;
inline constexpr int kHighestUpr = 50;  // ISO 12181-2 lists cut-offs 15, 50, 150, 500 (from memory)
inline constexpr int kHighestUprCorrelated = 15;

struct HarmonicEstimate {
  int upr = 0;
  double amplitude_mm = 0;    // of the least-squares coefficients, with the bias of noise in it
  double phase_rad = 0;       // of the first crest, [0, 2 pi / upr)
  double u_amplitude_mm = 0;  // standard, along the coefficient vector
  double corrected_mm = 0;    // sqrt(max(0, amplitude^2 - both variances))
  double p_zero = 1;          // chance of as much when this order is absent
};

struct HarmonicAnalysis {
  std::vector<HarmonicEstimate> harmonics;  // orders 2..K; empty when the points carry none
  double sigma_mm = 0;                      // noise of a point about the harmonics
  double residual_mm = 0;  // root mean square of the residuals, with the degrees of freedom taken off
  double dof = 0;
};

HarmonicAnalysis analyse_harmonics(std::span<const PartPoint> points, std::span<const double> sigma_mm,
                                   const Circle& circle, const FormRadiusOptions& options);

}  // namespace rondure
