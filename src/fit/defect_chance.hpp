// Whether what is left out of an outline is more than chance and the part's own undulations make of it.
#pragma once
#include "trimmed_outline.hpp"

namespace rondure {

// What the defects explain is beyond what the best choice of as many points among clean ones explains: an F test
// against each plainer outline, its chance times the number of choices (a sector is two ends, slips are a
// subset). Points that are alike count as one: texture of form above the model's orders would else pass for a sector (1.3 % of
// parts with even texture of the orders 3 to 17, 9 % where it falls as 1/k from 3 um; now 0 to 0.3 and 1 to 3 %).
// Where it breaks down: fewer than 120 points, each of which counts by itself.
bool beyond_chance(const Profile& profile, const Description& description);

// Each sector by itself, dense outlines alone: the half of it (front, middle, back) without which the rest fits best stands for
// it where the other half explains no more than chance, and so on; none where the whole explains no more. One true defect
// would else vouch for a false one, or for ground about it that the model no longer reaches (45 degrees about a nib of 8).
void narrow_sectors(const Profile& profile, Description& description);

}  // namespace rondure
