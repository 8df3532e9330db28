// A plastic ring that shrinks on a rigid shaft: how much of the free shrinkage its outside can show.
//
// Ring of bore a and outside b, k = a/b in [0, 1), Poisson ratio nu, free shrinkage s (a ratio). Plane stress
// after Lame: the bore is held at the shaft, i.e. stretched by s a. With D = (1 + nu) + (1 - nu) k^2
//   outside shrinks by s f,  f = (1 + nu)(1 - k^2)/D
//   contact pressure         p = E s (1 - k^2)/D          hoop stress at the bore  E s (1 + k^2)/D
// (derived from Lame's equations; checked against finite differences in tests/data/trade/ring_on_shaft.csv).
// The sum of radial and hoop stress is the same everywhere, so the formulas hold for any length that can
// slide along the shaft. E cancels in f, and by the correspondence principle relaxation hardly changes f:
// only nu drifts towards 1/2 (f rises by 0.6 / 1.3 / 3.4 % at k = 0.2 / 0.3 / 0.5). Breaks down for hubs
// joined to the rim by thin webs or spokes, for cracked hubs (these are free), and for a bore that was loose
// at first (see outer_shrinkage_with_clearance).
#pragma once

namespace rondure {

// f(k, nu): share of the free shrinkage that shows on the outside. 1 for k = 0, falling to 0 as k -> 1.
double held_ring_outer_share(double bore_over_outside_ratio, double poisson_ratio);
// The same when the bore cannot slide along the shaft either (long hub, friction); may exceed 1.
double stuck_ring_outer_share(double bore_over_outside_ratio, double poisson_ratio);
// Contact pressure and hoop stress at the bore, divided by E s.
double held_ring_pressure_share(double bore_over_outside_ratio, double poisson_ratio);
double held_ring_hoop_share(double bore_over_outside_ratio, double poisson_ratio);
// Shrinkage of the outside when the bore (diameter d) had a diametral clearance c at first: free until s d =
// c.
double outer_shrinkage_with_clearance(double shrinkage_ratio, double clearance_over_bore_ratio,
                                      double bore_over_outside_ratio, double poisson_ratio);
// Free shrinkage told by the gap of a hub that has cracked through and stands open on its shaft: s = gap/(pi
// d). Both in mm; the gap at the bore, along the circumference.
double shrinkage_from_crack_gap(double gap_mm, double shaft_diameter_mm);
// The formula takes the inner circumference as unstrained; its own standard uncertainty, relative
// (judgement).
inline constexpr double kCrackGapModelUncertainty = 0.1;

}  // namespace rondure
