// Real photographs: the calibration views of OpenCV's documentation (Debian package opencv-doc, examples/data/left01.jpg to
// left14.jpg, Apache-2.0 and BSD-3-Clause), fetched by .ci/fetch-open-photos.
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>

#include "rondure/photo/board_plane.hpp"
#include "rondure/photo/camera.hpp"

using namespace rondure;
namespace fs = std::filesystem;

namespace {

fs::path folder() {
  return fs::path(RONDURE_SOURCE) / "build/opencv-doc/usr/share/doc/opencv-doc/examples/data";
}

std::vector<CalibrationView> left_views() {
  std::vector<CalibrationView> views;
  for (int i = 1; i <= 14; ++i) {
    char name[16];
    std::snprintf(name, sizeof name, "left%02d.jpg", i);
    if (!fs::exists(folder() / name)) continue;  // there is no number 10
    auto picture = load_picture(folder() / name);
    REQUIRE(picture);
    views.push_back({name, std::move(*picture)});
  }
  return views;
}

}  // namespace

TEST_CASE("real photographs: OpenCV's calibration views agree with its published camera",
          "[photo][camera][open][repeats]") {
  const auto views = left_views();
  if (views.empty()) {
    WARN("skipped: the photographs of Debian's opencv-doc are not there (.ci/fetch-open-photos)");
    return;
  }
  REQUIRE(views.size() == 13);
  const auto result = calibrate_camera(views, {9, 6, 25});
  REQUIRE(result);
  const Lens& lens = result->camera.lens;
  // Published in the same folder, left_intrinsics.yml: fx = fy = 535.916, cx = 342.283, cy = 235.571, k1 = -0.26637,
  // k2 = -0.03859, p1 = 0.00178, p2 = -0.00028, k3 = 0.23839; reprojection error 0.393 px (0.28 px an axis).
  // OpenCV's own calibrations of these views with five or two distortion terms differ by 0.04 % in f and 1.5 px in the
  // centre. This board is uneven and bent: with its own shape estimated (2026-11: f was 3.7 u off without) focal length and
  // centre agree within what is stated; the distortion the lens does (not its terms, which trade with one another) within
  // 0.7 px where the board was seen, up to 260 px from the centre.
  const auto u = [&](int i) { return std::sqrt(result->camera.covariance(i, i)); };
  INFO("f " << lens.focal_x_px << " +- " << u(0) << ", centre " << lens.center_x_px << " +- " << u(2) << ", "
            << lens.center_y_px << " +- " << u(3));
  CHECK(std::abs(lens.focal_x_px - 535.916) < 2 * u(0));
  CHECK(u(0) < 0.0015 * 535.916);
  CHECK(std::abs(lens.center_x_px - 342.283) < 2.5 * u(2));
  CHECK(std::abs(lens.center_y_px - 235.571) < 2.5 * u(3));
  bool said = false;
  for (const Warning& w : result->warnings) said |= w.code == "board-uneven";
  CHECK(said);
  const Lens published{535.916, 535.916, 342.283, 235.571, {-0.26637, -0.03859, 0, 0, 0.23839}};
  const Lens radial{
      535.916, 535.916, 342.283, 235.571, {lens.distortion[0], lens.distortion[1], 0, 0, lens.distortion[4]}};
  for (const double r : {80.0, 160.0, 260.0}) {
    const double ours = picture_from_ideal(radial, {342.283 + r, 235.571}).x(),
                 theirs = picture_from_ideal(published, {342.283 + r, 235.571}).x();
    INFO("at " << r << " px: " << ours << " against " << theirs);
    CHECK(std::abs(ours - theirs) < 0.7);
  }
  CHECK(result->rms_px < 0.28);
  int used = 0;
  for (const ViewResult& v : result->views) used += v.used;
  CHECK(used >= 11);
}

TEST_CASE("real photographs: the board is found whole in the 26 views of both cameras, but for one at most",
          "[photo][board][open]") {
  if (!fs::exists(folder() / "left01.jpg")) {
    WARN("skipped: the photographs of Debian's opencv-doc are not there (.ci/fetch-open-photos)");
    return;
  }
  int whole = 0, files = 0;
  for (const char* side : {"left", "right"})
    for (int i = 1; i <= 14; ++i) {
      char name[16];
      std::snprintf(name, sizeof name, "%s%02d.jpg", side, i);
      const auto picture = load_picture(folder() / name);
      if (!picture) continue;
      ++files;
      const auto board = find_board(*picture, {9, 6, 25});
      if (!board) UNSCOPED_INFO(name << ": " << board.error().message());
      whole += board && board->whole({9, 6, 25}) && board->corners.size() == 54;
    }
  CHECK(files == 26);
  CHECK(whole >= 25);                          // right13.jpg: a chance corner beyond the board
  for (const char* name : {"smarties.png"}) {  // no board in them
    const auto picture = load_picture(folder() / name);
    REQUIRE(picture);
    CHECK(find_board(*picture, {9, 6, 25}).error().code == ErrorCode::kNoBoard);
  }
}
