// The likely original sizes of a part, all features inferred together.
//
// Model per feature: measured = original * (1 - g s) + making + measuring, with one shrinkage s for the part and g the
// share of it that the feature was free to show (bore on metal 0, ring held by its shaft f(k, nu), else 1).
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"
#include "rondure/interpret/feature.hpp"

namespace rondure {

struct SizeObservation {
  std::string name, kind;        // kind: outside | bore | bore-on-metal | width | arc | metal
  double size_mm = 0, u_mm = 0;  // measured size, standard uncertainty of the measuring
  std::optional<double> u_made_mm;      // standard deviation of the making; default from the material
  std::optional<double> minor_size_mm;  // an oval part: the minor diameter (size_mm is then the mean)
};

struct SizeCandidate {
  std::string label;  // in the unit it was drawn in: "12.5 mm", "31/64 in"
  double size_mm = 0, probability = 0;
};
struct OriginalFeature {
  std::string name;
  std::vector<SizeCandidate> candidates;  // most probable first
  bool undecided = true;                  // none reaches the asked confidence
};
struct NextMeasurement {
  std::string what;
  double expected_gain_bits = 0;
};
struct OriginalResult {
  double p_metric = 0.5;
  double shrinkage_mean = 0;
  Interval shrinkage95;
  std::vector<OriginalFeature> features;
  std::vector<NextMeasurement> measure_next;
  std::vector<std::string> reasons;  // the two or three facts that drive the answer
  std::vector<Warning> warnings;
};

}  // namespace rondure
