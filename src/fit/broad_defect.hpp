// A shallow defect over 12 to 100 degrees (a flat, a dent, a swelling) told from the part's own texture of form, where
// points lie dense all round. Each of its harmonics is no larger than those of the texture; only their phases agree.
//
// Model, orders k = 3 to K of the radial deviation (0 to 2 belong to circle and oval):
//
//   c_k = h b_k(w) exp(-i k t) + texture,   texture ~ complex normal of power P_k,
//
// b_k(w): of a smooth bump of height 1 and full width w (raised cosine), t its place. P_k is the part's own: the mean
// power of the orders k-2 to k+2 that is left, never below that of the orders beyond K (noise). Told by
//
//   G = max over t, w, h of  sum_k ln(P_k without the bump / P_k with it).
//
// Without a defect G exceeds 10.5 in 0.2 to 1 % of parts (1,000 drawn parts each of texture even over the orders 3 to 17 or 3 to
// 30, falling as 1/k, with three strong lobes, none; medians 3.7 to 5.8). Where it breaks down: a texture as strong as
// the defect hides it (0.04 mm over 25 degrees on orders 3 to 30 of 0.6 to 3 um: a quarter is missed).
// Cost: 2 ms.
#pragma once
#include <optional>

#include "trimmed_outline.hpp"

namespace rondure {

inline constexpr double kBroadDefectGain = 10.5;  // nats; of parts without a defect, see above

struct BroadDefect {
  double at_rad = 0;     // its middle, in the profile's angle modulo 2 pi
  double width_rad = 0;  // full
  double height_mm = 0;  // + above, - below
  double gain = 0;       // G
};

// The most likely one; nothing where points are fewer than 120, or lie more than 4 degrees apart.
std::optional<BroadDefect> broad_defect(const Profile& profile);

// Leaves it out of a description that leaves nothing out, or only points within it (more than one defect: they stand as
// they are). Ends: where a smooth one is a tenth of its height; a sharp end that was found before stays.
void leave_out_broad_defect(const Profile& profile, Description& description);

}  // namespace rondure
