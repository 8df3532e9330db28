#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "rondure/readings/stage.hpp"

using namespace rondure;

namespace {

struct Truth {
  double scale_x = 0, scale_y = 0, squareness = 0;
  double diameter = 10, ovality = 0, axis_deg = 30;  // ovality: major - minor diameter
  double sigma = 0;
};

// What a stage with those errors reads round a part that is turned by `turned_deg`: the inverse of the model.
void read_round(Readings& out, const Truth& t, double turned_deg, int n, std::mt19937_64* noise,
                double from_deg = 0, double span_deg = 360) {
  std::normal_distribution<double> normal(0, t.sigma);
  for (int i = 0; i < n; ++i) {
    const double stage_rad = rad(from_deg + span_deg * i / n), part_rad = stage_rad - rad(turned_deg);
    const double rho = t.diameter / 2 + t.ovality / 4 * std::cos(2 * (part_rad - rad(t.axis_deg)));
    const double X = 31 + rho * std::cos(stage_rad), Y = 17 + rho * std::sin(stage_rad);
    const double y = Y / std::cos(t.squareness) / (1 + t.scale_y);
    const double x = (X - (1 + t.scale_y) * y * std::sin(t.squareness)) / (1 + t.scale_x);
    MeasuredPoint p{{x, y}};
    if (noise) p.at = {x + normal(*noise), y + normal(*noise)};
    p.line = int(out.points.size()) + 1;
    out.points.push_back(p);
    out.orientation_rad.push_back(rad(turned_deg));
  }
}

StageOptions pin(double diameter_mm, double u_mm = 0) {
  StageOptions o;
  o.pin_diameter_mm = Estimate{diameter_mm, u_mm};
  return o;
}

}  // namespace

TEST_CASE("stage: scales and squareness come back exactly from exact readings", "[readings][stage]") {
  const Truth t{.scale_x = 0.0031, .scale_y = -0.0012, .squareness = rad(0.4)};
  Readings r;
  read_round(r, t, 0, 16, nullptr);
  const auto s = calibrate_stage(r, pin(10));
  REQUIRE(s);
  CHECK(s->scale_x_ratio == Approx(t.scale_x).margin(1e-12));
  CHECK(s->scale_y_ratio == Approx(t.scale_y).margin(1e-12));
  CHECK(s->squareness_rad == Approx(t.squareness).margin(1e-12));
  CHECK(s->rms_mm < 1e-12);
  CHECK(s->coverage_deg == Approx(337.5).margin(0.5));
  for (const auto& p : r.points) {
    const auto q = s->part_from_stage({p.at.x_mm, p.at.y_mm});
    CHECK(std::hypot(q.x_mm - 31, q.y_mm - 17) == Approx(5).margin(1e-11));
  }
  // shop geometry: a 12 mm part on axes 1 minute out of square reads 3.5 um oval (derived; trade table)
  StageCalibration one_minute;
  one_minute.squareness_rad = rad(1.0 / 60);
  CHECK(one_minute.apparent_ovality_mm(12) == Approx(0.0035).margin(0.00005));
}

