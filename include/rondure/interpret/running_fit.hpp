// The answer while the readings are still being taken: radius, ovality, what does not fit, where to read
// next.
//
// Model. Least-squares circle of the readings (fit_circle); ovality from the second harmonic of its
// residuals, to first order: r(t) = a cos t + b sin t + dR + p cos 2t + q sin 2t, ovality = 4 hypot(p, q)
// (major - minor diameter). The oval model is used from kOvalReadings readings over kOvalCoverage_deg on.
// Scatter: s^2 = (nu0 s0^2 + ssq)/(nu0 + n - k) with a weak prior of nu0 = 2 degrees of freedom at s0 = 0.1 %
// of the radius (not less than a division of the dial), so that three or four readings are not believed to be
// perfect. Doubted: a reading that the others contradict, by its deviation over their scatter without it
// (externally studentised) as unlikely as kDoubt standard deviations of a normal law. Doubted readings do not
// carry the fit until they are confirmed; they are looked at again with every reading. With four readings
// nobody can tell which is wrong: the last is doubted. For the reader at the bench, not for the record:
// measure_outline() gives the part's values with full uncertainty.
#pragma once
#include <Eigen/Core>
#include <optional>
#include <span>
#include <vector>

#include "rondure/core/geometry.hpp"

namespace rondure {

inline constexpr double kDoubt = 4.0;
inline constexpr int kOvalReadings = 7;
inline constexpr double kOvalCoverage_deg = 200;

struct NextReading {
  double at_deg = 0;                        // from the centre, [0, 360)
  double gap_from_deg = 0, gap_to_deg = 0;  // nothing seen between, counter-clockwise
  double radius_u_ratio = 1;                // u(R) after it / u(R) now
};

struct RunningAnswer {
  int used = 0;
  std::optional<Circle> circle;        // from three readings that are not on a line
  std::optional<double> u_radius_mm;   // from five readings; noise of the readings alone
  double scatter_mm = 0;               // s
  std::optional<Estimate> ovality_mm;  // when it can be had; u per component
  double ovality_axis_deg = 0;
  double coverage_deg = 0;              // 360 minus the largest gap
  std::vector<double> deviation_mm;     // of every reading from the model, + outside; empty without a circle
  std::vector<double> prediction_u_mm;  // what the others leave open at that place, with the scatter
  std::optional<NextReading> next;

  // The model's radius in that direction.
  double radius_at_mm(double angle_rad) const;
  double deviation_of_mm(PartPoint p) const;  // needs a circle
  double p_mm = 0, q_mm = 0;                  // second harmonic of the model; 0 where it is a circle
};

struct RunningOptions {
  double resolution_mm = 0;  // a division of the dial; 0 = not known
  bool arc = false;          // only the arc between the outermost readings can be seen
};

class RunningFit {
public:
  explicit RunningFit(RunningOptions options = {}) : options_(options) {}

  void set_options(RunningOptions options) { options_ = options; }
  // The next reading; a confirmed one is never doubted.
  void add(PartPoint at, bool confirmed = false);
  // Which readings are in doubt, decided elsewhere (measure_outline): at least three must remain.
  void judge(std::vector<char> doubted);
  const RunningAnswer& answer() const { return answer_; }
  const std::vector<char>& doubted() const { return doubted_; }  // one a reading

private:
  void look_again();
  void answer_from_the_rest();

  RunningOptions options_;
  std::vector<PartPoint> points_;
  std::vector<char> confirmed_, doubted_;
  RunningAnswer answer_;
};

}  // namespace rondure
