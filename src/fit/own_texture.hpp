// Defects told from the part's own texture of form, where points lie dense all round.
//
// Neighbours on a dense outline share what a few harmonics do not hold: undulations of higher orders. A trough of them over
// 20 degrees is no defect, however small the noise. Model of the kept points (t direction, r noise over the relative sigma):
//
//   y(t) = a_0 + a_1 cos t + b_1 sin t + a_2 cos 2t + b_2 sin 2t + sum_{k=3..K} (a_k cos kt + b_k sin kt) + r,
//   orders 0 to 2 free,  a_k, b_k ~ N(0, tau_k^2),  r ~ N(0, s^2),  K = min(30, n / 8).
//
// tau_k and s come from the kept points themselves (expectation and maximisation: Dempster, Laird and Rubin, J. R. Statist.
// Soc. B 39 (1977) 1, from memory), each order pooled with its neighbours. A point is out where its residual, with what the
// model leaves open at its place, has a chance below kFalseExclusion / n by Student's t; repeated until nothing changes. So a
// gap is bridged by form as strong as the rest of the outline shows, no more: what lies farther off is a defect.
// Where it breaks down: undulations above order 30 count as noise; open outlines and fewer than kTexturePoints points are
// judged without it. Cost: 5 to 15 ms for 700 points.
#pragma once
#include "trimmed_outline.hpp"

namespace rondure {

inline constexpr int kTexturePoints = 120;
inline bool has_texture(const Profile& p) { return p.closed && p.size() >= kTexturePoints; }

// Sets which points are kept, from those that `description` keeps, then residuals, leading coefficients and sigma.
void classify_by_texture(const Profile& profile, Description& description);
// The latter alone, for the points kept as they stand.
void refit_with_texture(const Profile& profile, Description& description);

}  // namespace rondure
