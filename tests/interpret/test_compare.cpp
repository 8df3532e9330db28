// Differences of sizes and shapes, and the decision rule.
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "interpret/compare_shape.hpp"
#include "rondure/interpret/compare.hpp"

using namespace rondure;

namespace {

Feature sized(const std::string& name, double diameter_mm, double u_mm,
              FeatureKind kind = FeatureKind::kOutside) {
  Feature f;
  f.name = name;
  f.kind = kind;
  f.circle = CircleResult{};
  f.circle->diameter_mm = diameter_mm;
  f.circle->u_diameter_mm = u_mm;
  f.budget = {{UncertaintySource::kEdgeNoise, u_mm}};
  return f;
}

Feature with_scale(Feature f, double u_scale_ratio, const std::string& calibration) {
  const double u_scale_mm = u_scale_ratio * f.circle->diameter_mm;
  f.budget.push_back({UncertaintySource::kScale, u_scale_mm});
  f.circle->u_diameter_mm = std::hypot(*f.circle->u_diameter_mm, u_scale_mm);
  f.source.calibration_sha256 = calibration;
  return f;
}

Comparison compared(const std::vector<Feature>& a, const std::vector<Feature>& b,
                    const CompareOptions& options = {}) {
  const auto c = compare_features(a, b, options);
  REQUIRE(c);
  return *c;
}

}  // namespace

TEST_CASE("compare: independent uncertainties add in squares", "[interpret][compare]") {
  const auto c = compared({sized("roller", 12.40, 0.003)}, {sized("roller", 12.37, 0.004)});
  REQUIRE(c.features.size() == 1);
  const auto& f = c.features[0];
  CHECK(f.difference_mm == Approx(-0.03).margin(1e-12));
  CHECK(*f.u_difference_mm == Approx(0.005).epsilon(1e-12));
  CHECK(f.difference95_mm->lo == Approx(-0.03 - 1.959964 * 0.005));
  CHECK(f.change == SizeChange::kSmaller);
  CHECK(f.shrinkage_ratio->value == Approx(0.03 / 12.40));
  CHECK(c.shrinkage->ratio.u == Approx(0.005 / 12.40));
}

TEST_CASE("compare: a shared calibration cancels only when it is the very same", "[interpret][compare]") {
  const auto a = with_scale(sized("roller", 12.40, 0.001), 0.001, "c0ffee");
  const auto same = with_scale(sized("roller", 12.37, 0.001), 0.001, "c0ffee");
  const auto other = with_scale(sized("roller", 12.37, 0.001), 0.001, "0ddba11");
  const auto unknown = with_scale(sized("roller", 12.37, 0.001), 0.001, "");
  const auto shared = compared({a}, {same}).features[0];
  // what stays of the scale: its share of the difference, 0.001 * 0.03 mm
  CHECK(*shared.u_difference_mm == Approx(std::hypot(0.001, 0.001, 0.00003)).epsilon(1e-9));
  CHECK(shared.shared == std::vector{UncertaintySource::kScale});
  for (const auto& b : {other, unknown}) {
    const auto apart = compared({a}, {b}).features[0];
    CHECK(*apart.u_difference_mm == Approx(std::hypot(*a.circle->u_diameter_mm, *b.circle->u_diameter_mm)));
    CHECK(apart.shared.empty());
  }
}

