// Reference circles of ISO 12181-1 that touch the points: minimum circumscribed (MCCI), maximum inscribed
// (MICI) and minimum zone (MZCI); the least-squares one (LSCI) is fit/circle_fit.hpp. Exact for the points as
// given: combinatorial, with a proof of optimality, and with the contact points.
//
// Minimum circumscribed: smallest circle that holds all points. Exchange of the two or three contact points
// (the farthest point enters, the smallest circle of the four remains); the radius grows at every exchange,
// so it ends at the only minimum.
//
// Maximum inscribed: largest circle without a point inside, among those that
// cannot grow by moving: its contacts surround the centre (closed: a right-angled contact triangle counts).
// Minimum zone: least difference of the radii of two concentric circles with all points between them, over
// every centre of the plane. Closed outlines near a circle: exchange of the two outer and two inner contacts,
// and a certificate from their directions that no other centre is better. Everything else, and the maximum
// inscribed circle, by branch and bound: squares of centres are discarded by the bound |f(c) - f(c')| <= |c -
// c'| of a distance, or because no balance of the contact directions is possible in them, or resolved exactly
// through all sets of possible contacts; far centres are searched by curvature and direction, up to the
// straight strip.
//
// RONt = largest minus smallest distance of the points from the centre (radial_spread).
//
// Accuracy: kReferenceCircleAccuracy of the radius (certified sets of tests/data/fits: 50 digits).
// These are extremes of the points: noise enlarges RONt (limits: 4 to 6 sigma for 50 to 1000 points of a
// round part), and a single wrong point decides them. Exclude defects first where the part, not the dirt, is
// to be judged.
//
// Cost for points all round (tests/data/studies/study_fit_speed.txt): MCC 2 us for 360 points, 5 ns a point
// for many; MZC 7 us and 20 ns a point; MIC 40 us and 25 ns a point. Open arcs and gaps over 40 degrees: 0.1
// ms to milliseconds.
#pragma once
#include <span>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"

namespace rondure {

inline constexpr double kReferenceCircleAccuracy =
    1e-12;  // of the radius; of the extent where the radius is larger

struct ContactCircle {
  Circle circle;
  std::vector<int> contacts;  // indices of the points that decide it (two or three)
};

struct ZoneCircles {
  PartPoint center;
  double outer_radius_mm = 0, inner_radius_mm = 0;
  double zone_mm = 0;  // outer minus inner: RONt of MZCI
  std::vector<int> outer_contacts, inner_contacts;
  // False where the search was cut short (outlines far from round, with a whole line of equally good
  // centres): the best ring found, which may not be the best there is.
  bool proven = true;
  double mean_radius_mm() const { return 0.5 * (outer_radius_mm + inner_radius_mm); }
};

// Errors: kTooFewPoints (fewer than 2 distinct), kNotFinite.
Result<ContactCircle> minimum_circumscribed(std::span<const PartPoint> points);
// Errors: kTooFewPoints (fewer than 3 distinct), kNotFinite, kNoAnswer (an open arc: every circle can grow).
Result<ContactCircle> maximum_inscribed(std::span<const PartPoint> points);
// Errors: kTooFewPoints (fewer than 4 distinct), kNotFinite, kNoAnswer (a straight strip is at least as
// narrow; or an outline so slender that a whole line of centres is equally good and the search was given up).
Result<ZoneCircles> minimum_zone(std::span<const PartPoint> points);

// Largest minus smallest distance of the points from `center`; points must not be empty.
double radial_spread(std::span<const PartPoint> points, const PartPoint& center);

}  // namespace rondure
