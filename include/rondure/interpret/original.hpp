// The likely original sizes of a part, all features inferred together.
//
// Model, for feature i of one part: measured_i = N_i (1 - g_i s) + making_i + measuring_i
//   N_i          size on the drawing, on the grids of one unit system for the whole part (size_grids.hpp), the system
//                itself unknown
//   s            ageing shrinkage of the material, one for the part (materials.hpp: after moulding only)
//   g_i          share of s that the feature was free to show: 0 for metal and for a bore on its metal shaft;
//                f(k, nu) for the outside of a ring held by its shaft (ring_on_shaft.hpp, k = bore / outside as
//                measured); else 1
//   making_i     normal, sd u_made; where not stated, from the material at an unknown level of care, one for the part
//   measuring_i  normal, sd u
// An oval feature is read under the named hypotheses of shape_hypotheses.hpp, averaged by their evidence. Widths of a
// held ring are taken as free (g = 1); sliding along the shaft they shrink by 1 + 2 nu k^2/D, 3 % more than s at
// k = 0.25: a micrometre on 10 mm.
//
// Posterior: given s, system and level the features are independent, so everything is one integral over s of a product
// of sums over grid sizes, for each system and level:
//   P(N_i | data) = sum over system, level of P(system) P(level)
//                   integral p(s) L_i(N_i, s) product_(j != i) L_j(s) ds / Z
// by Gauss-Legendre panels no wider than 2.5 times the narrowest width that the product can have (direct, no
// sampling). kPosteriorAccuracy bounds the error of every probability against the stated model; proved by refinement
// and against an independent summation in the tests. Cost: about a millisecond for five features.
//
// Breaks down: parts whose features shrank by different ratios for reasons not modelled (thick next to thin,
// glass fibre across and along the flow), sizes nobody drew (fitted by hand), features assigned the wrong
// kind. A grid of step d always offers a candidate within d/2: a match tells nothing unless the combined
// uncertainty is well below d/4, and the answer is then "undecided" by itself, because the probabilities
// spread.
#pragma once
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"
#include "rondure/interpret/drive_check.hpp"
#include "rondure/interpret/feature.hpp"
#include "rondure/interpret/materials.hpp"
#include "rondure/interpret/shape_hypotheses.hpp"
#include "rondure/interpret/size_grids.hpp"