// 2026-11: shared errors were found by words in the budget's text ("lens", "pin" ...).
TEST_CASE("compare: what is shared is told by the source, not by words", "[interpret][compare]") {
  const auto of = [](BudgetLine line, const std::string& calibration, const std::string& picture) {
    Feature f = sized("roller", 12.40, 0.001);
    f.budget.push_back(line);
    f.circle->u_diameter_mm = std::hypot(0.001, line.u_mm);
    f.source.calibration_sha256 = calibration;
    f.source.sha256 = picture;
    return f;
  };
  const auto u = [&](BudgetLine line, const char* calibration_b, const char* picture_b) {
    return *compared({of(line, "c0ffee", "a1")}, {of(line, calibration_b, picture_b)})
                .features[0]
                .u_difference_mm;
  };
  using Source = UncertaintySource;
  const double apart = std::sqrt(2.0) * std::hypot(0.001, 0.002), cancelled = std::sqrt(2.0) * 0.001;
  CHECK(u({Source::kBoardAndLens, 0.002}, "c0ffee", "b2") == Approx(cancelled));
  CHECK(u({Source::kBoardAndLens, 0.002}, "0ddba11", "a1") == Approx(apart));
  CHECK(u({Source::kReferencePiece, 0.002}, "c0ffee", "b2") == Approx(apart));
  CHECK(u({Source::kReferencePiece, 0.002}, "", "a1") == Approx(cancelled));
  CHECK(u({Source::kHeight, 0.002}, "c0ffee", "a1") == Approx(apart));
  for (const char* words : {"lens cap", "scale of the drawing", "pin"})
    CHECK(u({Source::kOther, 0.002, words}, "c0ffee", "a1") == Approx(apart));
}

TEST_CASE("compare: skew intervals are combined side by side", "[interpret][compare]") {
  auto a = sized("crown", 26.0, 0.3, "arc"), b = sized("crown", 26.2, 0.3, "arc");
  a.circle->diameter95_mm = Interval{25.4, 27.2};
  b.circle->diameter95_mm = Interval{25.5, 27.6};
  const auto f = compared({a}, {b}).features[0];
  CHECK(f.difference95_mm->lo == Approx(0.2 - std::hypot(1.2, 0.7)));
  CHECK(f.difference95_mm->hi == Approx(0.2 + std::hypot(0.6, 1.4)));
  CHECK(f.change == SizeChange::kNotShown);
}

TEST_CASE("compare: without an uncertainty nothing is claimed", "[interpret][compare]") {
  auto a = sized("roller", 12.40, 0.003);
  a.circle->u_diameter_mm.reset();
  CompareOptions options;
  options.tolerance_mm = 0.02;
  const auto c = compared({a}, {sized("roller", 12.0, 0.004)}, options);
  CHECK_FALSE(c.features[0].change);
  CHECK_FALSE(c.features[0].u_difference_mm);
  CHECK(c.features[0].decision->verdict == Conformity::kCannotTell);
  CHECK_FALSE(c.features[0].decision->guard_mm);
  CHECK_FALSE(c.shrinkage);
  REQUIRE(c.warnings.size() == 1);
  CHECK(c.warnings[0].code == WarningCode("no-uncertainty"));
}

TEST_CASE("decision rule: guard band of 1.65 u at either limit", "[interpret][conformity]") {
  const SizeLimits limits{12.38, 12.42};
  const double u = 0.002, g = 1.65 * u;
  const auto verdict = [&](double value) { return decide(value, u, std::nullopt, limits).verdict; };
  CHECK(verdict(12.40) == Conformity::kWithin);
  CHECK(verdict(12.38 + g + 1e-9) == Conformity::kWithin);
  CHECK(verdict(12.38 + g - 1e-6) == Conformity::kCannotTell);
  CHECK(verdict(12.38 - g + 1e-6) == Conformity::kCannotTell);
  CHECK(verdict(12.38 - g - 1e-9) == Conformity::kOutside);
  CHECK(verdict(12.42 - g - 1e-9) == Conformity::kWithin);
  CHECK(verdict(12.42 - g + 1e-6) == Conformity::kCannotTell);
  CHECK(verdict(12.42 + g - 1e-6) == Conformity::kCannotTell);
  CHECK(verdict(12.42 + g + 1e-9) == Conformity::kOutside);
  CHECK(*decide(12.38, u, std::nullopt, limits).guard_mm == Approx(g));
  CHECK(*decide(12.38, u, std::nullopt, limits).probability_within == Approx(0.5));
  CHECK(decide(12.39, u, std::nullopt, {std::nullopt, 12.42}).verdict == Conformity::kWithin);
  CHECK(decide(12.39, std::nullopt, std::nullopt, limits).verdict == Conformity::kCannotTell);
  CHECK(decide(12.39, u, std::nullopt, {}).verdict == Conformity::kCannotTell);
}

