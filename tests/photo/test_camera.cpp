// The camera from rendered views of known lens.
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "render/image_file.hpp"
#include "render/scene.hpp"
#include "rondure/photo/camera.hpp"

using namespace rondure;

namespace {

const Lens kTrueLens{1700, 1700, 402.3, 296.1, {-0.12, 0.06, 0.0004, -0.0003, 0}};

CalibrationView view(int number, double distance, double tilt, double towards, Eigen::Vector2d at,
                     double ink_mm = 0.02) {
  render::Scene scene;
  scene.camera = render::Camera::looking_at(800, 600, kTrueLens, at, distance, tilt, towards, 5 * number);
  scene.board = render::Board{.columns = 7, .rows = 5, .square_mm = 6, .ink_mm = ink_mm};
  scene.ground = scene.board->white;
  scene.sensor = {.full_well_e = 9000, .read_noise_e = 6, .seed = static_cast<std::uint64_t>(number)};
  return {"view " + std::to_string(number), render::as_picture(render::take_picture(scene))};
}

std::vector<CalibrationView> good_views() {
  return {view(1, 170, 5, 40, {18, -12}),  view(2, 180, 24, 10, {6, -2}),    view(3, 180, 24, 130, {32, -22}),
          view(4, 230, 25, 250, {40, 4}),  view(5, 230, 28, 310, {-6, -26}), view(6, 300, 28, 70, {-18, 6}),
          view(7, 300, 26, 190, {54, -30})};
}

}  // namespace

TEST_CASE("camera: rendered views give the lens back within its uncertainty", "[photo][camera]") {
  const auto result = calibrate_camera(good_views(), {7, 5, 6});
  REQUIRE(result);
  const CameraCalibration& c = result->camera;
  const double truth[9] = {1700, 1700, 402.3, 296.1, -0.12, 0.06, 0.0004, -0.0003, 0};
  const double found[9] = {c.lens.focal_x_px,    c.lens.focal_y_px,    c.lens.center_x_px,
                           c.lens.center_y_px,   c.lens.distortion[0], c.lens.distortion[1],
                           c.lens.distortion[2], c.lens.distortion[3], c.lens.distortion[4]};
  for (int i = 0; i < 8; ++i) {
    INFO("parameter " << i << ": " << found[i] << " +- " << std::sqrt(c.covariance(i, i)) << ", true "
                      << truth[i]);
    CHECK(std::abs(found[i] - truth[i]) < 4 * std::sqrt(c.covariance(i, i)));
  }
  CHECK(c.focal_u_ratio() < 2e-4);
  CHECK(std::abs(c.lens.focal_x_px / 1700 - 1) < 3e-4);
  CHECK(result->rms_px < 0.02);
  CHECK(result->chi < 2);
  REQUIRE(c.ink_mm);
  CHECK(c.ink_mm->value == Approx(0.02).margin(0.002));
  CHECK(c.tone.gamma_shift == Approx(0).margin(0.05));
  for (const ViewResult& v : result->views) CHECK(v.used);
}

TEST_CASE("camera: a view that does not belong is named and left out", "[photo][camera]") {
  auto views = good_views();
  // A bent picture: the board's image squeezed sideways, as by another zoom.
  Picture& p = views[2].picture;
  Picture squeezed = p;
  for (int y = 0; y < p.height_px; ++y)
    for (int x = 0; x < p.width_px; ++x) {
      const int from =
          std::clamp(x + static_cast<int>(std::lround(14 * std::sin(x / 90.0))), 0, p.width_px - 1);
      squeezed.grey8[static_cast<std::size_t>(y * p.width_px + x)] =
          p.grey8[static_cast<std::size_t>(y * p.width_px + from)];
    }
  p = squeezed;
  Picture plain = views[0].picture;
  std::fill(plain.grey8.begin(), plain.grey8.end(), std::uint8_t{180});
  views.push_back({"empty table", plain});
  const auto result = calibrate_camera(views, {7, 5, 6});
  REQUIRE(result);
  CHECK_FALSE(result->views[2].used);
  CHECK_FALSE(result->views[7].used);
  int named = 0;
  for (const Warning& w : result->warnings)
    named += w.code == "view-left-out" && (w.text.find("view 3") == 0 || w.text.find("empty table") == 0);
  CHECK(named == 2);
  CHECK(std::abs(result->camera.lens.focal_x_px / 1700 - 1) < 1e-3);
}

TEST_CASE("camera: square-on views are warned of, gaps too, too few are refused", "[photo][camera]") {
  const std::vector<CalibrationView> flat = {view(1, 200, 1, 0, {32, -12}), view(2, 200, 2, 90, {33, -10}),
                                             view(3, 210, 1, 180, {31, -14}),
                                             view(4, 205, 2, 270, {32, -12})};
  const auto result = calibrate_camera(flat, {7, 5, 6});
  if (result) {
    std::string codes;
    for (const Warning& w : result->warnings) codes += std::string(w.code.word()) + " ";
    CHECK(codes.find("views-square-on") != std::string::npos);
    CHECK(codes.find("views-leave-gaps") != std::string::npos);
  } else {
    CHECK(result.error().code == ErrorCode::kBadCalibration);
  }
  CHECK(calibrate_camera({}, {7, 5, 6}).error().code == ErrorCode::kBadCalibration);
  CHECK(calibrate_camera({flat[0], flat[1]}, {7, 5, 6}).error().code == ErrorCode::kBadCalibration);
  CHECK(calibrate_camera(flat, {9, 6, 6}).error().code == ErrorCode::kBoardMismatch);
  auto mixed = flat;
  mixed[1].picture.width_px = 400, mixed[1].picture.height_px = 1200;
  CHECK(calibrate_camera(mixed, {7, 5, 6}).error().code == ErrorCode::kBadCalibration);
}

TEST_CASE("camera: a picture of another size or camera is refused, a turned one is served",
          "[photo][camera]") {
  CameraCalibration camera;
  camera.width_px = 800, camera.height_px = 600, camera.make = "Bench", camera.model = "One";
  camera.lens = kTrueLens;
  camera.covariance.diagonal().setConstant(1e-6);
  Picture picture;
  picture.width_px = 800, picture.height_px = 600;
  CHECK(camera_for(camera, picture));
  picture.model = "Two", picture.make = "Bench";
  CHECK(camera_for(camera, picture).error().code == ErrorCode::kCalibrationMismatch);
  picture.model = "One";
  picture.width_px = 1600;
  const auto refused = camera_for(camera, picture);
  CHECK(refused.error().code == ErrorCode::kCalibrationMismatch);
  CHECK(refused.error().detail.find("1600 x 600") != std::string::npos);
  // Held upright (EXIF orientation 6): pixel (x, y) of the sensor shows at (height - 1 - y, x).
  picture.width_px = 600, picture.height_px = 800, picture.orientation = 6;
  const auto upright = camera_for(camera, picture);
  REQUIRE(upright);
  for (const Eigen::Vector2d& n : {Eigen::Vector2d(0.1, 0.05), Eigen::Vector2d(-0.2, 0.12)}) {
    const auto pixel = [](const Lens& l, const Eigen::Vector2d& m) {
      return picture_from_ideal(l,
                                {l.focal_x_px * m.x() + l.center_x_px, l.focal_y_px * m.y() + l.center_y_px});
    };
    const Eigen::Vector2d sensor = pixel(camera.lens, n), turned = pixel(upright->lens, {-n.y(), n.x()});
    CHECK(turned.x() == Approx(600 - 1 - sensor.y()).margin(1e-9));
    CHECK(turned.y() == Approx(sensor.x()).margin(1e-9));
  }
}
