// From readings to the feature: slips, arcs, combined readings, temperature, refusals.
#include <catch2/catch.hpp>
#include <cmath>

#include "fit/simulated_part.hpp"
#include "rondure/fit/circle_fit.hpp"
#include "rondure/interpret/outline.hpp"

using namespace rondure;

namespace {
std::vector<MeasuredPoint> measured(const std::vector<PartPoint>& points) {
  std::vector<MeasuredPoint> out;
  for (std::size_t i = 0; i < points.size(); ++i) out.push_back({points[i], 0, static_cast<int>(i) + 3});
  return out;
}
std::vector<MeasuredPoint> idler(int n, double arc_deg, double oval_ratio, unsigned seed) {
  simulated::Random random(seed);
  simulated::Part part;
  part.oval_ratio = oval_ratio;
  simulated::Reading how;
  how.points = n, how.arc_deg = arc_deg;
  return measured(simulated::read(part, how, random));
}
bool warns(const Feature& feature, WarningCode code) {
  for (const Warning& w : feature.warnings)
    if (w.code == code) return true;
  return false;
}
}  // namespace

TEST_CASE("outline: a mistyped reading is left out and named by its line", "[interpret][outline]") {
  auto points = idler(24, 360, 0, 11);
  points[9].at = {1.025 * points[9].at.x_mm, 1.025 * points[9].at.y_mm};
  const auto feature = measure_outline(points);
  REQUIRE(feature);
  REQUIRE(feature->excluded.size() == 1);
  CHECK(feature->excluded[0].lines == std::vector<int>{12});
  CHECK(feature->points.used == 23);
  CHECK(feature->circle->diameter_mm == Approx(20).margin(4 * *feature->circle->u_diameter_mm));
  OutlineOptions plain;
  plain.plain = true;
  CHECK(measure_outline(points, plain)->points.used == 24);
}

TEST_CASE("outline: an oval part is oval, its size that of the mean", "[interpret][outline]") {
  const auto feature = measure_outline(idler(24, 360, 5e-3, 12));  // ovality 0.1 mm on 20 mm
  REQUIRE(feature);
  CHECK(feature->verdict == OutlineForm::kOval);
  CHECK(feature->verdict_upr == 2);
  REQUIRE(feature->ellipse);
  CHECK(feature->ellipse->ovality_mm == Approx(0.1).margin(4 * *feature->ellipse->u_ovality_mm));
  CHECK(feature->ellipse->major_angle_deg);
  CHECK(feature->circle->diameter_mm == Approx(20).margin(4 * *feature->circle->u_diameter_mm));
  REQUIRE(feature->roundness);
  REQUIRE(feature->roundness->mzci);
  CHECK(feature->roundness->lsci->ront_mm >= feature->roundness->mzci->ront_mm);
}

TEST_CASE("outline: the budget adds up to the stated uncertainty", "[interpret][outline]") {
  OutlineOptions options;
  options.u_scale_ratio = 3e-4;
  options.u_edge_offset_mm = 0.002;
  options.more = {{UncertaintySource::kHeight, 0.003}};
  const auto feature = measure_outline(idler(24, 360, 0, 13), options);
  REQUIRE(feature);
  double sum = 0;
  for (const BudgetLine& line : feature->budget) sum += line.u_mm * line.u_mm;
  CHECK(*feature->circle->u_diameter_mm == Approx(std::sqrt(sum)).epsilon(0.01));
  CHECK(*feature->circle->u_diameter_mm > std::hypot(20 * 3e-4, 0.004, 0.003));
}

TEST_CASE("outline: sizes are brought to 20 C", "[interpret][outline]") {
  const auto points = idler(24, 360, 0, 14);
  OutlineOptions warm;
  warm.temperature_c = 30, warm.expansion_per_k = 1e-4, warm.u_expansion_per_k = 1e-5;
  const double cold_mm = measure_outline(points)->circle->diameter_mm,
               warm_mm = measure_outline(points, warm)->circle->diameter_mm;
  CHECK(warm_mm == Approx(cold_mm / 1.001).epsilon(1e-9));

  // The uncertainty and the interval go with the size; the expansion's own doubt, over 10 K, comes to it.
  warm.u_temperature_c = 0;
  OutlineOptions known = warm;
  known.u_expansion_per_k = 0;
  const auto cold = measure_outline(points), exact = measure_outline(points, known),
             doubted = measure_outline(points, warm);
  CHECK(*exact->circle->u_diameter_mm == Approx(*cold->circle->u_diameter_mm / 1.001).epsilon(1e-9));
  CHECK(exact->circle->diameter95_mm->hi == Approx(cold->circle->diameter95_mm->hi / 1.001).epsilon(1e-9));
  CHECK(exact->circle->diameter95_mm->lo == Approx(cold->circle->diameter95_mm->lo / 1.001).epsilon(1e-9));
  CHECK(std::hypot(*exact->circle->u_diameter_mm, warm_mm * 1e-5 * 10) ==
        Approx(*doubted->circle->u_diameter_mm).epsilon(1e-3));
}

