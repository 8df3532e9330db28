#include <algorithm>
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

SizeObservation made_to(const char* name, FeatureKind kind, double size_mm, double u_mm, double u_made_mm) {
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
  const auto prior = [](double s) { return brute_force::Feature::normal((s - 0.003) / 0.002); };
  const double f = held_ring_outer_share(3.004 / 12.44, find_ageing_material("").poisson_ratio);
  const auto sd = [](double a, double b) { return std::hypot(a, b); };
  const auto theirs = brute_force::posterior({{12.44, f, {sd(0.006, 0.05)}},
                                              {3.004, 0, {sd(0.004, 0.01)}},
                                              {7.93, 1, {sd(0.01, 0.03)}},
                                              {5.96, 1, {sd(0.01, 0.02)}},
                                              {2.01, 0, {sd(0.002, 0.006)}}},
                                             options.grids, 0.6, {1.0}, prior, 0, 0.023, 8000);
  const auto ours = infer(sizes, options);
  CHECK(largest_difference(ours, theirs) < kPosteriorAccuracy);
  CHECK(ours.shrinkage_mean == Approx(theirs.mean_shrinkage).margin(1e-7));

  options.panel_scale = 0.25;  // refinement
  const auto finer = infer(sizes, options);
  for (std::size_t i = 0; i < sizes.size(); ++i)
    for (std::size_t c = 0; c < ours.features[i].candidates.size(); ++c)
      CHECK(std::abs(ours.features[i].candidates[c].probability -
                     finer.features[i].candidates[c].probability) < 1e-9);
}

TEST_CASE("original: exact with the material's mixture law, unknown care of making, and evidence",
          "[interpret][original]") {
  OriginalOptions options;
  options.material = "POM-C";
  options.evidence = {{"outside", {12.45, 0.06}, "stated"}};
  SizeObservation outside{"outside", "outside", 12.41, 0.01, {}, {}, 0},
      width{"width", "width", 7.93, 0.01, {}, {}, 0};
  const auto ours = infer({outside, width}, options);

  const AgeingMaterial pom = find_ageing_material("POM-C");
  REQUIRE(pom.levels.size() == 4);
  brute_force::Feature f{12.41, 1, {}, 12.45, 0.06}, w{7.93, 1, {}};
  std::vector<double> chance;
  for (const MakingLevel& level : pom.levels) {
    f.sd_mm.push_back(std::hypot(0.01, moulding_sd_mm(pom, level, 12.41, false)));
    w.sd_mm.push_back(std::hypot(0.01, moulding_sd_mm(pom, level, 7.93, true)));
    chance.push_back(level.chance);
  }
  // 0.7 normal(0.3 %, 0.1 %) + 0.3 half normal 0.6 %, cut off at 0 and 5 % (materials.hpp)
  const auto cut_normal = [](double s, double mean, double sd) {
    const auto cdf = [](double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); };
    const double z = (s - mean) / sd;
    return std::exp(-0.5 * z * z) / sd / (cdf((0.05 - mean) / sd) - cdf((0 - mean) / sd));
  };
  const auto prior = [&](double s) {
    return 0.7 * cut_normal(s, 0.003, 0.001) + 0.3 * cut_normal(s, 0, 0.006);
  };
  const auto theirs = brute_force::posterior({f, w}, options.grids, 0.5, chance, prior, 0, 0.05, 5000);
  CHECK(largest_difference(ours, theirs) < kPosteriorAccuracy);
}

