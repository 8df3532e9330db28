// Which of several equal parts has worn most.
//
// For the running surface asked about, of every part:
//   unworn = N (1 - g s)        N the drawn size that the parts have in common (infer_set, each part allowed to be
//                               worn), s the part's shrinkage as its OTHER sizes and those of the other parts tell
//                               it (infer_set without the surface); where no part has another size the material's
//   missing = unworn - measured (a bore: measured - unworn)
//   u^2 = u(measuring)^2 + u(making)^2 + (N g u(s))^2, and for the amount itself u(N)^2, which all parts share
// Against a plan: missing = target - measured, with the uncertainty of the measuring; nothing has shrunk.
// The chance of having worn most is that of the largest of independent normal laws without what all share. Of s,
// too, a part is shared: left in, so that the chance is on the safe side.
// Breaks down: a part cast too small, or shrunk more than its other sizes show, looks worn.
#pragma once
#include <map>
#include <string>
#include <vector>

#include "rondure/interpret/original_set.hpp"

namespace rondure {

struct PartWear {
  std::string name;
  double measured_mm = 0, u_mm = 0;
  Estimate unworn_mm;   // u without that of the common size
  Estimate missing_mm;  // in diameter; below 0: larger than it would be unworn
  double chance_most = 0;
};

struct SetWear {
  std::string feature;
  bool against_plan = false;
  BestAnswer drawn;              // the common size; not against a plan
  double u_drawn_mm = 0;         // shared by all parts
  std::vector<PartWear> parts;   // most missing first
  std::string shrinkage_source;  // "their other sizes", "the material alone", "the plan"
  std::vector<std::string> left_out;
};

// Errors: those of infer_set; kBadArgument (nothing common: fewer than two parts have the feature, or their sizes
// differ by more than kWornSetSpread, or kWornToldSpread where options.same_drawing names the feature: somebody knows
// that they were equal, and wear alone may be more; a feature that is no outside or bore).
inline constexpr double kWornSetSpread = 0.03, kWornToldSpread = 0.15;  // judged
Result<SetWear> wear_of_set(std::vector<SetPart> parts, const std::string& feature,
                            const SetOptions& options = {});
// `target_mm`: by the part's name. Errors: kBadArgument (fewer than two parts with a target).
Result<SetWear> wear_against_plan(const std::vector<SetPart>& parts, const std::string& feature,
                                  const std::map<std::string, double>& target_mm);

}  // namespace rondure
