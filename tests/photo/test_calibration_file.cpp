#include <catch2/catch.hpp>
#include <random>

#include "picture_files.hpp"
#include "rondure/photo/calibration.hpp"

using namespace rondure;

namespace {

Calibration camera_file() {
  Calibration c;
  c.kind = CalibrationKind::kCamera;
  c.when = "2026-01-02T03:04:05Z";
  c.made_from = {{"a.jpg", "00ff"}, {"b.jpg", "11ee"}};
  c.board = BoardSize{9, 6, 5};
  CameraCalibration camera;
  camera.width_px = 1600, camera.height_px = 1200, camera.make = "Bench", camera.model = "One",
  camera.orientation = 6;
  camera.lens = {3402.25, 3402.25, 811.4, 593.7, {-0.12, 0.06, 0.0004, -0.0003, 0}};
  camera.covariance.diagonal().setConstant(1e-4);
  camera.covariance(0, 1) = camera.covariance(1, 0) = 1e-4;
  camera.ink_mm = Estimate{0.02, 0.0004};
  camera.tone.gamma_shift = 0.03, camera.tone_known = true;
  c.camera = camera;
  c.views = {{"a.jpg", true, "", 0.005, 12, 17, 0.8, 0.3, 140, 138, 200}, {"b.jpg", false, "no board"}};
  c.rms_px = 0.005, c.chi = 1.2;
  c.warnings = {{"view-left-out", "b.jpg is left out"}};
  return c;
}

Calibration plane_file(bool with_lens) {
  Calibration c;
  c.kind = CalibrationKind::kPlane;
  MeasuringPlane plane;
  plane.width_px = 640, plane.height_px = 480;
  if (with_lens) plane.lens = Lens{3402.25, 3402.25, 811.4, 593.7, {-0.12, 0.06, 0.0004, -0.0003, 0}};
  plane.ideal_from_board << 20, 0.1, 300, -0.2, -19.5, 240, 1e-4, -2e-4, 1;
  plane.ideal_from_part = plane.ideal_from_board;
  plane.covariance = Eigen::MatrixXd::Identity(with_lens ? 17 : 8, with_lens ? 17 : 8) * 1e-8;
  plane.u_scale_ratio = 0.001, plane.u_edge_offset_px = 0.016, plane.board_blur_px = 0.9;
  plane.tone.s_bend = 0.2, plane.tone_known = true;
  plane.outline = {{1, 2}, {3, 4}};
  plane.description = "chessboard";
  if (!with_lens) {
    MeasuringPlane bent = plane;
    bent.lens = Lens{3000, 3000, 320, 240, {-0.1, 0, 0, 0, 0}};
    bent.covariance = Eigen::MatrixXd::Identity(17, 17) * 1e-7;
    plane.bent = std::make_shared<const MeasuringPlane>(bent);
  }
  c.plane = plane;
  c.model = "One";
  return c;
}

}  // namespace

TEST_CASE("calibration file: a camera comes back as it was written", "[photo][calibration]") {
  const Calibration c = camera_file();
  const auto back = parse_calibration(to_json(c));
  REQUIRE(back);
  REQUIRE(back->camera);
  CHECK(back->camera->lens.focal_x_px == 3402.25);
  CHECK(back->camera->lens.distortion == c.camera->lens.distortion);
  CHECK(back->camera->covariance == c.camera->covariance);
  CHECK(back->camera->ink_mm->value == 0.02);
  CHECK(back->camera->tone.gamma_shift == 0.03);
  CHECK(back->camera->orientation == 6);
  CHECK(back->camera->model == "One");
  CHECK(back->made_from[1].sha256 == "11ee");
  CHECK(back->when == c.when);
  CHECK(back->board->columns == 9);
  CHECK(to_json(c).find("\"left_out\": \"no board\"") != std::string::npos);
}