TEST_CASE("original: exact for an oval outside and a bore that may have worn", "[interpret][original]") {
  const double largest = 12.47, smallest = 12.40, u_ovality = 0.004, bore_mm = 6.02;
  SizeObservation outside = made_to("outside", "outside", 12.435, 0.006, 0.03);
  outside.ovality_mm = largest - smallest;
  outside.u_ovality_mm = u_ovality;
  OriginalOptions options;
  options.shrinkage = Estimate{0.003, 0.002};
  options.may_be_worn = {"bore"};
  const auto ours = infer({outside, made_to("bore", "bore", bore_mm, 0.004, 0.015)}, options);

  // The density at t of an exponential amount plus a normal one, times sqrt(2 pi); and by Simpson's rule over
  // the amount, which it is checked against first.
  const auto smeared = [](double t, double mean, double sd) {
    return std::sqrt(kPi / 2) / mean * std::exp(sd * sd / (2 * mean * mean) - t / mean) *
           std::erfc((sd / mean - t / sd) / std::sqrt(2.0));
  };
  for (const double t : {-0.1, -0.02, 0.0, 0.03, 0.2}) {
    const double mean = 0.035, sd = 0.03, hi = std::max(0.0, t) + 10 * sd;
    const int steps = 20000;
    double sum = 0;
    for (int k = 0; k <= steps; ++k) {
      const double w = hi * k / steps;
      sum += (k == 0 || k == steps ? 1
              : k % 2 == 1         ? 4
                                   : 2) *
             std::exp(-w / mean) / mean * brute_force::Feature::normal((t - w) / sd) / sd;
    }
    CHECK(smeared(t, mean, sd) == Approx(sum * hi / (3 * steps)).epsilon(1e-9));
  }
  const OvalSize oval{largest, smallest, u_ovality, false};
  brute_force::Feature f{12.435, 1, {std::hypot(0.006, 0.03)}}, b{bore_mm, 1, {std::hypot(0.004, 0.015)}};
  const auto plain = [](double anchor, double x, double sd) {
    return brute_force::Feature::normal((x - anchor) / sd) / sd;
  };
  f.density = [&](double drawn, double s, std::size_t) {
    const double x = drawn * (1 - s), sd = f.sd_mm[0];
    return kPriorChance[0] * ovality_density(ShapeHypothesis::kUneven, oval, s) *
               plain((largest + smallest) / 2, x, sd) +
           kPriorChance[1] * ovality_density(ShapeHypothesis::kBent, oval, s) *
               plain(ellipse_circumference_diameter_mm(largest, smallest), x, sd) +
           kPriorChance[2] * ovality_density(ShapeHypothesis::kWorn, oval, s) *
               smeared(x - largest, kWornMore * (largest - smallest), sd);
  };
  f.wider_mm = 30 * kWornMore * (largest - smallest);
  b.density = [&](double drawn, double s, std::size_t) {
    const double x = drawn * (1 - s), sd = b.sd_mm[0];
    return 0.5 * plain(bore_mm, x, sd) + 0.5 * smeared(bore_mm - x, kRoundWear_ratio * bore_mm, sd);
  };
  b.wider_mm = 30 * kRoundWear_ratio * bore_mm;
  const auto prior = [](double s) { return brute_force::Feature::normal((s - 0.003) / 0.002); };
  const auto theirs = brute_force::posterior({f, b}, options.grids, 0.5, {1.0}, prior, 0, 0.023, 8000);
  CHECK(largest_difference(ours, theirs) < kPosteriorAccuracy);
  CHECK(ours.shrinkage_mean == Approx(theirs.mean_shrinkage).margin(1e-7));
}

TEST_CASE("original: a feature far from every grid size, or two that contradict, still give an answer",
          "[interpret][original]") {
  OriginalOptions options;
  options.grids = *parse_size_grids("system,grid,step_mm,weight\nmetric,whole,1,1\n");
  options.shrinkage = Estimate{0.002, 0.0005};
  const auto r =
      infer({made_to("outside", "outside", 12.5, 0.001, 0.001), made_to("pin", "metal", 3.4, 0.001, 0.001)},
            options);
  double sum = 0;
  for (const SizeCandidate& c : r.features[0].candidates) sum += c.probability;
  CHECK(sum == Approx(1).margin(1e-6));
  CHECK(std::isfinite(r.shrinkage_mean));
  CHECK(r.features[1].candidates[0].label == "3 mm");
}

TEST_CASE("original: properties", "[interpret][original]") {
  OriginalOptions options;
  options.material = "POM-C";
  std::vector<SizeObservation> sizes = {made_to("a", "outside", 12.44, 0.005, 0.04),
                                        made_to("b", "metal", 3.002, 0.003, 0.01),
                                        made_to("c", "width", 7.98, 0.005, 0.03)};
  const auto forward = infer(sizes, options);
  std::reverse(sizes.begin(), sizes.end());
  const auto backward = infer(sizes, options);  // the order does not matter
  CHECK(forward.log_evidence == Approx(backward.log_evidence).margin(1e-9));
  CHECK(forward.features[0].candidates[0].probability ==
        Approx(backward.features[2].candidates[0].probability).margin(1e-9));
  CHECK(forward.p_metric + 0 == Approx(backward.p_metric).margin(1e-12));
  // a metal part has its drawing size: no shrinkage at all
  options.material = "brass";
  const auto brass = infer(sizes, options);
  CHECK(brass.shrinkage_mean == 0);
  CHECK(brass.features[0].share_of_shrinkage == 0);
  // an unknown material is broader than a known one, and says so
  options.material = "mystery";
  const auto unknown = infer(sizes, options);
  CHECK(unknown.shrinkage95.width() > forward.shrinkage95.width());
  CHECK(unknown.warnings[0].code == WarningCode("material-unknown"));
}

