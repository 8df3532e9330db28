#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "../../src/photo/edge/edge_sums.hpp"
#include "../../src/photo/edge/positive_median.hpp"
#include "rondure/core/normal_law.hpp"

using namespace rondure;

namespace {

// The header's model, one pixel after the other.
struct Pixel {
  double t, z, b, density, residual, variance, weight;
};

Pixel look(double s_px, double light, const SectorStep& step, const StepLaw& law) {
  Pixel p{};
  p.t = law.sign * (s_px - step.d_px), p.z = p.t / law.blur_px;
  p.b = p.z > 6 ? 1 : p.z < -6 ? 0 : normal_cdf(p.z), p.density = normal_density(p.z);
  p.variance = law.dark_variance + p.b * (law.bright_variance - law.dark_variance);
  p.residual =
      light - (step.dark + step.dark_slope * p.t) * (1 - p.b) - (step.bright + step.bright_slope * p.t) * p.b;
  const double a = std::abs(p.residual) / std::sqrt(p.variance);
  p.weight = (law.robust && a > 3.5 ? 3.5 / a * std::exp(-(a - 3.5) / 3.5) : 1) / p.variance;
  return p;
}

}  // namespace

TEST_CASE("edge sums: side by side what the model says pixel by pixel, left-out pixels apart",
          "[photo][edge_sums]") {
  std::mt19937 random(20);
  std::normal_distribution<float> noise(0, 0.015f);
  std::uniform_real_distribution<float> place(-16, 16);
  for (const double sign : {1.0, -1.0})
    for (const bool robust : {true, false}) {
      const StepLaw law{sign, 1.3, 2e-4, 5e-4, robust};
      const SectorStep step{0.37, 0.21, 0.68, 0.002, -0.001};
      WindowPixels pixels;
      for (int i = 0; i < 61; ++i) {
        const float s = place(random), far = i % 13 == 0 ? 0.2f : 0;  // a few outliers
        pixels.s_px.push_back(s);
        pixels.light.push_back(static_cast<float>(0.2 + 0.5 * normal_cdf(sign * s / 1.4)) + noise(random) +
                               far);
        pixels.counts.push_back(i % 7 == 3 ? 0.f : 1.f);
      }
      while (pixels.s_px.size() % WindowPixels::kSideBySide != 0)
        pixels.s_px.push_back(0), pixels.light.push_back(0), pixels.counts.push_back(0);
      const int last = static_cast<int>(pixels.s_px.size());
      LevelSums levels;
      StepSums moves, blurs;
      for (int i = 0; i < last; ++i) {
        if (pixels.counts[i] == 0) continue;
        const double light = pixels.light[i];
        const Pixel p = look(pixels.s_px[i], light, step, law);
        double power = 1;
        for (int k = 0; k < 3; ++k, power *= p.t) {
          levels.dd[k] += p.weight * (1 - p.b) * (1 - p.b) * power;
          levels.db[k] += p.weight * (1 - p.b) * p.b * power;
          levels.bb[k] += p.weight * p.b * p.b * power;
          if (k < 2) levels.dl[k] += p.weight * (1 - p.b) * light * power;
          if (k < 2) levels.bl[k] += p.weight * p.b * light * power;
        }
        const double slope = -sign * (step.bright - step.dark) * p.density / law.blur_px,
                     softer = -(step.bright - step.dark) * p.density * p.z / law.blur_px;
        if (std::abs(p.z) <= 6)
          moves.gradient += p.weight * p.residual * slope, moves.information += p.weight * slope * slope;
        if (std::abs(p.z) < 3)
          moves.chi2 += std::min(p.residual * p.residual / p.variance, 50.0), moves.weight += 1;
        if (std::abs(p.z) <= 5)
          blurs.gradient += p.weight * p.residual * softer, blurs.information += p.weight * softer * softer;
      }
      const LevelSums got = level_sums(pixels, 0, last, step, law, true);
      const auto near = [](double expected) { return Approx(expected).epsilon(1e-7).margin(1e-3); };
      for (int k = 0; k < 3; ++k) {
        CHECK(got.dd[k] == near(levels.dd[k]));
        CHECK(got.db[k] == near(levels.db[k]));
        CHECK(got.bb[k] == near(levels.bb[k]));
        if (k == 2) continue;
        CHECK(got.dl[k] == near(levels.dl[k]));
        CHECK(got.bl[k] == near(levels.bl[k]));
      }
      const LevelSums even = level_sums(pixels, 0, last, step, law, false);
      CHECK(even.dd[0] == got.dd[0]);
      CHECK(even.bl[0] == got.bl[0]);
      const StepSums moved = displacement_sums(pixels, 0, last, step, law),
                     blurred = blur_sums(pixels, 0, last, step, law);
      CHECK(moved.gradient ==
            Approx(moves.gradient).epsilon(1e-8).margin(1e-8 * std::sqrt(moves.information)));
      CHECK(moved.information == Approx(moves.information).epsilon(1e-8));
      CHECK(moved.chi2 == Approx(moves.chi2).epsilon(1e-8));
      CHECK(moved.weight == moves.weight);
      CHECK(blurred.gradient ==
            Approx(blurs.gradient).epsilon(1e-8).margin(1e-8 * std::sqrt(blurs.information)));
      CHECK(blurred.information == Approx(blurs.information).epsilon(1e-8));
    }
}

TEST_CASE("positive median: the value in the middle, of few and of many, zeros and equal ones too",
          "[photo][edge_sums]") {
  std::mt19937 random(21);
  std::exponential_distribution<> spread(30);
  for (const int count : {0, 1, 2, 7, 128, 129, 1000, 6001})
    for (const int zeros : {0, 3, 1}) {
      std::vector<double> values;
      for (int i = 0; i < count; ++i) values.push_back(zeros > 0 && i % zeros == 0 ? 0 : spread(random));
      std::vector<double> in_order = values;
      std::sort(in_order.begin(), in_order.end());
      CHECK(positive_median(values) == (count > 0 ? in_order[in_order.size() / 2] : 0));
    }
}
