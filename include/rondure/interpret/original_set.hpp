// The likely original sizes of a set of parts of one machine, all parts inferred together.
//
// Each part by itself follows the model of original.hpp. The set adds, between its parts:
//   unit system   one for the machine
//   habits        one designer drew the machine: as the prior grids say, on few grids of his own, or any size of the finest grid alike
//                 (designer_habits.hpp in src/interpret). Each size tells of his habits, and they of the next; known: see SetOptions. Where
//                 no steps fit better than any, only what is decided without them is, and the set warns (size-undecided).
//   shrinkage     every part keeps the law of its material, its own shrinkage s_p being the quantile
//                 Phi(z_p) of that law; parts of one material are alike by an unknown share r:
//                   z_p = sqrt(r) z_batch + sqrt(1 - r) e_p,   z_batch, e_p standard normal,
//                 r one of kShrinkageLikeness with equal chances. Parts of different materials: independent.
//   drawing       features named alike and said to be of the same drawing have one size N for all parts that
//                 belong; each part its own shrinkage and making
//   ties          the ratio (N_a + t)/(N_b + t) of two originals is known within a normal law, t the belt
//   odd parts     each part, independently, may be of another drawing (only where it shares one) or a
//                 stranger (own unit system, own shrinkage, own drawing), with small chances before anything
//                 is measured. A size of another drawing is thought to lie within about 1 mm. Parts in a tie
//                 are taken to belong.
//   wear          an outside or bore that shares a drawing may be worn, with a small chance, by an exponential amount
//                 (shape_hypotheses.hpp; of one that was said to be perhaps worn, with the chance given there)
// With known habits a part's marginal law is that of the part alone: a set whose parts share nothing answers as
// each alone.
//
// Posterior: sums over unit system, habits and drawn sizes, trapezium rule on z_batch and z_p, whose integrands
// are normal laws of known least width times smooth functions, so that its error falls as exp(-2 pi^2 (width/
// step)^2): below kPosteriorAccuracy. No sampling. Sizes, rows of z_batch and habits are left out where bounds
// tell that together they hold less than 1e-8 of the whole.
// Breaks down: materials that aged under different conditions (one roller in the sun), making errors shared
// by parts of one mould (taken as independent: equal parts of one cavity are then too sure of their drawing).
#pragma once
#include <functional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "rondure/interpret/original.hpp"

namespace rondure {

inline constexpr double kShrinkageLikeness[] = {0, 0.4, 0.75, 0.93};
inline constexpr std::size_t kMostParts = 64;

struct SetPart {
  std::string name;  // of the part in ties and answers; each its own
  std::vector<SizeObservation> sizes;
  OriginalOptions options;  // material, shrinkage, evidence, worn; p_metric and grids are those of SetOptions
  // Feature and a word of the user's: features with one word had one drawing, in all parts that carry it, whatever
  // they are called. A word that only one part carries says nothing.
  std::vector<std::pair<std::string, std::string>> same = {};
};

// (N_a + t)/(N_b + t) = ratio, t the thickness of the belt between them.
struct SizeTie {
  std::string part_a, feature_a, part_b, feature_b;
  Estimate ratio;
  double belt_mm = 0;
};

struct SetOptions {
  std::vector<std::string> same_drawing;  // names of features
  std::vector<SizeTie> ties;
  double p_metric = 0.5;
  double confidence_ratio = 0.8;
  SizeGrids grids = builtin_size_grids();
  bool habits_known = false;  // the grids are this designer's own; else those of designers in general
  double chance_other_drawing = 0.04, chance_stranger = 0.02;  // of each part
  double chance_worn = 0.04;                                   // of each round surface that shares a drawing
  std::vector<double> likeness{std::begin(kShrinkageLikeness), std::end(kShrinkageLikeness)};
  bool each_without = true;  // answers without the parts that are probably odd
  double step_scale = 1;     // of the trapezium rule, for refinement checks
  // Told how much of the work is done, 0 to 1. It goes back where parts turn out to be odd: their share is asked for then.
  std::function<void(double)> on_progress = {};
};

struct BestAnswer {
  std::string label;
  double size_mm = 0, probability = 0;
};

struct SetPartResult {
  std::string name;
  OriginalResult original;                                 // as one of the set
  BestAnswer alone;                                        // best of the size in question by the part alone
  double p_other_drawing = 0, p_stranger = 0, p_worn = 0;  // worn: of the drawing, but worn
  double chance_odd() const { return p_other_drawing + p_stranger + p_worn; }
};

// A part that probably does not belong, and the answers of the others with it taken as belonging and without
// it.
struct OddPart {
  std::string name;
  double p_other_drawing = 0, p_stranger = 0, p_worn = 0,
         odds = 0;  // odds of not belonging or worn : belonging
  struct Change {
    std::string part, feature;
    BestAnswer with, without;
  };
  std::vector<Change> changes;  // the size in question of every other part
};

// How much of his sizes the designer of the machine drew on a grid, posterior mean, within the unit system.
struct GridUse {
  UnitSystem system = UnitSystem::kMetric;
  std::string grid;
  double share = 0;
};

struct SetResult {
  double p_metric = 0.5;
  std::vector<GridUse> habits;  // of every grid; empty when the habits were known
  // That of a further part of the same batch, of the material with the most parts.
  std::string material;
  double shrinkage_mean = 0;
  Interval shrinkage95;
  double likeness = 0;  // r, posterior mean, of that material
  std::vector<std::string> same_drawing;
  std::vector<SetPartResult> parts;
  std::vector<OddPart> odd;
  double confidence_ratio = 0.8;
  double log_evidence = 0;
  std::vector<Warning> warnings;
};

// Errors: those of infer_original with the part's name before them; kBadArgument (fewer than 2 or more than
// kMostParts parts, a name twice, a feature named in same_drawing that fewer than two parts have or that is
// of different kinds, a tie of unknown names, a crack gap); kNoAnswer (sizes so fine that the sums would be
// too long).
Result<SetResult> infer_set(std::span<const SetPart> parts, const SetOptions& options = {});

}  // namespace rondure
