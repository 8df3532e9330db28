// What the outline is: round, oval, lobed, irregular, or not to be told from these points.
//
// Model comparison by tests with a stated error rate: a truly round part is called anything but round or undecided in
// at most kFalseVerdict of cases (kFalseOval for the oval, the rest shared evenly among the lobes, Bonferroni).
// Orders that show take part by the power of their bias-corrected amplitudes: one that holds half or more names the
// form (2: oval, else lobed), none: irregular. Also irregular: a known sigma, and residuals about all orders above
// twice as large beyond chance. Nothing shows: round when the ovality, at the upper end of its 95 % interval, is under
// kRoundEnough of the diameter, else undecided: so few or so coarse readings would not have shown a real oval.
#pragma once
#include <optional>

#include "rondure/fit/harmonics.hpp"
#include "rondure/fit/outline_form.hpp"
#include "rondure/fit/ovality.hpp"

namespace rondure {

inline constexpr double kFalseVerdict = 0.05, kFalseOval = 0.04;
inline constexpr double kRoundEnough = 0.0025;

struct Verdict {
  OutlineForm form = OutlineForm::kNotJudged;
  int upr = 0;  // lobed: the order; oval: 2; else 0
};

// `ovality` absent: too short an arc or too few points. u_lobes_mm: standard uncertainty of each coefficient of every order
// above 2 (cosine, sine) from what the points share and their scatter does not show; an order shows where it is beyond
// chance by that too. The second order has its own in the ovality.
Verdict judge(const std::optional<OvalityEstimate>& ovality, const HarmonicAnalysis& harmonics,
              bool sigma_known, double u_lobes_mm = 0);

}  // namespace rondure
