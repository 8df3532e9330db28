#include "photo/edge/edge_sums.hpp"

#include <array>
#include <cmath>
#include <cstdint>

#include "rondure/core/normal_law.hpp"

// Wide vector registers where the processor has them, chosen when the program starts.
#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__) && !defined(__SANITIZE_ADDRESS__)
#define RONDURE_WIDE __attribute__((target_clones("default", "arch=x86-64-v4")))
#else
#define RONDURE_WIDE
#endif

namespace rondure {
namespace {

constexpr int kLanes = WindowPixels::kSideBySide;
constexpr double kReach = 6, kPerUnit = 64;  // of the table, in blurs; its nodes
constexpr double kHuberFrom = 3.5;  // standard deviations: 0.05 % of a normal law weigh less, and dust does
// Blurs from the edge within which pixels count for its place (a step has no slope beyond), for its blur, and
// for the misfit; there one pixel counts for 50 at most, 7 standard deviations, so that dust does not rule
// it. By judgement; what comes of it is checked by tests/bench/study_edge_discs.
constexpr double kWidestStep = 6, kWidestBlur = 5, kTypical = 3, kMostChi2 = 50;

// Value and density of the normal law at nodes; between them by Taylor's series, within 3e-10.
struct Nodes {
  std::array<double, static_cast<std::size_t>(2 * kReach * kPerUnit) + 1> share, density;
  Nodes() {
    for (std::size_t i = 0; i < share.size(); ++i) {
      const double z = static_cast<double>(i) / kPerUnit - kReach;
      share[i] = normal_cdf(z), density[i] = normal_density(z);
    }
  }
};
const Nodes nodes;

// Numbers side by side: the compiler lays them on whatever registers there are.
using Floats = float __attribute__((vector_size(kLanes * sizeof(float)), aligned(4), may_alias));
using Lane = double __attribute__((vector_size(kLanes * sizeof(double))));
using Places = std::int64_t __attribute__((vector_size(kLanes * sizeof(std::int64_t))));

#define RONDURE_INLINE inline __attribute__((always_inline))

// What all three sums need of eight pixels: the place, the bright share, the density, residual and weight.
struct Eight {
  Lane t, z, b, density, residual, variance, weight, light, counts;
};

RONDURE_INLINE void look_at(const WindowPixels& pixels, int first, const SectorStep& step, const StepLaw& law,
                            Eight& e) {
  const Lane s = __builtin_convertvector(*reinterpret_cast<const Floats*>(&pixels.s_px[first]), Lane);
  e.light = __builtin_convertvector(*reinterpret_cast<const Floats*>(&pixels.light[first]), Lane);
  e.counts = __builtin_convertvector(*reinterpret_cast<const Floats*>(&pixels.counts[first]), Lane);
  e.t = law.sign * (s - step.d_px);
  e.z = e.t * (1 / law.blur_px);
  const Lane none{};
  Lane within = e.z < -kReach ? none - kReach : e.z;
  within = within > kReach ? none + kReach : within;
  const Places at = __builtin_convertvector((within + kReach) * kPerUnit + 0.5, Places);
  Lane share, density;
  for (int l = 0; l < kLanes; ++l) share[l] = nodes.share[at[l]], density[l] = nodes.density[at[l]];
  const Lane z = __builtin_convertvector(at, Lane) * (1 / kPerUnit) - kReach;
  const Lane h = within - z, two = z * z - 1, three = z * (z * z - 3);
  e.b = share + density * h * (1 - h * (z * (1.0 / 2) - h * (two * (1.0 / 6) - h * three * (1.0 / 24))));
  e.b = e.z > kReach ? none + 1 : e.z < -kReach ? none : e.b;
  e.density = density * (1 - h * (z - h * (two * (1.0 / 2) - h * three * (1.0 / 6))));
  e.variance = law.dark_variance + e.b * (law.bright_variance - law.dark_variance);
  const Lane dark = step.dark + step.dark_slope * e.t, bright = step.bright + step.bright_slope * e.t;
  e.residual = e.light - (dark + (bright - dark) * e.b);
  e.weight = e.counts / e.variance;
  if (!law.robust) return;
  const Lane r2 = e.residual * e.residual;
  const Places far = r2 >= kHuberFrom * kHuberFrom * e.variance;
  std::int64_t any = 0;
  for (int l = 0; l < kLanes; ++l) any |= far[l];
  if (any == 0) return;
  for (int l = 0; l < kLanes; ++l) {
    if (far[l] == 0) continue;
    const double a = std::sqrt(r2[l] / e.variance[l]);
    e.weight[l] *= kHuberFrom / a * std::exp(-(a - kHuberFrom) / kHuberFrom);
  }
}

RONDURE_INLINE double sum(const Lane& lane) {
  double total = 0;
  for (int l = 0; l < kLanes; ++l) total += lane[l];
  return total;
}

}  // namespace

RONDURE_WIDE LevelSums level_sums(const WindowPixels& pixels, int first, int last, const SectorStep& step,
                                  const StepLaw& law, bool slopes) {
  Lane dd[3] = {}, db[3] = {}, bb[3] = {}, dl[2] = {}, bl[2] = {};
  Eight e;
  for (int i = first; i < last; i += kLanes) {
    look_at(pixels, i, step, law, e);
    const Lane b = e.b, d = 1 - b, wd = e.weight * d, wb = e.weight * b;
    dd[0] += wd * d, db[0] += wd * b, bb[0] += wb * b, dl[0] += wd * e.light, bl[0] += wb * e.light;
    if (!slopes) continue;
    const Lane wdt = wd * e.t, wbt = wb * e.t;
    dd[1] += wdt * d, db[1] += wdt * b, bb[1] += wbt * b, dl[1] += wdt * e.light, bl[1] += wbt * e.light;
    dd[2] += wdt * e.t * d, db[2] += wdt * e.t * b, bb[2] += wbt * e.t * b;
  }
  LevelSums out;
  for (int k = 0; k < 3; ++k) out.dd[k] = sum(dd[k]), out.db[k] = sum(db[k]), out.bb[k] = sum(bb[k]);
  for (int k = 0; k < 2; ++k) out.dl[k] = sum(dl[k]), out.bl[k] = sum(bl[k]);
  return out;
}

RONDURE_WIDE StepSums displacement_sums(const WindowPixels& pixels, int first, int last,
                                        const SectorStep& step, const StepLaw& law) {
  const double steepness = -law.sign * (step.bright - step.dark) / law.blur_px;
  const Lane none{}, most = none + kMostChi2;
  Lane gradient{}, information{}, chi2{}, weight{};
  Eight e;
  for (int i = first; i < last; i += kLanes) {
    look_at(pixels, i, step, law, e);
    const Lane z2 = e.z * e.z, w = z2 <= kWidestStep * kWidestStep ? e.weight : none,
               slope = steepness * e.density, typical = z2 < kTypical * kTypical ? e.counts : none,
               square = e.residual * e.residual / e.variance;
    gradient += w * e.residual * slope;
    information += w * slope * slope;
    chi2 += typical * (square < most ? square : most);
    weight += typical;
  }
  return {sum(gradient), sum(information), sum(chi2), sum(weight)};
}

RONDURE_WIDE StepSums blur_sums(const WindowPixels& pixels, int first, int last, const SectorStep& step,
                                const StepLaw& law) {
  const double steepness = -(step.bright - step.dark) / law.blur_px;
  const Lane none{};
  Lane gradient{}, information{};
  Eight e;
  for (int i = first; i < last; i += kLanes) {
    look_at(pixels, i, step, law, e);
    const Lane w = e.z * e.z <= kWidestBlur * kWidestBlur ? e.weight : none,
               slope = steepness * e.density * e.z;
    gradient += w * e.residual * slope;
    information += w * slope * slope;
  }
  return {sum(gradient), sum(information), 0, 0};
}

}  // namespace rondure
