// The measuring plane from a chessboard in the picture: what it alone adds to the radius of a part beside it,
// and how far its corners are from the truth. Usage: study_board_plane [PICTURES]; writes the table to
// standard output.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <vector>

#include "board_scenes.hpp"

using namespace rondure;
using namespace rondure::bench;

namespace {

double corners_rms_px(const render::Camera& camera, const BoardSize& size, const MeasuringPlane& plane) {
  double sum = 0;
  int count = 0;
  for (int i = 0; i < size.columns; ++i)
    for (int j = 0; j < size.rows; ++j) {
      const PixelPoint truth = camera.project({5.0 * i, -5.0 * j, 0});
      if (const auto p = pixel_from_part(plane, {5.0 * i, -5.0 * j})) {
        sum += std::pow(p->x_px - truth.x_px, 2) + std::pow(p->y_px - truth.y_px, 2);
        count += 2;
      }
    }
  return std::sqrt(sum / std::max(1, count));
}

void study(const SceneRow& row, int pictures) {
  std::vector<double> errors;
  double radius2 = 0, corners2 = 0, z2 = 0, oval2 = 0, oval_z2 = 0;
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
      camera->covariance(0, 0) = camera->covariance(1, 1) =
          std::pow(1e-4 * s.scene.camera.lens.focal_x_px, 2);
      camera->covariance(0, 1) = camera->covariance(1, 0) = camera->covariance(0, 0);
    }
    auto plane = plane_from_board(picture, s.size, camera);
    if (plane && o.part_height_mm != 0) plane = at_height(*plane, o.part_height_mm, 0);
    if (!plane) {
      ++refused;
      continue;
    }
    const RimError rim = rim_error(s, *plane, o.part_height_mm);
    const double error = rim.radius_px;
    const PlaneUncertainty u = u_from_plane(*plane, {PartPoint::from(s.part_center), s.part_radius_mm});
    const double sd = u.u_pose_mm / 2 * s.px_per_mm;
    const Eigen::Matrix2d spread = u.second_harmonic_mm2 * s.px_per_mm * s.px_per_mm;
    oval2 += 16 * rim.second_harmonic_px.squaredNorm() / 2;
    oval_z2 += rim.second_harmonic_px.dot(spread.inverse() * rim.second_harmonic_px) / 2;
    errors.push_back(std::abs(error));
    radius2 += error * error, z2 += std::pow(error / sd, 2), inside += std::abs(error) < 1.96 * sd;
    // Where the first corner is hidden or cut off the frame is another: those views are not counted.
    const double corners = o.part_height_mm == 0 ? corners_rms_px(s.scene.camera, s.size, *plane) : 1;
    if (corners < 1) corners2 += corners * corners, ++whole;
  }
  const double n = std::max<double>(1, static_cast<double>(errors.size()));
  std::sort(errors.begin(), errors.end());
  fmt::print("{:<58} {:>3} {:>3} {:>9} {:>8.4f} {:>8.4f} {:>8.4f} {:>6.2f} {:>5.0f}  {:>8.4f} {:>6.2f}\n",
             row.what, errors.size(), refused,
             whole ? fmt::format("{:.4f}", std::sqrt(corners2 / whole)) : "-", std::sqrt(radius2 / n),
             errors.empty() ? 0 : errors[errors.size() / 2], errors.empty() ? 0 : errors.back(),
             std::sqrt(z2 / n), 100 * inside / n, std::sqrt(oval2 / n), std::sqrt(oval_z2 / n));
  std::fflush(stdout);
}

