// Boards of which something covers a part: how many are found, whether a single square was counted wrongly,
// how far the plane's corners are from the truth, and what the plane adds to the radius of the part. With the
// part itself lying on the board: the radius as measured, too. Usage: study_board_covered [SCENES [FIRST
// [WORD]]]; WORD: rows that hold it.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <string>

#include "board_scenes.hpp"

using namespace rondure;
using namespace rondure::bench;

namespace {

struct Tally {
  int refused = 0, wrong = 0, found = 0, inside = 0;
  double corners = 0, corners2 = 0, radius2 = 0, worst = 0, z2 = 0;
};

CameraCalibration camera_of(const BoardScene& s) {
  CameraCalibration camera;
  camera.width_px = 1280, camera.height_px = 960;
  camera.lens = s.scene.camera.lens;
  camera.covariance.topLeftCorner<2, 2>().setConstant(std::pow(1e-4 * camera.lens.focal_x_px, 2));
  camera.ink_mm = Estimate{0, 3e-4};
  return camera;
}

void take(const BoardScene& s, const BoardPlane& fit, Tally& tally) {
  const auto first = first_corner(s, fit.board);
  if (!first) {
    ++tally.wrong;
    return;
  }
  ++tally.found;
  tally.corners += static_cast<double>(fit.board.corners.size());
  const Eigen::Vector2d shift(5.0 * first->first, -5.0 * first->second);
  double sum = 0;
  for (int i = 0; i < s.size.columns; ++i)
    for (int j = 0; j < s.size.rows; ++j) {
      const PixelPoint truth = s.scene.camera.project({5.0 * i, -5.0 * j, 0});
      const auto p = pixel_from_part(fit.plane, {5.0 * i - shift.x(), -5.0 * j - shift.y()});
      sum += std::pow(p->x_px - truth.x_px, 2) + std::pow(p->y_px - truth.y_px, 2);
    }
  tally.corners2 += sum / (2 * s.size.columns * s.size.rows);
  const double error_px = radius_error_px(s, fit.plane);
  const Eigen::Vector2d center = s.part_center - shift;
  const double u_px =
      u_from_plane(fit.plane, {PartPoint::from(center), s.part_radius_mm}).u_pose_mm / 2 * s.px_per_mm;
  tally.radius2 += error_px * error_px, tally.worst = std::max(tally.worst, std::abs(error_px));
  tally.z2 += std::pow(error_px / u_px, 2), tally.inside += std::abs(error_px) < 2 * u_px;
}

void study(const SceneRow& row, int first, int scenes) {
  Tally t;
  for (int number = first; number < first + scenes; ++number) {
    SceneOptions o = row.scene;
    o.number = number;
    const BoardScene s = random_scene(o);
    const Picture picture = photograph(s.scene, s.jpeg_quality);
    std::optional<CameraCalibration> camera;
    if (row.camera) camera = camera_of(s);
    if (const auto fit = fit_board_plane(picture, s.size, camera)) {
      take(s, *fit, t);
    } else {
      ++t.refused;
      fmt::print(stderr, "{}, scene {}: {}\n", row.what, number, fit.error().message());
    }
  }
  const double n = std::max(1, t.found);
  fmt::print("{:<54} {:>3} {:>3} {:>5} {:>6.1f} {:>8.4f} {:>8.4f} {:>8.4f} {:>5.2f} {:>5.0f}\n", row.what,
             t.found, t.refused, t.wrong, t.corners / n, std::sqrt(t.corners2 / n), std::sqrt(t.radius2 / n),
             t.worst, std::sqrt(t.z2 / n), 100 * t.inside / n);
  std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
  const int scenes = argc > 1 ? std::atoi(argv[1]) : 60, first = argc > 2 ? std::atoi(argv[2]) : 0;
  const std::string wanted = argc > 3 ? argv[3] : "";
  fmt::print(
      "Boards partly covered: scenes of tests/bench/board_scenes.hpp from number {} (1280 x 960, 5 x 7 "
      "corners, 30 x 40 "
      "mm,\n"
      "squares of 58 to 78 px). no: no board found; wrong: a corner counted to another column or row than "
      "its own;\n"
      "seen: corners found, of 35. corners: the plane's error at all 35, px rms; radius: what it adds to the "
      "disc's "
      "(beside the\n"
      "board, or lying on it), px rms and worst; z: that over its own u, rms; 2 u: share within.\n\n",
      first);
  fmt::print("{:<54} {:>3} {:>3} {:>5} {:>6} {:>8} {:>8} {:>8} {:>5} {:>5}\n", "what covers", "n", "no",
             "wrong", "seen", "corners", "radius", "worst", "z", "2 u %");
  const SceneRow rows[] = {
      {"nothing", {}, true},
      {"a patch anywhere, 20 %", {.hidden_share = 0.2}, true},
      {"a patch on the middle, 10 %", {.middle_share = 0.1}, true},
      {"a patch on the middle, 20 %", {.middle_share = 0.2}, true},
      {"a patch on the middle, 30 %", {.middle_share = 0.3}, true},
      {"a patch on the middle, 30 %, no camera file", {.middle_share = 0.3}, false},
      {"a patch on the middle, 40 %", {.middle_share = 0.4}, true},
      {"a strip across, 15 of 40 mm", {.band_mm = 15}, true},
      {"a strip across, 20 of 40 mm", {.band_mm = 20}, true},
      {"a strip across, 25 of 40 mm", {.band_mm = 25}, true},
      {"the part, 10 %", {.part_share = 0.1}, true},
      {"the part, 20 %", {.part_share = 0.2}, true},
      {"the part, 30 %", {.part_share = 0.3}, true},
  };
  for (const SceneRow& row : rows)
    if (row.what.find(wanted) != std::string::npos) study(row, first, scenes);
}
