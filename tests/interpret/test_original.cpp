#include <catch2/catch.hpp>
#include <cmath>

#include "brute_force_posterior.hpp"
#include "rondure/interpret/original.hpp"
#include "rondure/interpret/ring_on_shaft.hpp"

using namespace rondure;

namespace {

double probability_of(const OriginalFeature& f, const std::string& label) {
  for (const SizeCandidate& c : f.candidates)
    if (c.label == label) return c.probability;
  return 0;
}

SizeObservation made_to(const char* name, const char* kind, double size_mm, double u_mm, double u_made_mm) {
  SizeObservation o{name, kind, size_mm, u_mm, {}, {}, 0};
  o.u_made_mm = u_made_mm;
  return o;
}

OriginalResult infer(const std::vector<SizeObservation>& sizes, const OriginalOptions& options) {
  auto result = infer_original(sizes, options);
  INFO((result ? std::string() : result.error().message()));
  REQUIRE(result);
  return *result;
}

double largest_difference(const OriginalResult& ours, const brute_force::Answer& theirs) {
  double worst = std::abs(ours.p_metric - theirs.p_metric);
  for (std::size_t i = 0; i < ours.features.size(); ++i)
    for (const SizeCandidate& c : ours.features[i].candidates) {
      const auto found =
          theirs.features[i].find({c.system == UnitSystem::kMetric ? 0 : 1, std::lround(c.size_mm * 1e6)});
      worst =
          std::max(worst, std::abs(c.probability - (found == theirs.features[i].end() ? 0 : found->second)));
    }
  return worst;
}

}  // namespace

// Source: the project's trade facts, section 2, worked posterior (all 0.01 mm members as candidates, metric
// only).
TEST_CASE("original: the worked posterior of an 11.90 mm roller", "[interpret][original]") {
  OriginalOptions options;
  options.p_metric = 1;
  options.shrinkage = Estimate{0.003, 0.001};
  const auto wide = infer({made_to("outside", "outside", 11.90, 0, 0.07)}, options);
  CHECK(probability_of(wide.features[0], "12 mm") == Approx(0.89).margin(0.005));
  CHECK(probability_of(wide.features[0], "11.9 mm") == Approx(0.06).margin(0.005));
  CHECK_FALSE(wide.features[0].undecided);
  const auto close = infer({made_to("outside", "outside", 11.90, 0, 0.015)}, options);
  CHECK(probability_of(close.features[0], "11.9 mm") == Approx(0.41).margin(0.005));
  CHECK(probability_of(close.features[0], "11.95 mm") == Approx(0.29).margin(0.005));
  CHECK(probability_of(close.features[0], "12 mm") == Approx(0.19).margin(0.005));
  CHECK(close.features[0].undecided);
}

TEST_CASE("original: the posterior is exact to kPosteriorAccuracy", "[interpret][original]") {
  OriginalOptions options;
  options.shrinkage = Estimate{0.003, 0.002};
  options.p_metric = 0.6;
  const std::vector<SizeObservation> sizes = {
      made_to("outside", "outside", 12.44, 0.006, 0.05), made_to("bore", "bore-on-metal", 3.004, 0.004, 0.01),
      made_to("width", "width", 7.93, 0.01, 0.03), made_to("hub", "bore", 5.96, 0.01, 0.02),
      made_to("pin", "metal", 2.01, 0.002, 0.006)};
  const auto prior = [](double s) { return brute_force::normal((s - 0.003) / 0.002); };
  const double f = held_ring_outer_share(3.004 / 12.44, find_ageing_material("").poisson_ratio);
  const auto sd = [](double a, double b) { return std::hypot(a, b); };
  const auto theirs = brute_force::posterior({{12.44, f, sd(0.006, 0.05)},
                                              {3.004, 0, sd(0.004, 0.01)},
                                              {7.93, 1, sd(0.01, 0.03)},
                                              {5.96, 1, sd(0.01, 0.02)},
                                              {2.01, 0, sd(0.002, 0.006)}},
                                             options.grids, 0.6, prior, 0, 0.023, 40000);
  const auto ours = infer(sizes, options);
  CHECK(largest_difference(ours, theirs) < kPosteriorAccuracy);
  CHECK(ours.shrinkage_mean == Approx(theirs.mean_shrinkage).margin(1e-8));

  options.panel_scale = 0.25;  // refinement
  const auto finer = infer(sizes, options);
  for (std::size_t i = 0; i < sizes.size(); ++i)
    for (std::size_t c = 0; c < ours.features[i].candidates.size(); ++c)
      CHECK(std::abs(ours.features[i].candidates[c].probability -
                     finer.features[i].candidates[c].probability) < 1e-9);
}
