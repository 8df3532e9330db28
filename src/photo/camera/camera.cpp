#include "rondure/photo/camera.hpp"

#include <cmath>

namespace rondure {
namespace {

// Quarter turns (clockwise as seen) that EXIF orientation makes of the sensor's picture; mirrored ones do not
// occur in cameras.
int quarters_of(int orientation) {
  switch (orientation) {
    case 3:
      return 2;
    case 6:
      return 1;
    case 8:
      return 3;
    default:
      return 0;
  }
}

// The camera after its picture is turned clockwise by a quarter: (x, y) -> (height - 1 - y, x).
CameraCalibration turned_once(const CameraCalibration& from) {
  CameraCalibration to = from;
  to.width_px = from.height_px, to.height_px = from.width_px;
  const auto& [k1, k2, p1, p2, k3] = from.lens.distortion;
  to.lens.focal_x_px = from.lens.focal_y_px, to.lens.focal_y_px = from.lens.focal_x_px;
  to.lens.center_x_px = from.height_px - 1 - from.lens.center_y_px;
  to.lens.center_y_px = from.lens.center_x_px;
  // Tangential part p1 acts along y, p2 along x: x' = -y, y' = x.
  to.lens.distortion = {k1, k2, p2, -p1, k3};
  Eigen::Matrix<double, 9, 9> m = Eigen::Matrix<double, 9, 9>::Zero();
  m(0, 1) = m(1, 0) = 1;
  m(2, 3) = -1, m(3, 2) = 1;
  m(4, 4) = m(5, 5) = m(8, 8) = 1;
  m(6, 7) = 1, m(7, 6) = -1;
  to.covariance = m * from.covariance * m.transpose();
  return to;
}

std::string size_text(int width, int height) {
  return std::to_string(width) + " x " + std::to_string(height) + " px";
}

}  // namespace

double CameraCalibration::focal_u_ratio() const { return std::sqrt(covariance(0, 0)) / lens.focal_x_px; }

Result<CameraCalibration> camera_for(const CameraCalibration& camera, const Picture& picture) {
  const std::string about = camera.make + (camera.make.empty() ? "" : " ") + camera.model;
  const std::string seen = picture.make + (picture.make.empty() ? "" : " ") + picture.model;
  if (!about.empty() && !seen.empty() && (camera.make != picture.make || camera.model != picture.model))
    return Error{ErrorCode::kCalibrationMismatch,
                 "the picture is from " + seen + ", the calibration from " + about};
  CameraCalibration turned = camera;
  const int quarters = (quarters_of(picture.orientation) - quarters_of(camera.orientation) + 4) % 4;
  for (int i = 0; i < quarters; ++i) turned = turned_once(turned);
  turned.orientation = picture.orientation;
  if (turned.width_px != picture.width_px || turned.height_px != picture.height_px)
    return Error{ErrorCode::kCalibrationMismatch,
                 "the picture is " + size_text(picture.width_px, picture.height_px) +
                     ", the calibration is for " + size_text(camera.width_px, camera.height_px)};
  return turned;
}

}  // namespace rondure
