// The mean radius of the PART from points of its outline: best value, skew 95 % interval, and how much of the
// uncertainty is noise, form that the points show, and form taken from the prior. The measurand is the radius
// of the least-squares circle of the whole outline (size (GG) of ISO 14405-1), not of these points.
//
// Model: form_model.hpp. The curvature 1/R = (1 - delta)/R0 is close to Gaussian where R is not (short arcs),
// so intervals are made in curvature and turned over: R from R0/(1 - delta_lo) to R0/(1 - delta_hi).
// Perfectly round part (`kNone`): least squares, Student's t with n - 3 degrees of freedom (normal law when
// sigma is known), combined with further contributions by the Welch-Satterthwaite formula (GUM G.4).
#pragma once
#include <optional>
#include <span>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"
#include "rondure/fit/circle_fit.hpp"
#include "rondure/fit/form_model.hpp"

namespace rondure {

enum class FormKind { kEstimate, kNone, kStated };

struct FormRadiusOptions {
  FormKind form = FormKind::kEstimate;
  double out_of_round_mm = 0;  // kStated: expected peak-to-valley of the radius
  std::optional<double>
      sigma_mm;               // reading uncertainty per axis when known; the spans' sigmas are then relative
  double sigma_guess_mm = 0;  // unknown sigma: expected order of magnitude (photographs); 0 = none
  double resolution_mm = 0;   // step of the readings; adds step^2/12, and bounds an unknown sigma
  bool correlated = false;    // neighbouring points share errors
  // Ovality only: covariance of the second harmonic (cosine, sine of twice the direction) that the points
  // share from elsewhere, such as a tilted measuring plane, mm^2.
  Eigen::Matrix2d second_harmonic_mm2 = Eigen::Matrix2d::Zero();
};

// A reading of another kind on the same outline. All lengths mm.
struct OutlineReading {
  enum class Kind { kTwoPoint, kChord, kOverlay } kind = Kind::kTwoPoint;
  Estimate first;      // diameter | chord | radius, with its standard uncertainty
  Estimate second;     // kChord: sagitta
  double at_rad = 0;   // kTwoPoint: direction of the diameter
  int line = 0;        // of the readings file; 0 = none
  double step_mm = 0;  // kTwoPoint: last digit typed; 0 = not known
};

struct RadiusEstimate {
  double radius_mm = 0;  // best value: reciprocal of the mean curvature
  PartPoint center;
  double reference_radius_mm = 0;
  std::vector<FormTerm> terms;  // mixture of delta; empty when nothing is known of the uncertainty
  double dof = 0;               // > 0: one term, Student's t
  bool kinds_not_told = false;  // an arc: the interval is mixture_interval95
  double u_noise_mm = 0, u_form_mm = 0, u_form_prior_mm = 0;  // of the radius, standard
  double sigma_mm = 0;  // noise per point, posterior root mean square; 0 = not known
  // Standard uncertainty of the radius, with a further relative one; 0 = not known.
  double u_mm(double u_more_ratio = 0) const;
  // 95 % interval; nothing when the uncertainty is not known or the curvature interval reaches 0.
  std::optional<Interval> radius95_mm(double u_more_ratio = 0) const;
  bool curvature_reaches_zero(double u_more_ratio = 0) const;
};

// `sigma_mm`: per point, or empty. Errors: kBadArgument (sigma not positive).
RadiusEstimate estimate_radius(std::span<const PartPoint> points, std::span<const double> sigma_mm,
                               const Circle& least_squares, const FormRadiusOptions& options,
                               std::span<const OutlineReading> others = {});

}  // namespace rondure