namespace rondure {

inline constexpr double kPosteriorAccuracy = 1e-6;
inline constexpr double kLeastShown = 1e-3;  // candidates less probable than this are not listed

// A measured size. Diameters; a width across; an arc by its RADIUS, as it is drawn.
struct SizeObservation {
  std::string name;
  FeatureKind kind;  // one that is_measured
  double size_mm = 0,
         u_mm = 0;  // least-squares size (mean of an oval), standard uncertainty of the measuring
  std::optional<double> u_made_mm;   // standard deviation of the making; default from the material
  std::optional<double> ovality_mm;  // largest minus smallest diameter of an oval feature
  double u_ovality_mm = 0;
};

// Something known of an original size besides the part: a speed ratio, a mating part, a catalogue.
struct SizeEvidence {
  std::string feature;
  Estimate size_mm;
  std::string source;  // "stated", "drive ratio"
  bool from_drive = false;
  std::optional<double> chance = {};  // of being so far off either way, by the measured sizes alone; [0, 1]
  bool left_out = false;              // chance below kEvidenceContradicts_chance: the answer is without it
};
// Evidence less likely than this by the measured sizes contradicts them: another part, a motor's turns for
// the part's, a slip of the keys are then likelier than chance (judgement).
inline constexpr double kEvidenceContradicts_chance = 0.01;

// A feature that the part or its neighbours could still offer, for the question what to measure next.
struct PossibleMeasurement {
  std::string name;
  FeatureKind kind;
  double about_mm = 0;
  double u_mm = 0.01;
};

struct OriginalOptions {
  std::string material;               // name; empty = not known
  std::optional<Estimate> shrinkage;  // replaces the material's law: normal, cut off at 0
  double p_metric = 0.5;              // prior
  double confidence_ratio = 0.8;      // a candidate below this leaves the feature undecided
  SizeGrids grids = builtin_size_grids();
  std::optional<Estimate> crack_gap_mm;  // gap at the bore of a hub cracked open on its shaft: tells s
                                         // directly, in place of the material; nothing is held then
  std::vector<SizeEvidence> evidence;
  bool believe_evidence = false;         // use it even when it contradicts what was measured
  std::optional<DriveCheck> drive;       // speed or ratio that drive_feature must give, turned into evidence
  std::string drive_feature;             // default: the size in question
  std::optional<ShapeHypothesis> shape;  // of oval features, when the user knows
  std::vector<std::string> may_be_worn;  // names of round running surfaces
  std::string about;  // the size in question; default: first outside feature, else the first
  std::vector<PossibleMeasurement> could_measure;  // default: a metal shaft, a width, a hub, a better reading
  bool suggest = true;                             // work out measure_next
  double least_shown = kLeastShown;                // least probability of a listed candidate
  double panel_scale = 1;                          // width of the integration panels, for refinement checks
};

struct SizeCandidate {
  std::string label;  // in the unit it was drawn in: "12.5 mm", "31/64 in"
  double size_mm = 0, probability = 0;
  UnitSystem system = UnitSystem::kMetric;
};

// One reading of an oval or worn feature beside the others.
struct ShapeVerdict {
  ShapeHypothesis shape = ShapeHypothesis::kRound;
  double probability = 0;
  double implied_mm = 0;   // size before shrinking under this reading, not on any grid: anchor / (1 - g s)
  bool at_least = false;   // the original is at least (bore: at most) this
  std::string best_label;  // most probable drawn size under this reading, and its probability there
  double best_probability = 0;
};

struct OriginalFeature {
  std::string name;
  std::vector<SizeCandidate> candidates;  // most probable first; those of at least least_shown
  bool undecided = true;                  // no size reaches the asked confidence
  FeatureKind kind = {};
  double measured_mm = 0, u_mm = 0;       // u: measuring
  double u_made_mm = 0;                   // making, posterior mean over the levels of care
  double share_of_shrinkage = 1;          // g
  Estimate unshrunk_mm = {};              // measured/(1 - g s), u with s and making: before any grid is asked
  double rest_probability = 0;            // of all candidates not listed
  std::vector<ShapeVerdict> shapes = {};  // empty for a plain round feature
  std::optional<double> ovality_mm = {};  // as measured, of a feature read as oval
};
// What the drive would do with a candidate.
struct DriveOutcome {
  std::string label;
  double size_mm = 0, error_ratio = 0;  // of the ratio or speed, relative to the wanted one
};

struct NextMeasurement {
  std::string what;               // an instruction
  double expected_gain_bits = 0;  // about the size in question
};

// False where nothing of it would show: metal. 5e-5 is half of the last figure that texts give (0.01 %).
inline bool has_shrunk(const Interval& shrinkage95) {
  return shrinkage95.hi >= 5e-5 || shrinkage95.lo <= -5e-5;
}

struct OriginalResult {
  double p_metric = 0.5;
  double shrinkage_mean = 0;
  Interval shrinkage95;
  bool has_shrunk() const { return rondure::has_shrunk(shrinkage95); }
  std::vector<OriginalFeature> features;
  std::vector<NextMeasurement> measure_next;  // best first
  std::vector<std::string> reasons;           // the two or three facts that drive the answer
  std::vector<Warning> warnings;
  std::string about;             // name of the size in question
  std::string shrinkage_source;  // "POM-C: 0.1 to 0.5 % after moulding (memory)", "stated", ...
  double confidence_ratio = 0.8;
  std::vector<SizeEvidence> evidence;  // all that was given, the drive's included
  std::vector<DriveOutcome> drive;     // of the leading candidates, when a drive was given
  double log_evidence = 0;             // ln p(all sizes | model), sizes in mm
};

// Errors: kNoAnswer (no feature; no candidate size at all), kBadArgument (a size, uncertainty, name or option
// that cannot be meant; the detail names the feature).
Result<OriginalResult> infer_original(std::span<const SizeObservation> sizes,
                                      const OriginalOptions& options = {});

}  // namespace rondure
