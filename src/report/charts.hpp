// The charts of the report page, each a self-contained SVG element; empty text when the feature has nothing
// to show.
#pragma once
#include <string>
#include <vector>

#include "rondure/core/shown.hpp"
#include "rondure/interpret/feature.hpp"
#include "rondure/interpret/original.hpp"

namespace rondure {

// Letter of the i-th left-out place ("A", "B", ... ), the same in every chart and on the photograph.
std::string place_letter(std::size_t index);

// Round number of mm (1, 2 or 5 times a power of ten) not below `mm`.
double round_step_mm(double mm);

// What deviations are drawn in: mm, or thou where inches stand first.
struct DeviationUnit {
  double mm;  // of one
  const char* symbol;
};
inline DeviationUnit deviation_unit(const LengthWords& words) {
  return words.inch_first() ? DeviationUnit{kMmPerInch / 1000, "thou"} : DeviationUnit{1, "mm"};
}

// The answer as one picture: the size with its 95 % interval, what it was before shrinking, and the sizes it
// may have been drawn as, on one line of mm and inch. Empty without an interval.
std::string answer_chart(const Feature& feature, const OriginalFeature* original, const LengthWords& words);

// Deviations from the least-squares circle, magnified, at their angle; same orientation as the photograph.
struct RoundnessChart {
  std::string svg;
  double magnification = 0;  // radial enlargement against the drawn circle
};
RoundnessChart roundness_chart(const Feature& feature, const LengthWords& words);

// Deviation against angle, 0 to 360 degrees.
std::string deviation_chart(const Feature& feature, const LengthWords& words);

// Amplitude by undulations per revolution, with its uncertainty.
std::string harmonics_chart(const std::vector<HarmonicResult>& harmonics, const LengthWords& words);

// Shares of the standard uncertainty of the size; `share` is 1 where that is the diameter, 0.5 where it is
// the radius.
std::string budget_chart(const std::vector<BudgetLine>& budget, double share, const LengthWords& words);

// Candidates for one original size with their probabilities.
std::string candidates_chart(const OriginalFeature& feature);

}  // namespace rondure
