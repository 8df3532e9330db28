// Circle of a part whose outline carries defects: flash, nibs, chips, cracks, dust, mistyped readings. Finds
// the points that do not belong to the outline and fits the geometric circle (fit/circle_fit.hpp) to the
// others.
//
// Model: radial deviation of a point at angle t = circle + smooth form + noise, or a defect. Form: nothing,
// or harmonics 2, 2..3, 2..5, 2..8 (on outlines seen over less than 240 degrees: Legendre
// polynomials 3..4, 3..6 of the angle). An oval or lobed part is therefore no defect. Which form, and which
// points are defects, is decided by the shortest description of all points (J. Rissanen, Automatica 14 (1978)
// 465, from memory): noise of the kept points, height and place of every defect (a sector of neighbours costs
// one place and one height, a single slip a place and a height of its own), half a log n for each parameter.
//
// Search: for each form, least trimmed squares (P. Rousseeuw, JASA 79 (1984) 871) by concentration steps from
// all points, from all points but a sector, from all points but one, and from random small samples of a fixed
// seed; and, for a rough defect over a third of the outline, from the points outside the window of neighbours
// (5 to 35 % of the points) without which the others fit best. The small samples and the windows are tried
// for a larger form only where the other starts bring it near the best so far. A point is excluded only when
// its externally studentised residual has a chance below kFalseExclusion among all n points; and all that are
// excluded together only when an F test against every plainer outline without defects, its chance multiplied
// by the number of ways to choose as many points (Bonferroni; a sector counts by its two ends), is below it
// too. So a clean set of any size loses a point in about kFalseExclusion of cases (measured, 6,400 sets each
// of 6 to 100 readings: 0 to 1.1 %, tests/data/studies/study_fit_robust.txt).
//
// Where more than 5 % of the points are single slips by that rule, others are left out with them from the
// residual on at which a slip (spread evenly over the heights seen) is as likely as noise (2.5 sigma at
// least).
//
// Where nothing is left out and 120 points or more lie dense all round, a shallow defect over 12 to 100 degrees is looked
// for once more, against the part's own texture of form (src/fit/broad_defect.hpp).
//
// `sigma_mm` (optional, one for each point): the reading uncertainty; weights, and the least noise that is
// believed.
//
// Breaks down: above 30 % of contaminated points; a defect as smooth as the form (a bump over 120
// degrees) is form; with fewer than 6 points nothing can be excluded; on 6 to 11 points only gross slips are
// seen. The kept points leave a third of all, and two at least, as degrees of freedom.
//
// Cost: 0.05 to 0.5 ms where the points are plainly round; else 0.2 ms for 12 readings, 0.4 ms for 36, 1 ms
// for 100, 2 ms for 360 (the search looks at 128 points at most), some times as much where the part has a
// form too.
#pragma once
#include <optional>
#include <span>
#include <vector>

#include "rondure/fit/circle_fit.hpp"

namespace rondure {

inline constexpr double kFalseExclusion = 0.01;  // chance that a clean, Gaussian set loses a point

// A run of neighbouring points that lie above or below the outline.
struct DefectSector {
  double from_rad = 0, to_rad = 0;  // seen from the centre, counter-clockwise from `from`; in [0, 2 pi)
  double height_mm = 0;             // of its farthest point from the fitted outline; + above, - below
  double mean_height_mm = 0;
  std::vector<int> indices;  // into the points, counter-clockwise
};

struct SlippedPoint {
  int index = 0;
  double at_rad = 0;
  double height_mm = 0;  // from the fitted outline; + above, - below
};

struct RobustCircle {
  CircleFit fit;           // of the used points
  std::vector<bool> used;  // one for each point given
  int points_used = 0;
  std::vector<DefectSector> sectors;  // by angle
  std::vector<SlippedPoint> slips;    // by index
  double sigma_mm = 0;                // noise of the used points about the outline with its form
  int form_columns = 0;               // parameters of the form that was taken out (0 = round)
  // Mean circle of the outline with its form carried on over the gaps that the defects leave; on an oval part
  // the plain fit of the used points leans towards where they are. Absent below 240 degrees of outline.
  std::optional<Circle> outline_circle;
};

// Errors: those of fit_circle.
Result<RobustCircle> fit_robust_circle(std::span<const PartPoint> points,
                                       std::span<const double> sigma_mm = {});

}  // namespace rondure
