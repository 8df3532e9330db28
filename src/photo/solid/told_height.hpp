// A told height against the walls that the picture shows.
#pragma once
#include <vector>

#include "rondure/photo/solid_part.hpp"

namespace rondure {

// As the scenes' parts are broken: chamfers to 0.6 mm, fillets to 0.8 mm, a quarter not at all (choose.py).
inline constexpr double kChamfer_mm = 0.3, kUChamfer_mm = 0.3;  // the wall ends below the told height

// A thing whose wall is seen to be of another height than the one told (0: told to lie flat): said, not corrected; what the
// two sizes differ by goes into the uncertainty. `seen`: the same picture, weighed without the told height.
void say_where_walls_stand(const SolidScene& seen, const Estimate& told, std::vector<RoundEdge>& edges);

}  // namespace rondure
