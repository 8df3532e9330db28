// A sector is a defect only where it stands out from the part's own texture of form.
#include <catch2/catch.hpp>
#include <cmath>

#include "rondure/fit/robust_circle.hpp"
#include "simulated_part.hpp"

using namespace rondure;

namespace {

constexpr int kPoints = 720;
constexpr double kNoise_mm = 0.0004;

// A part of 20 mm, 0.2 mm oval, with the orders 3 to 17 of 0.6 to 3 um each and free phases, as a photographed edge shows
// it. `raised_mm` over `width_deg` somewhere: a defect.
std::vector<PartPoint> textured(simulated::Random& random, double raised_mm = 0, double width_deg = 0) {
  simulated::Part part;
  part.radius_mm = 10;
  simulated::add_lobe(part, 2, 0.005, random);
  for (int k = 3; k <= 17; ++k)
    simulated::add_lobe(part, k, 6e-5 * std::pow(5.0, simulated::uniform(random, 0, 1)), random);
  const int first = static_cast<int>(simulated::uniform(random, 0, kPoints));
  std::vector<PartPoint> points;
  for (int i = 0; i < kPoints; ++i) {
    const double t = 2 * kPi * i / kPoints;
    Eigen::Vector2d p = part.at(t);
    double out_mm = kNoise_mm * simulated::normal(random);
    if ((i - first + kPoints) % kPoints < width_deg / 360 * kPoints) out_mm += raised_mm;
    points.push_back(PartPoint::from(p + out_mm * p.normalized()));
  }
  return points;
}

double lost_deg(const RobustCircle& fit) { return 360.0 * (kPoints - fit.points_used) / kPoints; }

}  // namespace

TEST_CASE("robust circle: the texture of form is no defect", "[fit][robust]") {
  // 2026-11: 23 degrees of such a part were left out as a defect 0.021 mm low.
  simulated::Random random(23);
  int losing = 0;
  for (int i = 0; i < 20; ++i) {
    const auto fit = fit_robust_circle(textured(random), {});
    REQUIRE(fit);
    losing += lost_deg(*fit) > 3;
  }
  CHECK(losing <= 1);
}

TEST_CASE("robust circle: a nib and a worn flat still stand out from the texture", "[fit][robust]") {
  simulated::Random random(24);
  int nibs = 0, flats = 0;
  for (int i = 0; i < 10; ++i) {
    const auto nib = fit_robust_circle(textured(random, 0.06, 6), {}),
               flat = fit_robust_circle(textured(random, -0.05, 25), {});
    REQUIRE(nib);
    REQUIRE(flat);
    nibs += std::abs(lost_deg(*nib) - 6) < 2;
    flats += std::abs(lost_deg(*flat) - 25) < 5;
  }
  CHECK(nibs == 10);
  CHECK(flats == 10);
}