// Ten views to a camera; then the corners of every view, read with that camera, against the truth.
void study_views(const char* what, int cameras, double k1, int quality, const render::CameraCurve& curve,
                 double ink_mm) {
  double corners2 = 0, focal2 = 0, center2 = 0, worst = 0;
  int boards = 0, calibrated = 0;
  for (int number = 0; number < cameras; ++number) {
    std::mt19937_64 random(static_cast<std::uint64_t>(104729 * (number + 1)));
    Lens lens;
    lens.focal_x_px = lens.focal_y_px = uniform_of(random, 2650, 5740);
    lens.center_x_px = 639.5 + uniform_of(random, -8, 8),
    lens.center_y_px = 479.5 + uniform_of(random, -8, 8);
    lens.distortion = {k1, 0, 0, 0, 0};
    std::vector<CalibrationView> views;
    std::vector<render::Camera> truth;
    for (int i = 0; i < kCalibrationViews; ++i) {
      const render::Scene scene = calibration_view(i, lens, curve, ink_mm);
      truth.push_back(scene.camera);
      views.push_back({"view " + std::to_string(i), photograph(scene, quality)});
    }
    const BoardSize size{7, 5, 5};
    const auto camera = calibrate_camera(views, size, {.threads = 1});
    if (!camera) continue;
    ++calibrated;
    focal2 += std::pow(camera->camera.lens.focal_x_px / lens.focal_x_px - 1, 2);
    center2 += (std::pow(camera->camera.lens.center_x_px - lens.center_x_px, 2) +
                std::pow(camera->camera.lens.center_y_px - lens.center_y_px, 2)) /
               2;
    for (std::size_t i = 0; i < views.size(); ++i) {
      const auto plane = plane_from_board(views[i].picture, size, camera->camera);
      // Views turned by a quarter have a frame of their own: not counted.
      if (!plane) continue;
      const double rms = corners_rms_px(truth[i], size, *plane);
      if (rms > 1) continue;
      corners2 += rms * rms, worst = std::max(worst, rms), ++boards;
    }
  }
  fmt::print("{:<58} {:>3} {:>3} {:>9.4f} {:>8.4f} {:>8.5f} {:>8.4f}\n", what, calibrated, boards,
             std::sqrt(corners2 / std::max(1, boards)), worst,
             100 * std::sqrt(focal2 / std::max(1, calibrated)), std::sqrt(center2 / std::max(1, calibrated)));
  std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
  const int pictures = argc > 1 ? std::atoi(argv[1]) : 64;
  fmt::print(
      "Measuring plane from a chessboard in the picture, rendered pictures of known truth "
      "(tests/bench/board_scenes.hpp):\n"
      "1280 x 960, 5 x 7 corners, squares of 58 to 78 px, tilt 2 to 9 deg, blur 0.6 to 1.5 px, SNR of white "
      "28 to 130, PNG and\n"
      "JPEG 95, 85, 75. Radius: of a disc of 165 to 300 px beside the board, error of the plane alone, in "
      "px. z: error over its\n"
      "own standard uncertainty, rms; in: % of errors within 1.96 u. Ovality: false one of that disc, each "
      "of its two components.\n"
      "f: calibrated focal length, u 0.01 %.\n\n");
  fmt::print("{:<58} {:>3} {:>3} {:>9} {:>8} {:>8} {:>8} {:>6} {:>5}  {:>8} {:>6}\n", "case", "n", "no",
             "corners", "radius", "median", "max", "z", "in", "ovality", "z");
  const SceneRow rows[] = {
      {"no camera file (homography)", {}, false},
      {"camera file (pose, f)", {}, true},
      {"camera file, lens distortion k1 -0.15", {.k1 = -0.15}, true},
      {"camera file, a fifth of the board covered", {.hidden_share = 0.2}, true},
      {"no camera file, a fifth of the board covered", {.hidden_share = 0.2}, false},
      {"camera file, a fifth of the board out of the picture", {.cut_share = 0.2}, true},
      {"camera file, ink spread 0.03 mm", {.ink_mm = 0.03}, true},
      {"camera file, part 5 mm above the board, k1 -0.15", {.k1 = -0.15, .part_height_mm = 5}, true},
  };
  for (const SceneRow& row : rows) study(row, pictures);
  fmt::print(
      "\nTen calibration views (board 7 x 5, tilt 4 to 28 deg, distances 1 to 1.9, full well 9,000 e) to a "
      "camera: corners of the\n"
      "views read with it, rms and worst view, px; focal length, % rms; centre, px rms a direction.\n\n");
  fmt::print("{:<58} {:>3} {:>3} {:>9} {:>8} {:>8} {:>8}\n", "case", "n", "of", "corners", "worst", "f %",
             "centre");
  const int cameras = std::max(1, pictures / 12);
  study_views("PNG, sRGB, k1 -0.15", cameras, -0.15, 0, {}, 0);
  study_views("JPEG 95, sRGB, k1 -0.15", cameras, -0.15, 95, {}, 0);
  study_views("JPEG 95, S-curve 0.4, ink 0.015 mm, k1 -0.15", cameras, -0.15, 95,
              {render::CameraCurve::Kind::kSCurve, 0.4}, 0.015);
}