TEST_CASE("stage: the turned part tells its own ovality from the stage's", "[readings][stage]") {
  const Truth t{
      .scale_x = 0.0008, .scale_y = -0.0004, .squareness = 0.0011, .ovality = 0.05, .axis_deg = 100};
  Readings r;
  for (double turned : {0.0, 45.0, 90.0}) read_round(r, t, turned, 14, nullptr);
  const auto s = calibrate_stage(r, pin(10));
  REQUIRE(s);
  CHECK(s->orientations == 3);
  CHECK(s->scale_x_ratio == Approx(t.scale_x).margin(2e-6));
  CHECK(s->scale_y_ratio == Approx(t.scale_y).margin(2e-6));
  CHECK(s->squareness_rad == Approx(t.squareness).margin(2e-6));
  REQUIRE(s->part_ovality_mm);
  CHECK(s->part_ovality_mm->value == Approx(0.05).margin(1e-4));
  CHECK(*s->part_ovality_axis_deg == Approx(100).margin(0.1));

  SECTION("without the pin's size the difference is found all the same") {
    const auto free = calibrate_stage(r, {});
    REQUIRE(free);
    CHECK_FALSE(free->absolute);
    CHECK(free->scale_x_ratio - free->scale_y_ratio == Approx(0.0012).margin(4e-6));
    CHECK(free->squareness_rad == Approx(t.squareness).margin(4e-6));
  }
  SECTION("one orientation takes the part's ovality for the stage's, and its uncertainty says so") {
    Readings one;
    read_round(one, t, 0, 14, nullptr);
    StageOptions o = pin(10);
    o.pin_roundness_mm = 0.03;
    const auto fooled = calibrate_stage(one, o);
    REQUIRE(fooled);
    CHECK(std::abs(fooled->scale_x_ratio - t.scale_x) > 1e-3);
    CHECK(std::abs(fooled->scale_x_ratio - t.scale_x) < 3 * std::sqrt(fooled->covariance(0, 0)));
  }
  SECTION("the readings are brought back onto one outline") {
    const auto p = points_on_part(r);
    REQUIRE(p);
    REQUIRE(p->own);
    REQUIRE(p->points.size() == r.points.size());
    for (const auto& q : p->points) {
      const double a = std::atan2(q.at.y_mm, q.at.x_mm);
      CHECK(std::hypot(q.at.x_mm, q.at.y_mm) ==
            Approx(5 + 0.0125 * std::cos(2 * (a - rad(100)))).margin(0.004));
    }
  }
}

TEST_CASE("stage: stated uncertainties cover the truth", "[readings][stage]") {
  // 800 stages, 12 readings with 0.002 mm each on a pin known to 0.001 mm; share within 2 u expected 0.93 to
  // 0.95 with few degrees of freedom (Student t, 7: 0.914); binomial error 0.01.
  std::mt19937_64 random(20240611);
  std::normal_distribution<double> normal(0, 1);
  int inside[3] = {}, runs = 800;
  for (int i = 0; i < runs; ++i) {
    const Truth t{.scale_x = 0.001 * normal(random),
                  .scale_y = 0.001 * normal(random),
                  .squareness = 0.001 * normal(random),
                  .diameter = 10 + 0.001 * normal(random),
                  .sigma = 0.002};
    Readings r;
    read_round(r, t, 0, 12, &random);
    StageOptions o = pin(10, 0.001);
    o.pin_roundness_mm = 0;
    const auto s = calibrate_stage(r, o);
    REQUIRE(s);
    inside[0] += std::abs(s->scale_x_ratio - t.scale_x) < 2 * std::sqrt(s->covariance(0, 0));
    inside[1] += std::abs(s->scale_y_ratio - t.scale_y) < 2 * std::sqrt(s->covariance(1, 1));
    inside[2] += std::abs(s->squareness_rad - t.squareness) < 2 * std::sqrt(s->covariance(2, 2));
  }
  for (const int n : inside) {
    CHECK(double(n) / runs > 0.88);
    CHECK(double(n) / runs < 0.98);
  }
}

TEST_CASE("stage: what it adds to sizes and ovality follows its covariance", "[readings][stage]") {
  StageCalibration s;
  s.covariance << 4e-8, 4e-8, 0, 4e-8, 4e-8, 0, 0, 0, 9e-8;
  CHECK(s.u_mean_scale_ratio() == Approx(2e-4));
  CHECK(s.u_ovality_ratio() == Approx(3e-4));
}

