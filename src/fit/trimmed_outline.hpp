// Radial deviations of points about a circle, described by a smooth form and defects (see
// fit/robust_circle.hpp).
#pragma once
#include <Eigen/Core>
#include <span>
#include <vector>

#include "rondure/core/geometry.hpp"

namespace rondure {

// A scatter that the reader tells is known to about 20 %: 0.5 / 0.2^2 degrees of freedom (JCGM 100:2008, G.4.2).
inline constexpr double kToldFreedom = 12;

// The points in the order of their angle about `circle`.
struct Profile {
  std::vector<int> index;        // into the points given
  Eigen::VectorXd angle_rad;     // ascending from the end of the largest gap
  Eigen::VectorXd deviation_mm;  // distance from the circle, + outside
  Eigen::VectorXd relative_sigma;
  Eigen::MatrixXd basis;      // 1, cos t, sin t, then the form; one row a point
  std::vector<int> models;    // numbers of leading columns that make a model
  bool closed = false;        // the last point and the first are neighbours
  double least_sigma_mm = 0;  // what is believed to be noise at least
  bool told = false;          // few points, whose noise is told
  int size() const { return static_cast<int>(index.size()); }
};

Profile profile_about(std::span<const PartPoint> points, std::span<const double> sigma_mm,
                      const Circle& circle);

// Every step-th point of a profile, same basis.
Profile thinned(const Profile& profile, int step);

// A model with its defects.
struct Description {
  int columns = 0;
  Eigen::VectorXd coefficients;
  Eigen::VectorXd residual;  // all points, mm
  std::vector<char> kept;
  double sigma_mm = 0;  // of the kept points (divided by their relative sigma)
  double length = 0;    // nats; the shorter the better
  double believed_sigma_mm =
      0;  // of the search: points let in again may not widen sigma much beyond it; 0 = may
};

// What it takes to tell all points by a model, its defects and the noise, in nats.
double description_length(const Profile& profile, const Description& description);
// The shortest description found.
Description describe(const Profile& profile);
// The shortest that keeps every point.
Description describe_without_defects(const Profile& profile);
// Least squares of the kept points, residuals of all, sigma of the kept ones; false when they cannot carry
// the model.
bool refit(const Profile& profile, Description& description);
// Runs of points that are not kept and lie on the same side: first position and count. One kept point inside
// a run is part of it.
struct Run {
  int first = 0, count = 0;
};
std::vector<Run> defect_runs(const Profile& profile, const std::vector<char>& kept,
                             const Eigen::VectorXd& residual);
bool is_sector(const Profile& profile, const Run& run, const Eigen::VectorXd& residual);

// Externally studentised residuals of every point against the model of `columns` columns fitted to the kept
// points; sets the degrees of freedom.
Eigen::VectorXd studentised(const Profile& profile, const Description& description, double& dof);
// Degrees of freedom that a told noise adds to those of points of this variance about the model; fewer where the points
// scatter more than was told, 0 where nothing is told.
double freedom_told(const Profile& profile, double variance_mm2);

}  // namespace rondure
