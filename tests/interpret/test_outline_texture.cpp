// Outlines with many points and a texture of form: what is left out, and figures that agree with each other.
#include <catch2/catch.hpp>
#include <cmath>

#include "fit/simulated_part.hpp"
#include "rondure/interpret/outline.hpp"

using namespace rondure;

namespace {

constexpr double kNoise_mm = 0.0004;

std::vector<MeasuredPoint> edge(const simulated::Part& part, int count, simulated::Random& random) {
  std::vector<MeasuredPoint> points;
  for (int i = 0; i < count; ++i) {
    const Eigen::Vector2d p = part.at(2 * kPi * i / count);
    points.push_back(
        {PartPoint::from(p + kNoise_mm * simulated::normal(random) * p.normalized()), kNoise_mm});
  }
  return points;
}

}  // namespace

TEST_CASE("outline: texture of form leaves the size and the ovality of a dense edge as sharp as its noise",
          "[outline]") {
  // 2026-11: on such parts 23 degrees went as a defect and the ovality was 3.3 u off; with none left out, slow errors of the
  // edge were believed instead and u was 0.006 mm.
  simulated::Random random(61);
  int ovality_held = 0;
  for (int i = 0; i < 12; ++i) {
    simulated::Part part;
    part.radius_mm = 10;
    simulated::add_lobe(part, 2, 0.2003 / 40, random);
    for (int k = 3; k <= 17; ++k)
      simulated::add_lobe(part, k, 6e-5 * std::pow(5.0, simulated::uniform(random, 0, 1)), random);
    OutlineOptions options;
    options.correlated = true;
    const auto f = measure_outline(edge(part, 480, random), options);
    REQUIRE(f);
    CHECK(f->points.count - f->points.used < 10);
    CHECK(f->verdict == OutlineForm::kOval);
    CHECK(*f->ellipse->u_ovality_mm < 0.001);
    CHECK(f->circle->diameter_mm == Approx(20).margin(0.0005));
    ovality_held += f->ellipse->ovality95_mm->contains(0.2003);
  }
  CHECK(ovality_held >= 10);
}

TEST_CASE("outline: where the interval of the ovality is skew, value and uncertainty agree with it",
          "[outline]") {
  // 2026-11: ovality 0.048 +- 0.076 beside an interval from 0.035 and the verdict oval.
  simulated::Random random(62);
  for (const double slant_deg : {0.0, 20.0, 45.0, 80.0}) {
    simulated::Part part;
    part.radius_mm = 6;
    simulated::add_lobe(part, 2, 0.0018, random);
    OutlineOptions options;
    options.correlated = true;
    const Eigen::Vector2d blurred(std::cos(rad(slant_deg)),
                                  std::sin(rad(slant_deg)));  // by a plane whose tilt is not known
    options.second_harmonic_mm2 = 0.02 * 0.02 * blurred * blurred.transpose();
    const auto f = measure_outline(edge(part, 340, random), options);
    REQUIRE(f);
    const EllipseResult& e = *f->ellipse;
    INFO(slant_deg << ": " << e.ovality_mm << " +- " << *e.u_ovality_mm << ", " << e.ovality95_mm->lo
                   << " to " << e.ovality95_mm->hi);
    CHECK(e.ovality95_mm->contains(e.ovality_mm));
    CHECK((f->verdict == OutlineForm::kOval) == (*e.p_round < 0.04));
    CHECK((e.ovality95_mm->lo > 0) == (*e.p_round < 0.05));
    CHECK(e.ovality_mm + 3 * *e.u_ovality_mm >= e.ovality95_mm->hi);
    if (e.ovality95_mm->lo > 0) CHECK(e.ovality_mm - *e.u_ovality_mm >= e.ovality95_mm->lo * (1 - 1e-9));
  }
}
