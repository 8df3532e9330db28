// The measuring plane from a chessboard in the picture: what it alone adds to the radius of a part beside it, and how far its
// corners are from the truth. Usage: study_board_plane [PICTURES]; writes the table to standard output.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <vector>

#include "board_scenes.hpp"

using namespace rondure;
using namespace rondure::bench;

namespace {

struct Row {
  std::string what;
  SceneOptions scene;
  bool camera = false;
};

double corners_rms_px(const BoardScene& s, const MeasuringPlane& plane) {
  double sum = 0;
  int count = 0;
  for (int i = 0; i < s.size.columns; ++i)
    for (int j = 0; j < s.size.rows; ++j) {
      const PixelPoint truth = s.scene.camera.project({5.0 * i, -5.0 * j, 0});
      if (const auto p = pixel_from_part(plane, {5.0 * i, -5.0 * j})) {
        sum += std::pow(p->x_px - truth.x_px, 2) + std::pow(p->y_px - truth.y_px, 2);
        count += 2;
      }
    }
  return std::sqrt(sum / std::max(1, count));
}

void study(const Row& row, int pictures) {
  std::vector<double> errors;
  double radius2 = 0, corners2 = 0, z2 = 0;
  int refused = 0, inside = 0, whole = 0;
  for (int number = 0; number < pictures; ++number) {
    SceneOptions o = row.scene;
    o.number = number;
    const BoardScene s = random_scene(o);
    const Picture picture = photograph(s.scene, s.jpeg_quality);
    std::optional<CameraCalibration> camera;
    if (row.camera) {
      camera.emplace();
      camera->width_px = picture.width_px, camera->height_px = picture.height_px;
      camera->lens = s.scene.camera.lens;
      camera->covariance(0, 0) = camera->covariance(1, 1) = std::pow(1e-4 * s.scene.camera.lens.focal_x_px, 2);
      camera->covariance(0, 1) = camera->covariance(1, 0) = camera->covariance(0, 0);
    }
    auto plane = plane_from_board(picture, s.size, camera);
    if (plane && o.part_height_mm != 0) plane = at_height(*plane, o.part_height_mm, 0);
    if (!plane) {
      ++refused;
      continue;
    }
    const double error = radius_error_px(s, *plane, o.part_height_mm);
    const double sd = u_from_plane(*plane, {PartPoint::from(s.part_center), s.part_radius_mm}).u_pose_mm / 2 * s.px_per_mm;
    errors.push_back(std::abs(error));
    radius2 += error * error, z2 += std::pow(error / sd, 2), inside += std::abs(error) < 1.96 * sd;
    if (o.part_height_mm == 0 && o.cut_share == 0) corners2 += std::pow(corners_rms_px(s, *plane), 2), ++whole;
  }
  const double n = std::max<double>(1, static_cast<double>(errors.size()));
  std::sort(errors.begin(), errors.end());
  fmt::print("{:<58} {:>3} {:>3} {:>9} {:>8.4f} {:>8.4f} {:>8.4f} {:>6.2f} {:>5.0f}\n", row.what, errors.size(), refused,
             whole ? fmt::format("{:.4f}", std::sqrt(corners2 / whole)) : "-", std::sqrt(radius2 / n),
             errors.empty() ? 0 : errors[errors.size() / 2], errors.empty() ? 0 : errors.back(), std::sqrt(z2 / n), 100 * inside / n);
}

}  // namespace

int main(int argc, char** argv) {
  const int pictures = argc > 1 ? std::atoi(argv[1]) : 64;
  fmt::print(
      "Measuring plane from a chessboard in the picture, rendered pictures of known truth (tests/bench/board_scenes.hpp):\n"
      "1280 x 960, 5 x 7 corners, squares of 58 to 78 px, tilt 2 to 9 deg, blur 0.6 to 1.5 px, SNR of white 28 to 130, PNG and\n"
      "JPEG 95, 85, 75. Radius: of a disc of 165 to 300 px beside the board, error of the plane alone, in px. z: error over its\n"
      "own standard uncertainty, rms; in: % of errors within 1.96 u. f: calibrated focal length, u 0.01 %.\n\n");
  fmt::print("{:<58} {:>3} {:>3} {:>9} {:>8} {:>8} {:>8} {:>6} {:>5}\n", "case", "n", "no", "corners", "radius", "median", "max", "z", "in");
  const Row rows[] = {
      {"no camera file (homography)", {}, false},
      {"camera file (pose, f)", {}, true},
      {"camera file, lens distortion k1 -0.15", {.k1 = -0.15}, true},
      {"camera file, a fifth of the board covered", {.hidden_share = 0.2}, true},
      {"no camera file, a fifth of the board covered", {.hidden_share = 0.2}, false},
      {"camera file, a fifth of the board out of the picture", {.cut_share = 0.2}, true},
      {"camera file, ink spread 0.03 mm", {.ink_mm = 0.03}, true},
      {"camera file, part 5 mm above the board, k1 -0.15", {.k1 = -0.15, .part_height_mm = 5}, true},
  };
  for (const Row& row : rows) study(row, pictures);
}
