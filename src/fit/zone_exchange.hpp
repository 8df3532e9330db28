// Minimum zone of a closed, nearly round outline by exchange of contacts, with a certificate.
//
// Two outer and two inner contacts whose directions alternate fix a centre (equally far from the outer two
// and from the inner two). The farthest or the nearest of all points, whichever disagrees more, takes the
// place of the contact on its side of the other pair; the zone of the four grows at every exchange, as in E.
// Remez' exchange for best approximation (from memory).
//
// Certificate. With unit directions e_i to the outer and f_j to the inner contacts, a shift d of the centre
// changes outer distances by at least -e_i.d (a distance is convex) and inner ones by at most -f_j.d +
// |d|^2 / (2 (r - |d|)). So the zone of any centre at a distance |d| exceeds that of the four by
//   |d| (s - |d| / (2 (r - |d|))),   s = least over all directions u of max (f_j - e_i).u,
// which is positive up to |d| < 2 s r / (1 + 2 s). Beyond `reach` (see closed_outline.hpp) no centre is
// better. Where the two meet the answer is the only minimum there is.
#pragma once
#include <optional>

#include "extremes.hpp"

namespace rondure {

struct ExchangedZone {
  Eigen::Vector2d center{0, 0};
  double zone = 0;         // of all points about the centre
  bool certified = false;  // no other centre has as narrow a zone
};

// Nothing where the exchange does not settle (outlines far from round, open arcs).
std::optional<ExchangedZone> exchange_zone(const CenteredCloud& points);

}  // namespace rondure