TEST_CASE("decision rule: a zone too narrow for the uncertainty proves nothing within",
          "[interpret][conformity]") {
  const SizeLimits limits{-1.7, 1.7};  // in units of u: both limits at once leave 91 %
  CHECK(decide(0, 1.0, std::nullopt, limits).verdict == Conformity::kCannotTell);
  CHECK(*decide(0, 1.0, std::nullopt, limits).probability_within ==
        Approx(0.9109).epsilon(1e-3));  // normal table
  CHECK(decide(0, 1.0, std::nullopt, {-2.0, 2.0}).verdict == Conformity::kWithin);
}

TEST_CASE("decision rule: claims are wrong in at most 5 percent of the parts at the limit",
          "[interpret][conformity]") {
  // 20,000 measurements of a part exactly at its upper limit, seed 7: standard error 0.15 points
  std::mt19937 random(7);
  std::normal_distribution<double> noise(0, 0.002);
  int within = 0, outside = 0;
  for (int i = 0; i < 20000; ++i) {
    const auto d = decide(12.42 + noise(random), 0.002, std::nullopt, {12.38, 12.42});
    within += d.verdict == Conformity::kWithin;
    outside += d.verdict == Conformity::kOutside;
  }
  CHECK(within / 20000.0 == Approx(0.0495).margin(0.006));
  CHECK(outside / 20000.0 == Approx(0.0495).margin(0.006));
}

TEST_CASE("decision rule: a skew interval guards each side by itself", "[interpret][conformity]") {
  const Interval skew{9.9, 10.8};
  CHECK(decide(10, 0.05, skew, {9.9, std::nullopt}).verdict == Conformity::kWithin);
  CHECK(decide(10, 0.05, skew, {std::nullopt, 10.6}).verdict == Conformity::kCannotTell);
  CHECK(decide(10, 0.05, skew, {std::nullopt, 10.7}).verdict == Conformity::kWithin);
}

TEST_CASE("compare: the tolerance bounds the difference, the plan bounds B", "[interpret][compare]") {
  CompareOptions options;
  options.tolerance_mm = 0.02;
  CHECK(compared({sized("r", 12.40, 0.001)}, {sized("r", 12.39, 0.001)}, options)
            .features[0]
            .decision->verdict == Conformity::kWithin);
  CHECK(compared({sized("r", 12.40, 0.001)}, {sized("r", 12.37, 0.001)}, options)
            .features[0]
            .decision->verdict == Conformity::kOutside);
  CHECK(compared({sized("r", 12.40, 0.001)}, {sized("r", 12.38, 0.001)}, options)
            .features[0]
            .decision->verdict == Conformity::kCannotTell);
  options.planned["r"] = {12.5, {12.49, 12.51}};
  const auto f = compared({sized("r", 12.40, 0.001)}, {sized("r", 12.502, 0.001)}, options).features[0];
  CHECK(f.decision->verdict == Conformity::kWithin);
  CHECK(f.difference_mm == Approx(0.102));
  // planned, and never measured on the old part
  const auto only = compared({}, {sized("r", 12.502, 0.001)}, options).features[0];
  CHECK_FALSE(only.a_mm);
  CHECK(only.difference_mm == Approx(0.002));
}

