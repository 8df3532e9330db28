// Solid round parts standing on the board's plane: the outline of a part as high as a roller is that of its wall,
// not of one circle.
//
// Model (src/photo/solid): a straight round wall from the plane up to the lower edge of its chamfer is seen as the
// convex hull of two circles, in closed form. All sharp edges that rays from inside meet are weighed together; a
// shadow's edge is softer than the camera's blur and does not fit the hull. The told height is a prior: the wall ends
// below it by the chamfer, N(0.3, 0.3) mm. Where the camera's foot point lies outside the part the picture tells the
// height itself (prior N(5, 5) mm when it is not told); else size and height are one number, dD = -(D / H) dh: then, not
// told, it is measured as if flat, and 7 mm of height go into the uncertainty. The wall may be oval: the second harmonic of
// its radius is free within a prior of 0.5 % of the size (standard deviation of the ovality).
// Of rings within each other the outermost that the edges bear out is the outside; where a larger one is half borne out,
// the part is refused.
// Each group of round edges is judged: as a flat disc at the told height (its edges stay as placed by
// find_round_edges) or as a standing wall, by which of the two the edges support better.
// Breaks down: part as bright as its ground (then no answer, or a wide one); hard shadows joined to the outline;
// steps outside the wall (flange under a hub); fillets above 0.8 mm.
#pragma once
#include <optional>
#include <vector>

#include "rondure/photo/measuring_plane.hpp"
#include "rondure/photo/picture.hpp"
#include "rondure/photo/round_edges.hpp"

namespace rondure {

// A round edge in the picture that is no feature of the part.
struct NotThePart {
  EdgeRole role;                    // none that is_of_the_part
  Circle circle;                    // at its height; a shadow's on the board
  std::vector<PixelPoint> outline;  // as drawn
};

struct SolidScene {
  std::vector<RoundEdge> edges;  // largest first
  std::vector<NotThePart> others;
  std::vector<Error>
      refused;  // parts whose outline may as well be another line, farther off than a size is worth
};

// A gauge piece: only the outline of its size is looked for, first at the rings found, then about the place.
struct KnownPiece {
  double radius_mm = 0;
  PartPoint at;         // about its middle, in the plane of its height
  Estimate chamfer_mm;  // its straight wall ends so far below the told height
};

struct SolidOptions {
  std::optional<Estimate> height_mm;  // told; absent: from the picture
  bool linear_light = false;
  std::optional<KnownPiece> piece;
};

// `plane` at the told height; `edges` as find_round_edges placed them with it. Without a known camera distance
// they are given back as they are; told to lie flat too, with a warning where a wall is seen all the same.
SolidScene weigh_solid_parts(const Picture& picture, const MeasuringPlane& plane,
                             std::vector<RoundEdge> edges, const SolidOptions& options);

}  // namespace rondure