TEST_CASE("stage: refusals", "[readings][stage]") {
  const Truth t{.sigma = 0.001};
  std::mt19937_64 random(7);
  Readings full;
  read_round(full, t, 0, 16, &random);
  CHECK(calibrate_stage(full, {}).error().code == ErrorCode::kNoAnswer);
  CHECK(calibrate_stage(full, pin(-1)).error().code == ErrorCode::kBadArgument);
  CHECK(calibrate_stage(full, pin(25.4)).error().code == ErrorCode::kBadCalibration);

  Readings few;
  read_round(few, t, 0, 6, &random);
  CHECK(calibrate_stage(few, pin(10)).error().code == ErrorCode::kTooFewPoints);
  CHECK(calibrate_stage({}, pin(10)).error().code == ErrorCode::kTooFewPoints);

  Readings arc;
  read_round(arc, t, 0, 16, &random, 20, 50);
  CHECK(calibrate_stage(arc, pin(10)).error().code == ErrorCode::kBadCalibration);

  Readings line;
  for (int i = 0; i < 12; ++i) line.points.push_back({{double(i), 2.0 * i}});
  CHECK(calibrate_stage(line, pin(10)).error().code == ErrorCode::kCollinear);

  Readings slip = full;
  slip.points[4].at.y_mm += 0.05;
  const auto refused = calibrate_stage(slip, pin(10));
  REQUIRE_FALSE(refused);
  CHECK(refused.error().code == ErrorCode::kBadCalibration);
  CHECK_THAT(refused.error().detail, Catch::Contains("line 5"));
}

TEST_CASE("stage calibration file: written, read back, and refused when damaged", "[readings][stage]") {
  const Truth t{.scale_x = 0.0008, .squareness = -0.0011, .ovality = 0.01, .sigma = 0.001};
  std::mt19937_64 random(3);
  Readings r;
  for (double turned : {0.0, 90.0}) read_round(r, t, turned, 12, &random);
  auto s = calibrate_stage(r, pin(10, 0.0005));
  REQUIRE(s);
  s->made_from = "pin.csv";
  s->when = "2031-05-06T07:08:09Z";
  const std::string json = to_json(*s);
  const auto back = parse_stage_calibration(json);
  REQUIRE(back);
  CHECK(back->scale_x_ratio == s->scale_x_ratio);
  CHECK(back->squareness_rad == Approx(s->squareness_rad).epsilon(1e-14));
  CHECK((back->covariance - s->covariance).norm() == 0);
  CHECK(back->residuals.size() == 24);
  CHECK(back->part_ovality_mm->value == s->part_ovality_mm->value);
  CHECK(back->made_from == "pin.csv");
  CHECK(back->when == s->when);

  CHECK(parse_stage_calibration("").error().code == ErrorCode::kFileDamaged);
  CHECK(parse_stage_calibration("[1]").error().code == ErrorCode::kFileDamaged);
  CHECK(parse_stage_calibration(json.substr(0, json.size() / 2)).error().code == ErrorCode::kFileDamaged);
  const auto with = [&](const std::string& from, const std::string& to) {
    std::string changed = json;
    changed.replace(changed.find(from), from.size(), to);
    return parse_stage_calibration(changed);
  };
  CHECK(with("\"stage\"", "\"plane\"").error().code == ErrorCode::kBadCalibration);
  CHECK(with("\"version\": 1", "\"version\": 9").error().code == ErrorCode::kFileDamaged);
  CHECK(with("\"scale_x_ratio\": ", "\"scale_x_ratio\": 7").error().code == ErrorCode::kBadCalibration);
  CHECK(with("\"squareness_deg\"", "\"squareness\"").error().code == ErrorCode::kFileDamaged);
}

TEST_CASE("stage: the pin's u and the rounding of the dial are in its uncertainty", "[readings][stage]") {
  const Truth t{.scale_x = 0.002, .scale_y = 0.001};
  const auto made = [&](double u_pin_mm, double resolution_mm) {
    Readings r;
    read_round(r, t, 0, 16, nullptr);
    r.resolution_mm = resolution_mm;
    StageOptions o = pin(10, u_pin_mm);
    o.pin_roundness_mm = 0;
    return *calibrate_stage(r, o);
  };
  CHECK(made(0.005, 0).u_mean_scale_ratio() == Approx(0.0005).epsilon(1e-3));  // 5 um on 10 mm
  // 16 readings of a step of 0.01 mm: u(radius) = 0.01 / sqrt(12) / sqrt(16), over the radius of 5 mm
  CHECK(made(0, 0.01).u_mean_scale_ratio() == Approx(0.01 / std::sqrt(12.0) / 4 / 5).epsilon(0.02));
  CHECK(made(0, 0.02).u_ovality_ratio() == Approx(2 * made(0, 0.01).u_ovality_ratio()).epsilon(1e-6));
}