TEST_CASE("compare: features that shrank alike share one shrinkage, wear stands out",
          "[interpret][compare]") {
  const std::vector<Feature> a{sized("outside", 20, 0.002), sized("bore", 6, 0.002, "bore"),
                               sized("drum", 40, 0.002), sized("shaft", 3, 0.001, "metal")};
  const auto shrunk = [&](double drum_mm) {
    return compared(a, {sized("outside", 20 * 0.998, 0.002), sized("bore", 6 * 0.998, 0.002, "bore"),
                        sized("drum", drum_mm, 0.002), sized("shaft", 3, 0.001, "metal")});
  };
  const auto alike = shrunk(40 * 0.998);
  CHECK(alike.shrinkage->features == 3);  // the shaft does not shrink
  CHECK(alike.shrinkage->ratio.value == Approx(0.002).epsilon(1e-9));
  // generalised least squares of independent ratios: 1/u^2 = sum (D / u(d))^2
  const double u = 1 / std::sqrt((20 * 20 + 6 * 6 + 40 * 40.0) / (2 * 0.002 * 0.002));
  CHECK(alike.shrinkage->ratio.u == Approx(u));
  CHECK(*alike.shrinkage->p_alike > 0.99);
  CHECK(*shrunk(39.8).shrinkage->p_alike < 1e-6);
}

TEST_CASE("compare: one scale error does not average out over features", "[interpret][compare]") {
  // Both records with scales of their own, known to 0.1 %: three features cannot tell the shrinkage better
  // than that.
  std::vector<Feature> a, b;
  for (const double d : {10.0, 20.0, 30.0}) {
    a.push_back(with_scale(sized("f" + std::to_string(d), d, 1e-5), 0.001, "aa"));
    b.push_back(with_scale(sized("f" + std::to_string(d), d * 0.997, 1e-5), 0.001, "bb"));
  }
  const auto c = compared(a, b);
  CHECK(c.shrinkage->ratio.value == Approx(0.003).epsilon(1e-3));
  CHECK(c.shrinkage->ratio.u == Approx(0.001 * std::sqrt(1 + 0.997 * 0.997)).epsilon(1e-3));
}

TEST_CASE("compare: metal that changes is a warning about the scales", "[interpret][compare]") {
  const auto c = compared({sized("shaft", 3, 0.001, "metal")}, {sized("shaft", 3.01, 0.001, "metal")});
  REQUIRE(c.warnings.size() == 1);
  CHECK(c.warnings[0].code == WarningCode("metal-changed"));
  CHECK_FALSE(c.shrinkage);
}

TEST_CASE("compare: harmonics differ as vectors in the same phase", "[interpret][compare]") {
  auto a = sized("r", 12, 0.001), b = sized("r", 12, 0.001);
  a.harmonics = {{2, 0.010, 10, 0.0005}, {3, 0.002, 0, 0.0005}};
  b.harmonics = {{2, 0.010, 100, 0.0005}, {3, 0.0022, 0, 0.0005}};
  const auto h = compared({a}, {b}).features[0].harmonics;
  REQUIRE(h.size() == 2);
  // an oval whose axis turned by 90 deg: the difference is twice the amplitude, along the new axis
  CHECK(h[0].amplitude_mm == Approx(0.020));
  CHECK(h[0].phase_deg == Approx(100));
  CHECK(*h[0].u_mm == Approx(0.0005 * std::sqrt(2.0)));
  CHECK(h[0].shown);
  CHECK_FALSE(h[1].shown);
}

TEST_CASE("compare: the turn between two dates is found and undone", "[interpret][compare]") {
  auto a = sized("r", 12, 0.001), b = sized("r", 12, 0.001);
  a.harmonics = {{2, 0.010, 10, 0.0005}, {3, 0.006, 20, 0.0005}, {5, 0.003, 70, 0.0005}};
  for (const double turn_deg : {0.0, 37.3, 181.0, 344.9}) {
    b.harmonics = a.harmonics;
    for (auto& h : b.harmonics) h.phase_deg = std::fmod(h.phase_deg + turn_deg, 360.0 / h.upr);
    CompareOptions find;
    find.find_turn = true;
    const auto found = compared({a}, {b}, find);
    CHECK(std::cos(*found.turn_rad - rad(turn_deg)) == Approx(1).epsilon(1e-9));
    for (const auto& h : found.features[0].harmonics) CHECK(h.amplitude_mm < 1e-6);
    CompareOptions given;
    given.turn_rad = rad(turn_deg);
    const auto turned_back = compared({a}, {b}, given);
    for (const auto& h : turned_back.features[0].harmonics) CHECK(h.amplitude_mm < 1e-12);
    const auto plain = compared({a}, {b});
    const bool warned = !plain.warnings.empty() && plain.warnings[0].code == WarningCode("turned");
    CHECK(warned == (turn_deg != 0));
  }
}

