#include <algorithm>
#include <cmath>

#include "outline_parts.hpp"
#include "rondure/fit/gaussian_filter.hpp"
#include "rondure/fit/harmonics.hpp"
#include "rondure/fit/verdict.hpp"

namespace rondure {
namespace {

constexpr int kCutoffsUpr[] = {15, 50, 150, 500};  // ISO 12181-2 (from memory)

std::vector<FilteredRoundness> filtered_roundness(const OutlineData& data) {
  std::vector<std::pair<double, double>> profile;
  const Circle& circle = data.circle.circle;
  for (const PartPoint& p : data.used) {
    const Eigen::Vector2d d = p.vec() - circle.center.vec();
    profile.emplace_back(wrap_direction_rad(std::atan2(d.y(), d.x())), d.norm() - circle.radius_mm);
  }
  std::sort(profile.begin(), profile.end());
  std::vector<double> angle, deviation;
  for (const auto& [a, d] : profile) angle.push_back(a), deviation.push_back(d);
  std::vector<FilteredRoundness> out;
  for (const int cutoff : kCutoffsUpr) {
    if (!carries_cutoff(angle, cutoff)) break;
    const std::vector<double> smooth = gaussian_filtered(angle, deviation, cutoff);
    const auto [lo, hi] = std::minmax_element(smooth.begin(), smooth.end());
    out.push_back({cutoff, *hi - *lo});
  }
  return out;
}

// What these readings cannot show, in the user's words.
void warn_of_unseen_lobes(Feature& feature, const HarmonicAnalysis& analysis, int points) {
  constexpr int kEnough = 5;  // three- and five-lobed parts are the common ones
  const int highest = analysis.harmonics.empty() ? 1 : analysis.harmonics.back().upr;
  if (highest >= kEnough || rad(feature.points.coverage_deg) < kLeastArcForOvality_rad) return;
  std::string text = std::to_string(points) + " points ";
  text += highest < 2 ? "show no lobing at all" : "show lobes only up to " + std::to_string(highest) + " a turn";
  feature.warnings.push_back({"lobes-unseen", text + ": a three- or five-lobed part may pass for round; read 24 or more "
                                                     "points all round"});
}

}  // namespace

void add_shape(Feature& feature, const OutlineData& data, const std::optional<OvalityEstimate>& ovality,
               const OutlineOptions& options) {
  const FormRadiusOptions how = radius_options(options, data.sigma_mm);
  const HarmonicAnalysis analysis = analyse_harmonics(data.used, data.sigma_mm, data.circle.circle, how);
  for (const HarmonicEstimate& h : analysis.harmonics)
    feature.harmonics.push_back({h.upr, h.amplitude_mm, deg(h.phase_rad), h.u_amplitude_mm});
  const auto filtered = filtered_roundness(data);
  if (!filtered.empty()) {
    if (!feature.roundness) feature.roundness.emplace();
    feature.roundness->filtered = filtered;
  }
  const bool known = how.sigma_mm || (!data.sigma_mm.empty() && how.sigma_guess_mm <= 0);
  const Verdict verdict = judge(ovality, analysis, known);
  feature.verdict = verdict.form;
  if (verdict.upr > 0) feature.verdict_upr = verdict.upr;
  if (!options.plain) warn_of_unseen_lobes(feature, analysis, static_cast<int>(data.used.size()));
}

}  // namespace rondure
