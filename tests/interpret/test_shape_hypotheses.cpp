#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "rondure/interpret/original.hpp"

using namespace rondure;

namespace {

double ellipse_perimeter(double a, double b) {
  double sum = 0;
  const int n = 2000;  // periodic integrand: exact to rounding
  for (int i = 0; i < n; ++i) {
    const double t = 2 * kPi * i / n;
    sum += std::hypot(a * std::sin(t), b * std::cos(t));
  }
  return sum * 2 * kPi / n;
}

SizeObservation oval(double largest, double smallest, double u, FeatureKind kind = FeatureKind::kOutside) {
  SizeObservation o{"rim", kind, (largest + smallest) / 2, u, {}, {}, 0};
  o.ovality_mm = largest - smallest;
  o.u_ovality_mm = u;
  o.u_made_mm = 0.02;
  return o;
}

const ShapeVerdict& verdict(const OriginalFeature& f, ShapeHypothesis shape) {
  for (const ShapeVerdict& v : f.shapes)
    if (v.shape == shape) return v;
  throw std::runtime_error("no such reading");
}

}  // namespace

// Source: the project's trade facts, section 4, table of ellipse hypotheses for 12.2 x 12.0 mm.
TEST_CASE("shape: what 12.2 x 12.0 mm implies under each hypothesis", "[interpret][shape]") {
  CHECK(ellipse_circumference_diameter_mm(12.2, 12.0) ==
        Approx(ellipse_perimeter(6.1, 6.0) / kPi).epsilon(1e-9));
  CHECK(ellipse_circumference_diameter_mm(12.2, 12.0) > 12.100);
  CHECK(ellipse_circumference_diameter_mm(12.2, 12.0) < 12.101);
  const auto readings = oval_readings({12.2, 12.0, 0.005, false});
  REQUIRE(readings.size() == 3);
  CHECK(readings[0].anchor_mm == Approx(12.1));  // mean; the largest diameter shrank less, by up to all of it
  CHECK(readings[1].anchor_mm == Approx(12.1002).margin(2e-5));
  CHECK(readings[2].anchor_mm == Approx(12.2));
  CHECK(readings[2].wear_sign == 1);
  CHECK(oval_readings({12.2, 12.0, 0.005, true})[2].anchor_mm == Approx(12.0));  // a bore wears larger
  CHECK(oval_readings({12.2, 12.0, 0.005, true})[2].wear_sign == -1);            // and was smaller

  OriginalOptions options;
  options.p_metric = 1;
  options.shrinkage = Estimate{0.01, 0.003};
  const auto result = infer_original(std::vector{oval(12.2, 12.0, 0.005)}, options);
  REQUIRE(result);
  const OriginalFeature& f = result->features[0];
  REQUIRE(f.shapes.size() == 3);
  double sum = 0;
  for (const ShapeVerdict& v : f.shapes) sum += v.probability;
  CHECK(sum == Approx(1).margin(1e-9));
  // uneven: the original is at least the major diameter; worn: at least the largest circle
  CHECK(verdict(f, ShapeHypothesis::kUneven).implied_mm > 12.2);
  CHECK(verdict(f, ShapeHypothesis::kWorn).implied_mm > 12.2);
  CHECK(verdict(f, ShapeHypothesis::kWorn).at_least);
}

TEST_CASE("shape: evidence weighs the hypotheses", "[interpret][shape]") {
  // 1.7 % oval: more than the shrinkage of 0.05 % could give unevenly, so bent or worn.
  OriginalOptions stiff;
  stiff.shrinkage = Estimate{0.0005, 0.0002};
  const auto a = infer_original(std::vector{oval(12.2, 12.0, 0.005)}, stiff);
  REQUIRE(a);
  CHECK(verdict(a->features[0], ShapeHypothesis::kUneven).probability < 0.01);
  // Much shrinkage and little ovality: uneven shrinkage is the natural reading.
  OriginalOptions soft;
  soft.shrinkage = Estimate{0.02, 0.005};
  const auto b = infer_original(std::vector{oval(11.81, 11.75, 0.005)}, soft);
  REQUIRE(b);
  CHECK(verdict(b->features[0], ShapeHypothesis::kUneven).probability >
        verdict(a->features[0], ShapeHypothesis::kUneven).probability);
  // A user who knows the cause gets that reading alone.
  stiff.shape = ShapeHypothesis::kBent;
  const auto c = infer_original(std::vector{oval(12.2, 12.0, 0.005)}, stiff);
  REQUIRE(c);
  REQUIRE(c->features[0].shapes.size() == 1);
  CHECK(c->features[0].shapes[0].probability == Approx(1));
}

TEST_CASE("shape: densities integrate to one", "[interpret][shape]") {
  for (const auto shape : {ShapeHypothesis::kUneven, ShapeHypothesis::kBent, ShapeHypothesis::kWorn}) {
    double sum = 0;
    const double step = 1e-4;
    for (double o = -0.1; o < 1; o += step)
      sum += ovality_density(shape, {12 + o / 2, 12 - o / 2, 0.01, false}, 0.01) * step;
    CHECK(sum == Approx(1).margin(1e-3));
  }
}

TEST_CASE("shape: wear and shrinkage are told apart by the other features", "[interpret][shape]") {
  // 12.5, 8 and 7 mm at 0.3 %; the outside has lost a further 0.17 mm.
  const auto made = [](const char* name, FeatureKind kind, double size) {
    SizeObservation o{name, kind, size, 0.003, {}, {}, 0};
    o.u_made_mm = 0.008;
    return o;
  };
  const std::vector<SizeObservation> sizes = {
      made("rim", "outside", 12.5 * 0.997 - 0.17), made("width", "width", 8 * 0.997),
      made("hub", "outside", 7 * 0.997), made("flange", "width", 15 * 0.997)};
  OriginalOptions options;
  options.material = "POM-C";
  const auto plain = infer_original(sizes, options);
  REQUIRE(plain);
  const auto suspected = [](const Warning& w) { return w.code == "wear-suspected"; };
  CHECK(std::any_of(plain->warnings.begin(), plain->warnings.end(), suspected));
  options.may_be_worn = {"rim"};
  const auto told = infer_original(sizes, options);
  REQUIRE(told);
  CHECK(verdict(told->features[0], ShapeHypothesis::kWorn).probability > 0.8);
  CHECK(told->features[0].candidates[0].label == "12.5 mm");
  CHECK(told->shrinkage_mean == Approx(0.003).margin(0.001));
  // and the same surface unworn is not called worn
  std::vector<SizeObservation> fresh = sizes;
  fresh[0].size_mm = 12.5 * 0.997;
  const auto unworn = infer_original(fresh, options);
  REQUIRE(unworn);
  CHECK(verdict(unworn->features[0], ShapeHypothesis::kWorn).probability < 0.3);
}
