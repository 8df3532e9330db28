// A measuring plane made quick for many pixels: the inverse homography is kept.
#pragma once
#include <Eigen/Core>
#include <Eigen/Geometry>
#include <Eigen/LU>
#include <optional>

#include "photo/camera/lens_model.hpp"
#include "rondure/photo/measuring_plane.hpp"

namespace rondure {

class PlaneMap {
public:
  explicit PlaneMap(const MeasuringPlane& plane)
      : h_(plane.ideal_from_part), inverse_(h_.inverse()), lens_(plane.lens) {}

  // Part point of a pixel and d(part)/d(pixel); false beyond the horizon or where the lens model folds over.
  bool part(const Eigen::Vector2d& pixel, Eigen::Vector2d& part, Eigen::Matrix2d& slope) const;
  bool pixel(const Eigen::Vector2d& part, Eigen::Vector2d& pixel) const;

private:
  Eigen::Matrix3d h_, inverse_;
  std::optional<Lens> lens_;
};

}  // namespace rondure
