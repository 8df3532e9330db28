// An edge among what runs on beside it: profiles drawn by a law of light that none of the model's is.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "photo/solid/edge_in_shade.hpp"

using namespace rondure;

namespace {

constexpr double kSoft_px = 1.4, kScale_px = 11, kStands_mm = 2.5, kAcross_mm = 8, kTrue_px = -0.3;

struct Drawn {
  double face = 0.26, strip = 0.26, strip_px = 0;
  double hidden = 0;  // share of the ground's light, lost at the foot
};

// A square lamp over the part, seen from the ground within 33 degrees of the zenith: what the part hides of it falls
// straight from the foot to 0.64 of the part's height.
double light_at(const Drawn& d, double from_edge_px) {
  if (from_edge_px < -d.strip_px) return d.face;
  if (from_edge_px < 0) return d.strip;
  const double away = from_edge_px / kScale_px / kStands_mm;
  return 0.6 * (1 - d.hidden * std::max(0.0, 1 - away / 0.64));
}

MeanProfile drawn(const Drawn& d) {
  MeanProfile p;
  p.start_px = -14, p.dark_inside = true, p.px_per_mm = kScale_px;
  for (double t = p.start_px; t < 40; t += kProfileStep_px) {
    double sum = 0, weight = 0;  // blurred
    for (double s = -5 * kSoft_px; s <= 5 * kSoft_px; s += 0.02) {
      const double w = std::exp(-0.5 * s * s / (kSoft_px * kSoft_px));
      sum += w * light_at(d, t + s - kTrue_px), weight += w;
    }
    p.light.push_back(sum / weight);
  }
  return p;
}

EdgePlace placed(const Drawn& d) {
  const ShadeLaws laws(kAcross_mm, kStands_mm);
  const auto place = edge_in_shade(drawn(d), kSoft_px, &laws);
  REQUIRE(place.has_value());
  return *place;
}

// Where the light is half way between the face and the ground six blurs off.
double half_way_px(const Drawn& d) {
  const MeanProfile p = drawn(d);
  const auto at = [&](double t) {
    return p.light[static_cast<std::size_t>((t - p.start_px) / kProfileStep_px)];
  };
  const double half = 0.5 * (at(-6 * kSoft_px) + at(6 * kSoft_px));
  double t = -5;
  while (at(t) < half) t += kProfileStep_px;
  return t - kProfileStep_px * (at(t) - half) / (at(t) - at(t - kProfileStep_px)) - kTrue_px;
}

}  // namespace

TEST_CASE("edge in shade: a plain step is placed where it is", "[photo][solid]") {
  const EdgePlace place = placed({});
  CHECK(std::abs(place.at_px - kTrue_px) < 0.06);
  CHECK(place.u_px < 0.25);
}

TEST_CASE("edge in shade: ground that darkens to the foot does not push the edge", "[photo][solid]") {
  for (const double hidden : {0.2, 0.3}) {
    const Drawn d{0.26, 0.26, 0, hidden};
    const EdgePlace place = placed(d);
    INFO(hidden << " hidden: half way " << half_way_px(d) << " px out, placed " << place.at_px - kTrue_px
                << " +- " << place.u_px);
    CHECK(half_way_px(d) > 0.3);
    CHECK(std::abs(place.at_px - kTrue_px) < 0.4 * half_way_px(d));
    CHECK(std::abs(place.at_px - kTrue_px) < 2 * place.u_px);
  }
}

TEST_CASE("edge in shade: nor does a dark line along its inside, with darkened ground", "[photo][solid]") {
  for (const double line_px : {1.2, 2.5}) {
    const Drawn d{0.26, 0.13, line_px, 0.3};
    const EdgePlace place = placed(d);
    INFO(line_px << " px: half way " << half_way_px(d) << " px out, placed " << place.at_px - kTrue_px
                 << " +- " << place.u_px);
    CHECK(half_way_px(d) > 0.6);
    CHECK(std::abs(place.at_px - kTrue_px) < std::max(0.15, 2 * place.u_px));
  }
}

// A strip can be darker than the face by no more than the face's light: in a dark part it moves the edge little.
TEST_CASE("edge in shade: what a strip may hide is unsure in a grey part, not in a dark one",
          "[photo][solid]") {
  const EdgePlace grey = placed({0.4, 0.4, 0, 0.2}), dark = placed({0.02, 0.02, 0, 0.2});
  CHECK(grey.u_px > 2 * dark.u_px);
  CHECK(dark.u_px < 0.15);
}
