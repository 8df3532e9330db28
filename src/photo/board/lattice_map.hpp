// Where the places of a board's lattice lie in a picture: a homography and one radial bend about the
// picture's middle (straight = seen / (1 + bend r^2), r in half diagonals), enough of any lens to count
// squares across what covers them.
#pragma once
#include <Eigen/Core>
#include <optional>
#include <vector>

namespace rondure {

struct Sighting {
  Eigen::Vector2d node;  // column, row
  Eigen::Vector2d at_px;
};

class LatticeMap {
public:
  // Least squares (Gauss-Newton). Perspective and bend are held to what pictures show, so that few corners
  // give a map too. Empty when the corners lie on one line or no view of a plane puts them there.
  static std::optional<LatticeMap> through(const std::vector<Sighting>& corners, double width_px,
                                           double height_px);
  Eigen::Vector2d pixel(const Eigen::Vector2d& node) const;
  Eigen::Vector2d node(const Eigen::Vector2d& pixel) const;
  // Side of a square at this place, the shorter of the two directions.
  double step_px(const Eigen::Vector2d& node) const;
  // Misfit of the corners, in squares, each direction, of the degrees of freedom left.
  double rms_squares() const { return rms_squares_; }

private:
  Eigen::Vector2d straight(const Eigen::Vector2d& pixel) const;

  Eigen::Vector2d middle_px_{0, 0};
  double half_px_ = 1;  // half diagonal
  Eigen::Vector2d node_mean_{0, 0};
  double node_scale_ = 1;
  Eigen::Matrix3d h_ = Eigen::Matrix3d::Identity();  // straight picture, half diagonals, from scaled nodes
  double bend_ = 0;
  double rms_squares_ = 0;
};

}  // namespace rondure
