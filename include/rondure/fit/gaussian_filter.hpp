// Gaussian filter of ISO 12181-2 on a closed roundness profile: weight exp(-pi (x / (alpha L))^2) / (alpha L) with
// alpha = sqrt(ln 2 / pi) = 0.4697 and L = one revolution / cut-off, so that an undulation at the cut-off keeps half its
// amplitude (formula of ISO 16610-21, from memory; the half is tested). Points that are not evenly spaced count by the
// arc that they stand for.
// Points carry a cut-off when there are kPointsPerUndulation of them in each undulation (common practice, no source) and
// no gap is wider than half an undulation.
#pragma once
#include <span>
#include <vector>

namespace rondure {

inline constexpr int kPointsPerUndulation = 7;

// Transmission of an amplitude of `upr` undulations: exp(-ln 2 (upr / cutoff)^2).
double gaussian_transmission(double upr, double cutoff_upr);
// angle_rad ascending in [0, 2 pi).
bool carries_cutoff(std::span<const double> angle_rad, double cutoff_upr);
std::vector<double> gaussian_filtered(std::span<const double> angle_rad, std::span<const double> deviation_mm,
                                      double cutoff_upr);

}  // namespace rondure
