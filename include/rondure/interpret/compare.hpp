// The same part at two dates, before and after, the copy against the original, or against planned sizes.
//
// Sizes. For every feature that both records hold (by name), d = D_B - D_A and its standard uncertainty
//     u(d)^2 = u_A^2 + u_B^2 - 2 sum_s u_A,s u_B,s           (GUM 5.2, correlated input quantities)
// where s runs over the contributions that both measurements share (uncertainty_source.hpp), fully correlated:
// those of the calibration when both name the very same calibration file (equal SHA-256), those of a reference
// piece when both were measured in the very same picture. Everything else counts as independent. For a form error that both measurements miss alike (the
// same lobes between the same few readings, the same unseen arc, the part lying the same way) that is on the
// safe side: the true covariance is positive and u(d) smaller, at best by the whole of the form's share. It
// is not on the safe side where the two saw different parts of a form that neither knew in full (two-point
// sizes across different diameters, arcs on different sides): there the errors may be of opposite sign, up to
// u_A + u_B instead of (u_A^2 + u_B^2)^(1/2). Skew 95 % intervals (short arcs) are combined side by side.
//
// Shrinkage since A. s_i = (D_A - D_B) / D_A of the moulded features (not kinds metal and bore-on-metal), and
// one value for the part by generalised least squares with the covariances above; chi^2 tells whether the
// features shrank alike. Features that are held against planned sizes belong to another piece, a copy: no
// shrinkage.
//
// Shape. Harmonics of the same order are compared as vectors a exp(i k phase): the difference keeps amplitude
// and phase, its uncertainty per component is (u_A^2 + u_B^2)^(1/2), and it is a change when its length
// exceeds 2.448 times that (95 % of a two-dimensional normal law). This needs the part to lie the same way
// round both times; `turn` brings B back, all its features together, by a known angle or one that is found
// from all.
//
// Cost: negligible. Errors: kNoAnswer when no feature is in both.
#pragma once
#include <map>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "rondure/core/result.hpp"
#include "rondure/core/warning.hpp"
#include "rondure/interpret/conformity.hpp"
#include "rondure/interpret/feature.hpp"

namespace rondure {

struct PlannedLimits {
  double target_mm = 0;
  SizeLimits limits;
};

struct CompareOptions {
  std::optional<double> tolerance_mm;            // the largest difference that is allowed, either way
  std::map<std::string, PlannedLimits> planned;  // by feature name: what B's sizes have to be (diameters)
  std::optional<double> turn_rad;                // B lies turned by this, counter-clockwise
  bool find_turn = false;                        // find it from the harmonics
  bool another_piece = false;                    // B is a copy of A: no shrinkage, whatever was planned
};

struct HarmonicChange {
  int upr = 0;
  double before_mm = 0, after_mm = 0;  // amplitudes
  double amplitude_mm = 0,
         phase_deg = 0;        // of the difference B - A, phase in [0, 360/upr), directions as in A
  std::optional<double> u_mm;  // per component
  bool shown = false;          // longer than its 95 % limit
};

enum class SizeChange { kLarger, kSmaller, kNotShown };
std::string_view name(SizeChange change);  // "larger", "smaller", "not shown"

// What was compared with what, and what came of it.
struct FeatureComparison {
  std::string name;
  FeatureKind kind;
  std::optional<double> a_mm, u_a_mm;  // absent: only planned
  double b_mm = 0;
  std::optional<double> u_b_mm;
  std::optional<PlannedLimits> planned;
  // B - A; against the target where there is no A.
  double difference_mm = 0;
  std::optional<double> u_difference_mm;
  std::optional<Interval> difference95_mm;
  std::vector<UncertaintySource> shared;  // what cancels
  std::optional<SizeChange> change;       // absent when there is no uncertainty
  std::optional<Decision> decision;  // B's size in the planned limits, else the difference in the tolerance
  std::optional<Estimate> shrinkage_ratio;  // since A; moulded features with uncertainties
  std::optional<double> ovality_a_mm, ovality_b_mm, ront_a_mm, ront_b_mm;
  std::vector<HarmonicChange> harmonics;
};

struct CommonShrinkage {
  Estimate ratio;
  Interval ratio95;
  int features = 0;
  std::optional<double>
      p_alike;  // chance of features that shrank alike differing as much; two features or more
};

struct Comparison {
  std::vector<FeatureComparison> features;
  std::vector<std::string> only_in_a, only_in_b;
  std::optional<CommonShrinkage> shrinkage;
  std::optional<double> turn_rad;  // that was applied
  std::vector<Warning> warnings;
};

Result<Comparison> compare_features(std::span<const Feature> a, std::span<const Feature> b,
                                    const CompareOptions& options = {});

}  // namespace rondure