TEST_CASE("original: labels as on drawings", "[interpret][original]") {
  CHECK(size_label(12.5, UnitSystem::kMetric) == "12.5 mm");
  CHECK(size_label(12, UnitSystem::kMetric) == "12 mm");
  CHECK(size_label(12.05, UnitSystem::kMetric) == "12.05 mm");
  CHECK(size_label(25.4 * 31 / 64, UnitSystem::kInch) == "31/64 in");
  CHECK(size_label(25.4 * 0.49, UnitSystem::kInch) == "0.490 in");
  CHECK(size_label(25.4 * 0.5, UnitSystem::kInch) == "1/2 in");
  CHECK(size_label(25.4 * 1.125, UnitSystem::kInch) == "1 1/8 in");
  CHECK(size_label(25.4 * 2, UnitSystem::kInch) == "2 in");
  CHECK(size_label(25.4 * 0.4905, UnitSystem::kInch) == "0.4905 in");
}

// Source: the project's trade facts, section 2: 12.0 : 12.5 : 12.25 : 12.1 = 20 : 6.8 : 0.7 : 1 under the
// built-in weights.
TEST_CASE("original: the built-in grid weights give the stated ratios", "[interpret][original]") {
  const auto sizes = sizes_between(builtin_size_grids().metric, 11.9, 12.6);
  const auto weight = [&](double mm) {
    for (const GridSize& n : sizes)
      if (std::abs(n.size_mm - mm) < 1e-6) return n.prior_weight;
    return 0.0;
  };
  CHECK(weight(12.0) / weight(12.1) == Approx(20).epsilon(0.02));
  CHECK(weight(12.5) / weight(12.1) == Approx(6.8).epsilon(0.02));
  CHECK(weight(12.25) / weight(12.1) == Approx(0.7).epsilon(0.05));
}

TEST_CASE("original: what to measure next is worth what it says", "[interpret][original]") {
  // A part whose plastic sizes read the same in both systems: the shaft decides.
  std::vector<SizeObservation> sizes = {made_to("rim", "outside", 11.906, 0.003, 0.01),
                                        made_to("hub", "width", 7.9375, 0.003, 0.01)};
  OriginalOptions options;
  options.shrinkage = Estimate{0.004, 0.003};
  options.could_measure = {{"shaft", "metal", 3, 0.005}, {"flange", "outside", 20, 0.01}};
  const auto before = infer(sizes, options);
  CHECK(before.features[0].undecided);
  REQUIRE_FALSE(before.measure_next.empty());
  CHECK(before.measure_next[0].what.find("shaft") != std::string::npos);
  // Expected gain cannot exceed the entropy that is there.
  double entropy = 0;
  for (const SizeCandidate& c : before.features[0].candidates)
    entropy -= c.probability * std::log2(c.probability);
  for (const NextMeasurement& n : before.measure_next) CHECK(n.expected_gain_bits < entropy + 0.1);
  sizes.push_back(made_to("shaft", "metal", 3.001, 0.005, 0.012));
  const auto after = infer(sizes, options);
  CHECK(after.p_metric > 0.98);
  CHECK_FALSE(after.features[0].undecided);
  CHECK(after.features[0].candidates[0].label == "12 mm");
  REQUIRE_FALSE(after.reasons.empty());
  CHECK(after.reasons[0].find("shaft") != std::string::npos);
}

TEST_CASE("original: evidence that contradicts the measured size is named and left out",
          "[interpret][original]") {
  const std::vector<SizeObservation> sizes{{"drum", "outside", 12.435, 0.01, {}, {}, 0}};
  OriginalOptions alone, against = alone;
  against.evidence = {{"drum", {14, 0.1}, "stated"}};
  const auto plain = infer_original(sizes, alone), judged = infer_original(sizes, against);
  REQUIRE(plain);
  REQUIRE(judged);
  CHECK(std::ranges::count(judged->warnings, WarningCode("evidence-contradicts"), &Warning::code) == 1);
  REQUIRE(judged->features[0].candidates.size() == plain->features[0].candidates.size());
  for (std::size_t i = 0; i < plain->features[0].candidates.size(); ++i)
    CHECK(judged->features[0].candidates[i].probability ==
          Approx(plain->features[0].candidates[i].probability).margin(1e-9));
}