TEST_CASE("calibration file: a plane comes back as it was written, and fits its own pictures only",
          "[photo][calibration]") {
  for (const bool lens : {false, true}) {
    const Calibration c = plane_file(lens);
    const auto back = parse_calibration(to_json(c));
    REQUIRE(back);
    REQUIRE(back->plane);
    CHECK(back->plane->ideal_from_board == c.plane->ideal_from_board);
    REQUIRE(bool(back->plane->bent) == !lens);
    if (!lens) {
      CHECK(back->plane->bent->ideal_from_board == c.plane->bent->ideal_from_board);
      CHECK(back->plane->bent->lens->distortion == c.plane->bent->lens->distortion);
      CHECK(back->plane->bent->covariance == c.plane->bent->covariance);
    }
    CHECK(back->plane->covariance == c.plane->covariance);
    CHECK(back->plane->lens.has_value() == lens);
    CHECK(back->plane->tone.s_bend == 0.2);
    CHECK(back->plane->u_edge_offset_px == 0.016);
    CHECK(back->plane->outline.size() == 2);
    Picture picture;
    picture.width_px = 640, picture.height_px = 480;
    CHECK(plane_for(*back, picture));
    picture.model = "Two";
    CHECK(plane_for(*back, picture).error().code == ErrorCode::kCalibrationMismatch);
    picture.model.clear();
    picture.width_px = 480;
    CHECK(plane_for(*back, picture).error().code == ErrorCode::kCalibrationMismatch);
  }
  Picture any;
  CHECK(plane_for(camera_file(), any).error().code == ErrorCode::kBadCalibration);
}

TEST_CASE("calibration file: damage is refused with what and where", "[photo][calibration]") {
  const std::string good = to_json(camera_file());
  const auto with = [&](const std::string& from, const std::string& to) {
    std::string text = good;
    const auto at = text.find(from);
    REQUIRE(at != std::string::npos);
    return text.replace(at, from.size(), to);
  };
  const auto refusal = [](const std::string& text) {
    const auto result = parse_calibration(text);
    REQUIRE_FALSE(result);
    return result.error();
  };
  CHECK(refusal("").code == ErrorCode::kFileDamaged);
  CHECK(refusal(good.substr(0, good.size() / 2)).detail.find("line") != std::string::npos);
  CHECK(refusal("{}").detail.find("rondure-calibration") != std::string::npos);
  CHECK(refusal(with("\"version\": 1", "\"version\": 2")).detail.find("version 2") != std::string::npos);
  CHECK(refusal(with("\"kind\": \"camera\"", "\"kind\": \"stage\"")).code == ErrorCode::kBadCalibration);
  CHECK(refusal(with("\"focal_x_px\": 3402.25", "\"focal_x_px\": -1")).detail.find("focal_x_px") !=
        std::string::npos);
  CHECK(refusal(with("\"focal_x_px\": 3402.25", "\"focal_x_px\": \"long\"")).detail.find("focal_x_px") !=
        std::string::npos);
  CHECK(refusal(with("\"k1\":", "\"q1\":")).detail.find("k1") != std::string::npos);
  CHECK(refusal(with("\"width_px\": 1600", "\"width_px\": 1e300")).code == ErrorCode::kFileDamaged);
  const test::ScratchFolder folder;
  CHECK(load_calibration(folder.file("none.json")).error().code == ErrorCode::kFileMissing);
  CHECK(load_calibration(folder.file("")).error().code == ErrorCode::kFileUnreadable);
  const std::string name = folder.write("cam.json", {good.begin(), good.end()});
  CHECK(load_calibration(name));
  std::mt19937 random(7);
  for (int trial = 0; trial < 400; ++trial) {  // never a crash, never a NaN
    std::string text = good;
    for (int k = 0; k < 3; ++k) text[random() % text.size()] = static_cast<char>(32 + random() % 95);
    if (const auto result = parse_calibration(text); result && result->camera)
      CHECK(result->camera->covariance.allFinite());
  }
}