TEST_CASE("compare: one turn is found from all features together, and brings all of them back",
          "[interpret][compare]") {
  // the rim alone is an oval: its turn is known only to half a turn; the bore's three lobes settle it
  auto rim = sized("rim", 12, 0.001), bore = sized("bore", 6, 0.001, "bore");
  rim.harmonics = {{2, 0.020, 30, 0.0005}};
  bore.harmonics = {{3, 0.006, 50, 0.0005}};
  for (const double turn_deg : {20.0, 200.0, 275.0}) {
    auto rim_b = rim, bore_b = bore;
    rim_b.harmonics[0].phase_deg = std::fmod(30 + turn_deg, 180);
    bore_b.harmonics[0].phase_deg = std::fmod(50 + turn_deg, 120);
    const auto plain = compared({rim, bore}, {rim_b, bore_b});
    REQUIRE(plain.warnings.size() == 1);
    CHECK(plain.warnings[0].code == WarningCode("turned"));
    CompareOptions find;
    find.find_turn = true;
    const auto found = compared({rim, bore}, {rim_b, bore_b}, find);
    CHECK(std::cos(*found.turn_rad - rad(turn_deg)) == Approx(1).epsilon(1e-9));
    for (const auto& f : found.features)
      for (const auto& h : f.harmonics) CHECK(h.amplitude_mm < 1e-6);
  }
  // shapes that were not turned alike are not explained by a turn
  auto rim_b = rim, bore_b = bore;
  rim_b.harmonics[0].phase_deg = 75;
  const auto bent = compared({rim, bore}, {rim_b, bore_b});
  CHECK(bent.features[0].harmonics[0].shown);
}

TEST_CASE("compare: another piece has not shrunk", "[interpret][compare]") {
  CompareOptions options;
  options.another_piece = true;
  const auto c = compared({sized("r", 12.38, 0.001)}, {sized("r", 12.50, 0.001)}, options);
  CHECK_FALSE(c.shrinkage);
  CHECK_FALSE(c.features[0].shrinkage_ratio);
  CHECK(c.features[0].change == SizeChange::kLarger);
}

TEST_CASE("compare: two single features are meant for each other, none in common is no answer",
          "[interpret][compare]") {
  const auto c = compared({sized("before", 12, 0.001)}, {sized("after", 12.1, 0.001)});
  REQUIRE(c.features.size() == 1);
  REQUIRE(c.warnings.size() == 1);
  CHECK(c.warnings[0].code == WarningCode("names-differ"));
  const std::vector<Feature> two{sized("x", 1, 0.1), sized("y", 2, 0.1)}, other{sized("z", 1, 0.1)};
  const auto none = compare_features(two, other);
  REQUIRE_FALSE(none);
  CHECK(none.error().code == ErrorCode::kNoAnswer);
}

// Two components: the 95 % point of chi-squared with two degrees of freedom is 5.99 (printed tables), its root 2.448.
TEST_CASE("compare: a change of shape is shown beyond 2.45 u, not beyond one", "[interpret][compare]") {
  const double u = std::hypot(0.001, 0.001);
  const auto shown = [&](double change_mm) {
    const HarmonicResult before{2, 0.010, 20, 0.001}, after{2, 0.010 + change_mm, 20, 0.001};
    return compare_harmonics(std::vector{before}, std::vector{after}, 0).front().shown;
  };
  CHECK_FALSE(shown(1.2 * u));
  CHECK_FALSE(shown(2.44 * u));
  CHECK(shown(2.46 * u));
}
