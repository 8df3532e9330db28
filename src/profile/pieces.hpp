// The cut of a profile into lines and arcs with the most evidence.
#pragma once
#include <vector>

#include "rondure/profile/curve.hpp"

namespace rondure {

struct Piece {
  int from = 0, to = 0;     // points of the profile that carry it, both included
  int first = 0, last = 0;  // with those beside the breaks
  ProfileCurve curve;
};

struct Cut {
  std::vector<Piece> pieces;  // left to right
  double p_as_cut = 1;  // against the best cuts with more or fewer pieces, and with as many of other forms
};

// `margin_mm`: points so near to a break count for neither side. `shared`: how many points share one error.
// `sigma_freedom`: degrees of freedom with which the points' sigma is known, 0 = fully. Of a sigma so known the law of
// the misfit is Student's: (freedom + N) log(1 + chi2 / freedom) stands for chi2 where numbers of pieces are weighed.
Cut cut_into_pieces(const std::vector<ProfilePointRZ>& points, double margin_mm, double shared,
                    double sigma_freedom = 0);

}  // namespace rondure
