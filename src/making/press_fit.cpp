#include "rondure/making/press_fit.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "rondure/core/normal_law.hpp"

namespace rondure::plan {
namespace {

template <class... Args>
std::string format(const char* pattern, Args... args) {
  char buffer[320];
  std::snprintf(buffer, sizeof buffer, pattern, args...);
  return buffer;
}

// P(shaft - bore < limit) for shaft ~ N(s, u), bore ~ U(lo, hi): the mean over the bore of Phi((limit + bore
// - s)/u), whose integral is z Phi(z) + phi(z).
double p_interference_below(Estimate shaft_mm, Interval bore_mm, double limit_mm) {
  const double from = limit_mm + bore_mm.lo - shaft_mm.value, to = limit_mm + bore_mm.hi - shaft_mm.value;
  if (shaft_mm.u <= 0) {
    if (to <= from) return from > 0 ? 1 : 0;
    return std::clamp(to / (to - from), 0.0, 1.0);
  }
  const double a = from / shaft_mm.u, b = to / shaft_mm.u;
  if (b - a < 1e-9) return normal_cdf(a);
  const auto integral = [](double z) { return z * normal_cdf(z) + normal_density(z); };
  return std::clamp((integral(b) - integral(a)) / (b - a), 0.0, 1.0);
}

void warn_of_strength(const PressFitCase& c, PressFitResult& r) {
  const double bore_mm = c.bore_limits_mm.lo;
  if (r.most.interference_mm <= 0) return;
  if (c.hub.metal && c.hub.yield_MPa) {
    r.yield_margin = *c.hub.yield_MPa / r.most.von_mises_MPa;
    if (*r.yield_margin < 1)
      r.warnings.push_back(
          {"yields", format("at the tightest (%.1f um) the bore would reach %.0f MPa, over the %.0f MPa at "
                            "which %s yields: the fit holds once, do not press it off and on again",
                            r.most.interference_mm * 1000, r.most.von_mises_MPa, *c.hub.yield_MPa,
                            c.hub.name.c_str())});
  }
  if (!c.hub.metal && c.hub.lasting_strain_ratio) {
    r.strain_margin = *c.hub.lasting_strain_ratio / (r.most.interference_mm / bore_mm);
    if (*r.strain_margin < 1)
      r.warnings.push_back(
          {"cracks", format("at the tightest the bore is stretched by %.2f %%, more than the %.2f %% that "
                            "%s stands for years: the hub may crack, use less interference",
                            r.most.interference_mm / bore_mm * 100, *c.hub.lasting_strain_ratio * 100,
                            c.hub.name.c_str())});
  }
}

void warn_of_loosening(const PressFitCase& c, PressFitResult& r) {
  if (c.hub.left_1000h_ratio && !c.hub.metal) {
    r.left_1000h_ratio = c.hub.left_1000h_ratio;
    r.warnings.push_back(
        {"creeps", format("%s creeps: about %.0f %% of the grip is left after 1000 h; key it, pin it or "
                          "bush it with metal",
                          c.hub.name.c_str(), *c.hub.left_1000h_ratio * 100)});
  }
  if (may_be_loose(r))
    r.warnings.push_back(
        {"may-be-loose",
         format(
             "at the loosest the interference is %.1f um and smoothing the surfaces takes about %.1f um: it "
             "may turn on the shaft; bore to the lower half of the limits, or secure it with retaining "
             "compound",
             r.least.interference_mm * 1000, kSmoothing * c.roughness_rz_mm * 1000)});
  if (r.loss_per_40K_mm > 0.5 * r.mean.interference_mm && r.mean.interference_mm > 0)
    r.warnings.push_back(
        {"warm-loose", format("40 K warmer it loses %.1f um of its %.1f um: it may loosen when the machine "
                              "is hot",
                              r.loss_per_40K_mm * 1000, r.mean.interference_mm * 1000)});
}

}  // namespace

Result<HubStress> hub_stress(const ElasticHub& hub, double interference_mm) {
  const double k2 = hub.outside_mm > 0 ? std::pow(hub.bore_mm / hub.outside_mm, 2) : 1;
  if (!(hub.bore_mm > 0 && k2 < 1 && hub.young_hub_MPa > 0))
    return Error{
        ErrorCode::kBadArgument,
        format(
            "found a hub of bore %.4g mm and outside %.4g mm, needed a bore inside the hub and its stiffness",
            hub.bore_mm, hub.outside_mm)};
  HubStress s;
  s.interference_mm = interference_mm;
  if (interference_mm <= 0) return s;
  const double ring = (1 + k2) / (1 - k2);
  const double shaft = hub.young_shaft_MPa > 0 ? (1 - hub.poisson_shaft) / hub.young_shaft_MPa : 0;
  s.pressure_MPa = interference_mm / hub.bore_mm / ((ring + hub.poisson_hub) / hub.young_hub_MPa + shaft);
  s.hoop_MPa = s.pressure_MPa * ring;
  s.von_mises_MPa =
      std::sqrt(s.hoop_MPa * s.hoop_MPa + s.hoop_MPa * s.pressure_MPa + s.pressure_MPa * s.pressure_MPa);
  s.hoop_strain_ratio = (s.hoop_MPa + hub.poisson_hub * s.pressure_MPa) / hub.young_hub_MPa;
  s.growth_outside_mm = hub.outside_mm * 2 * s.pressure_MPa * k2 / (1 - k2) / hub.young_hub_MPa;
  return s;
}

FitChance chance_of_fit(Estimate shaft_mm, Interval bore_mm, Interval wanted_mm) {
  FitChance c;
  c.interference_mm = {shaft_mm.value - 2 * shaft_mm.u - bore_mm.hi,
                       shaft_mm.value + 2 * shaft_mm.u - bore_mm.lo};
  c.mean_interference_mm = shaft_mm.value - (bore_mm.lo + bore_mm.hi) / 2;
  c.p_loose = p_interference_below(shaft_mm, bore_mm, 0);
  c.p_below = p_interference_below(shaft_mm, bore_mm, wanted_mm.lo);
  c.p_above = 1 - p_interference_below(shaft_mm, bore_mm, wanted_mm.hi);
  return c;
}

Result<PressFitResult> press_fit(const PressFitCase& c) {
  if (!c.hub.young_MPa || !c.hub.poisson_ratio)
    return Error{ErrorCode::kBadArgument,
                 "no stiffness known of " + c.hub.name + ": needed a metal or a stiff plastic"};
  const ElasticHub hub{c.shaft_mm.value,
                       c.hub_outside_mm,
                       *c.hub.young_MPa,
                       *c.hub.poisson_ratio,
                       c.shaft.young_MPa.value_or(0),
                       c.shaft.poisson_ratio.value_or(0)};
  const FitChance chance = chance_of_fit(c.shaft_mm, c.bore_limits_mm, {});
  PressFitResult r;
  const double at[] = {chance.interference_mm.lo, chance.mean_interference_mm, chance.interference_mm.hi};
  HubStress* into[] = {&r.least, &r.mean, &r.most};
  for (int i = 0; i < 3; ++i) {
    const auto stress = hub_stress(hub, at[i]);
    if (!stress) return stress.error();
    *into[i] = *stress;
  }
  const double smoothing_mm = kSmoothing * c.roughness_rz_mm;
  r.holding_interference_mm = std::max(0.0, r.least.interference_mm - smoothing_mm);
  r.loss_per_40K_mm = (c.hub.expansion_per_k - c.shaft.expansion_per_k) * 40 * c.shaft_mm.value;
  if (c.hub_length_mm > 0) {
    const auto held = hub_stress(hub, r.mean.interference_mm - smoothing_mm);
    if (!held) return held.error();
    const double k2 = std::pow(c.shaft_mm.value / c.hub_outside_mm, 2);
    const double first_yield_MPa =
        c.hub.yield_MPa ? *c.hub.yield_MPa * (1 - k2) / std::sqrt(3 + k2 * k2) : held->pressure_MPa;
    r.holding_force_N =
        kFriction * std::min(held->pressure_MPa, first_yield_MPa) * kPi * c.shaft_mm.value * c.hub_length_mm;
    r.holding_torque_Nmm = *r.holding_force_N * c.shaft_mm.value / 2;
  }
  warn_of_strength(c, r);
  warn_of_loosening(c, r);
  return r;
}

}  // namespace rondure::plan
