#include <algorithm>
#include <cmath>
#include <string>

#include "outline_parts.hpp"
#include "rondure/fit/arc_seen.hpp"
#include "rondure/fit/distributions.hpp"
#include "rondure/fit/gaussian_filter.hpp"
#include "rondure/fit/harmonics.hpp"
#include "rondure/fit/reference_circles.hpp"
#include "rondure/fit/sizes.hpp"
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

// Spread that n readings of a perfectly round part show about their least-squares circle: the range of n
// normal deviates (Blom's scores, from memory) less what the fit takes up. Within 3 % of simulation from 12
// points on.
double noise_floor_mm(double sigma_mm, double n) {
  return sigma_mm * std::sqrt(1 - 3 / n) * 2 * normal_quantile((n - 0.375) / (n + 0.25));
}

void add_reference_circles(Feature& feature, const OutlineData& data, double sigma_mm) {
  RoundnessResult r;
  const Circle& least_squares = data.circle.circle;
  r.lsci = {radial_spread(data.used, least_squares.center), least_squares.diameter_mm(),
            least_squares.center};
  if (const auto zone = minimum_zone(data.used); zone && zone->proven)
    r.mzci = {zone->zone_mm, 2 * zone->mean_radius_mm(), zone->center};
  if (const auto c = minimum_circumscribed(data.used))
    r.mcci = {radial_spread(data.used, c->circle.center), c->circle.diameter_mm(), c->circle.center};
  if (const auto c = maximum_inscribed(data.used))
    r.mici = {radial_spread(data.used, c->circle.center), c->circle.diameter_mm(), c->circle.center};
  if (sigma_mm > 0 && data.used.size() >= 12)
    r.noise_floor_mm = noise_floor_mm(sigma_mm, static_cast<double>(data.used.size()));
  feature.roundness = r;
}

// (GG) is the stated diameter: one value for one measurand. The least-squares circle of the points used is
// the LSCI.
void add_sizes(Feature& feature, const OutlineData& data) {
  const auto sizes = outline_sizes(data.used);
  if (!sizes) return;
  const double gg_mm = feature.circle ? feature.circle->diameter_mm : sizes->gg_mm;
  feature.sizes = {gg_mm,        sizes->gn_mm,     sizes->gx_mm,     sizes->cc_mm,
                   sizes->ca_mm, sizes->lp_max_mm, sizes->lp_min_mm, sizes->lp_range_mm};
}

// What these readings cannot show, in the user's words.
void warn_of_unseen_lobes(Feature& feature, const HarmonicAnalysis& analysis, int points, bool all_round) {
  constexpr int kEnough = 5;  // three- and five-lobed parts are the common ones
  const int highest = analysis.harmonics.empty() ? 1 : analysis.harmonics.back().upr;
  if (highest >= kEnough || rad(feature.points.coverage_deg) < kLeastArcForOvality_rad) return;
  if (!all_round) {
    feature.warnings.push_back(
        {"lobes-unseen",
         "an arc of " + std::to_string(static_cast<int>(std::lround(feature.points.coverage_deg))) +
             " deg cannot separate a three-lobed part from an oval: the ovality holds only if there are no "
             "lobes; read all round to know"});
    return;
  }
  std::string text = std::to_string(points) + " points ";
  text +=
      highest < 2 ? "show no lobing at all" : "show lobes only up to " + std::to_string(highest) + " a turn";
  feature.warnings.push_back(
      {"lobes-unseen", text + ": a three- or five-lobed part may pass for round; read 24 or more "
                              "points all round"});
}

}  // namespace

void add_shape(Feature& feature, const OutlineData& data, const std::optional<OvalityEstimate>& ovality,
               const OutlineOptions& options) {
  const FormRadiusOptions how = radius_options(options, data.sigma_mm);
  const HarmonicAnalysis analysis = analyse_harmonics(data.used, data.sigma_mm, data.circle.circle, how);
  for (const HarmonicEstimate& h : analysis.harmonics)
    feature.harmonics.push_back(
        {h.upr, h.amplitude_mm, deg(h.phase_rad),
         h.upr > 2 ? std::hypot(h.u_amplitude_mm, options.u_lobes_mm) : h.u_amplitude_mm});
  // Reference circles and sizes are of a closed outline.
  const bool all_round = arc_seen(data.used, data.circle.circle.center).full_circle();
  if (all_round && data.used.size() >= 4) {
    add_reference_circles(feature, data, ovality ? ovality->sigma_mm : 0);
    add_sizes(feature, data);
    feature.roundness->filtered = filtered_roundness(data);
  }
  const bool known = how.sigma_mm || (!data.sigma_mm.empty() && how.sigma_guess_mm <= 0);
  const Verdict verdict = judge(ovality, analysis, known, options.u_lobes_mm);
  feature.verdict = verdict.form;
  if (verdict.upr > 0) feature.verdict_upr = verdict.upr;
  if (!options.plain) warn_of_unseen_lobes(feature, analysis, static_cast<int>(data.used.size()), all_round);
}

}  // namespace rondure