TEST_CASE("outline: a short arc keeps its circle without an ovality, a nearly straight one is refused",
          "[interpret][arc]") {
  const auto arc = measure_outline(idler(12, 60, 0, 15));
  REQUIRE(arc);
  CHECK(arc->kind == FeatureKind::kArc);
  CHECK_FALSE(arc->ellipse);
  CHECK(warns(*arc, "no-ellipse"));
  CHECK(arc->circle->diameter_mm == Approx(20).margin(4 * *arc->circle->u_diameter_mm));
  const auto straight = measure_outline(idler(8, 3, 0, 16));
  REQUIRE_FALSE(straight);
  CHECK(straight.error().code == ErrorCode::kRadiusUndetermined);
}

TEST_CASE("outline: half an arc cannot see a three-lobe, and says so", "[interpret][arc]") {
  const auto half = measure_outline(idler(24, 180, 0, 18));
  REQUIRE(half);
  REQUIRE(half->ellipse);
  CHECK(warns(*half, "lobes-unseen"));
  CHECK_FALSE(warns(*measure_outline(idler(24, 360, 0, 18)), "lobes-unseen"));
}

// 2026-11-25: the stated diameter, (GG) and LSCI were three fits of the same points, one micrometre apart.
TEST_CASE("outline: (GG) is the stated diameter, LSCI the least-squares circle of the points used",
          "[interpret][outline]") {
  const auto points = idler(48, 360, 2e-3, 19);
  const auto feature = measure_outline(points);
  REQUIRE(feature);
  REQUIRE(feature->sizes);
  CHECK(*feature->sizes->gg == feature->circle->diameter_mm);
  std::vector<PartPoint> all;
  for (const MeasuredPoint& p : points) all.push_back(p.at);
  REQUIRE(feature->points.used == 48);
  CHECK(feature->roundness->lsci->diameter_mm ==
        Approx(fit_circle(all)->circle.diameter_mm()).epsilon(1e-12));
}

TEST_CASE("outline: chord, overlay and coordinates of one arc are weighed, and a contradiction is said",
          "[interpret][arc]") {
  const auto points = idler(12, 60, 0, 17);
  OutlineOptions options;
  using Kind = OutlineReading::Kind;
  const double chord = 6, h = 10 - std::sqrt(100 - 9.0);
  options.others = {{Kind::kChord, {chord, 0.01}, {h, 0.005}, 0, 20},
                    {Kind::kOverlay, {10.1, 0.3}, {}, 0, 21}};
  const auto good = measure_outline(points, options);
  REQUIRE(good);
  REQUIRE(good->combination.size() == 3);
  double sum = 0;
  for (const CombinedReading& r : good->combination) sum += r.weight;
  CHECK(sum == Approx(1).epsilon(1e-9));
  CHECK(good->combination[1].source == "chord, line 20");
  CHECK(*good->p_readings_agree > 0.001);
  options.others[0].second.value += 0.1;
  const auto bad = measure_outline(points, options);
  REQUIRE(bad);
  CHECK(warns(*bad, "readings-contradict"));
}

TEST_CASE("outline: calliper diameters show an oval, not a three-lobed part", "[interpret][outline]") {
  OutlineOptions options;
  for (int i = 0; i < 6; ++i) {
    const double at = rad(30.0 * i);
    options.others.push_back(
        {OutlineReading::Kind::kTwoPoint, {20 + 0.06 * std::cos(2 * at), 0.005}, {}, at, i + 1});
  }
  const auto feature = measure_outline({}, options);
  REQUIRE(feature);
  CHECK(feature->circle->diameter_mm == Approx(20).margin(0.01));
  REQUIRE(feature->ellipse);
  CHECK(feature->ellipse->ovality_mm == Approx(0.12).margin(0.01));
  CHECK(warns(*feature, "odd-lobes-unseen"));
}

TEST_CASE("outline: stated form widens, none narrows, bad input is refused", "[interpret][outline]") {
  const auto points = idler(24, 180, 0, 18);
  OutlineOptions none, stated;
  none.form.kind = FormAssumption::Kind::kNone;
  stated.form = {FormAssumption::Kind::kStated, 0.05};
  const double u = *measure_outline(points)->circle->u_diameter_mm;
  CHECK(*measure_outline(points, none)->circle->u_diameter_mm < u);
  CHECK(*measure_outline(points, stated)->circle->u_diameter_mm > u);
  auto broken = points;
  broken[2].at.x_mm = NAN;
  CHECK(measure_outline(broken).error().code == ErrorCode::kNotFinite);
  CHECK(measure_outline(std::vector<MeasuredPoint>(2)).error().code == ErrorCode::kTooFewPoints);
}
