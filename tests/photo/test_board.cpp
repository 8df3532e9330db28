// The chessboard found and its plane fitted, on rendered pictures of known geometry.
#include <catch2/catch.hpp>
#include <cmath>

#include "bench/board_scenes.hpp"
#include "picture_files.hpp"
#include "rondure/photo/board_plane.hpp"

using namespace rondure;
using namespace rondure::bench;

namespace {

Picture blank(int width, int height, std::uint8_t value) {
  Picture p;
  p.width_px = width, p.height_px = height;
  p.grey8.assign(static_cast<std::size_t>(width) * static_cast<std::size_t>(height), value);
  return p;
}

// A quiet scene: almost no noise, 16 bit, so that what is left is the method's own error.
BoardScene clean_scene(int number) {
  BoardScene s = random_scene({.number = number});
  s.scene.sensor = {};
  s.scene.bits = 16;
  s.scene.light.fall_x = s.scene.light.fall_y = 0;
  s.jpeg_quality = 0;
  return s;
}

double worst_corner_px(const BoardScene& s, const MeasuringPlane& plane) {
  double worst = 0;
  for (int i = -1; i <= 5; ++i)
    for (int j = -1; j <= 7; ++j) {
      const PixelPoint truth = s.scene.camera.project({5.0 * i, -5.0 * j, 0});
      const auto p = pixel_from_part(plane, {5.0 * i, -5.0 * j});
      worst = std::max(worst, std::hypot(p->x_px - truth.x_px, p->y_px - truth.y_px));
    }
  return worst;
}

CameraCalibration camera_of(const BoardScene& s) {
  CameraCalibration camera;
  camera.width_px = 1280, camera.height_px = 960;
  camera.lens = s.scene.camera.lens;
  return camera;
}

}  // namespace

TEST_CASE("board: every inner corner is found, to a fifth of a pixel, whichever way the board lies",
          "[photo][board]") {
  for (const double turn : {0.0, 30.0, 90.0, 200.0}) {
    render::Scene scene;
    const Lens lens{1500, 1500, 320, 240, {-0.1, 0, 0, 0, 0}};
    scene.camera = render::Camera::looking_at(640, 480, lens, {20, -12}, 260, 20, 70, turn);
    scene.board = render::Board{};
    scene.ground = scene.board->white;
    const auto board = find_board(render::as_picture(render::take_picture(scene)), {9, 6, 5});
    INFO("turned by " << turn);
    REQUIRE(board);
    CHECK(board->whole({9, 6, 5}));
    CHECK(board->corners.size() == 54);
    CHECK((board->border_left && board->border_right && board->border_top && board->border_bottom));
    for (const BoardCorner& c : board->corners) {
      double nearest = 1e9;
      for (int i = 0; i < 9; ++i)
        for (int j = 0; j < 6; ++j) {
          const PixelPoint p = scene.camera.project({5.0 * i, -5.0 * j, 0});
          nearest = std::min(nearest, std::hypot(p.x_px - c.at.x_px, p.y_px - c.at.y_px));
        }
      CHECK(nearest < 0.2);
    }
  }
}

TEST_CASE("board: clean pictures give the plane back to a few thousandths of a pixel", "[photo][board]") {
  for (const int number : {1, 2}) {
    const BoardScene s = clean_scene(number);
    const Picture picture = photograph(s.scene, 0);
    const auto plain = fit_board_plane(picture, s.size, {});
    REQUIRE(plain);
    CHECK(worst_corner_px(s, plain->plane) < 0.006);  // the renderer itself is exact to 0.001 px
    CHECK(std::abs(radius_error_px(s, plain->plane)) < 0.01);
    CHECK(std::abs(plain->growth_px) < 0.003);
    const auto posed = fit_board_plane(picture, s.size, camera_of(s));
    REQUIRE(posed);
    CHECK(worst_corner_px(s, posed->plane) < 0.004);
    CHECK(posed->tilt_deg > 1.5);
    CHECK(posed->plane.warnings.empty());
  }
}

TEST_CASE("board: a fifth of it covered or out of the picture still gives the plane", "[photo][board]") {
  int covered = 0, cut = 0;
  for (int number = 0; number < 3; ++number) {
    const BoardScene hidden = random_scene({.number = number, .hidden_share = 0.2});
    if (const auto fit =
            fit_board_plane(photograph(hidden.scene, hidden.jpeg_quality), hidden.size, camera_of(hidden)))
      covered += std::abs(radius_error_px(hidden, fit->plane)) < 0.05;
    const BoardScene half = random_scene({.number = number, .cut_share = 0.2});
    if (const auto fit =
            fit_board_plane(photograph(half.scene, half.jpeg_quality), half.size, camera_of(half)))
      cut += std::abs(radius_error_px(half, fit->plane)) < 0.05;
  }
  CHECK(covered == 3);
  CHECK(cut == 3);
}

TEST_CASE("board: with its middle covered it is found, counted rightly, and gives the plane",
          "[photo][board][covered][repeats]") {
  // 2026-11: where the patch left no nine corners that hang together (scenes 7 and 18 of those with a fifth
  // covered among them), no board was found.
  int number = 0;
  for (const SceneOptions& covered : {SceneOptions{.number = 7, .hidden_share = 0.2},
                                      {.number = 18, .hidden_share = 0.2},
                                      {.middle_share = 0.1},
                                      {.middle_share = 0.2},
                                      {.middle_share = 0.3},
                                      {.middle_share = 0.4},
                                      {.part_share = 0.1},
                                      {.part_share = 0.3},
                                      {.band_mm = 15},
                                      {.number = 5, .middle_share = 0.3}}) {
    SceneOptions o = covered;
    if (o.number == 0) o.number = ++number;
    const BoardScene s = random_scene(o);
    const auto fit = fit_board_plane(photograph(s.scene, s.jpeg_quality), s.size, camera_of(s));
    INFO("scene " << o.number << ", middle " << o.middle_share << ", part " << o.part_share << ", strip "
                  << o.band_mm);
    REQUIRE(fit);
    CHECK(fit->board.whole(s.size));
    CHECK(first_corner(s, fit->board).has_value());
    CHECK(std::abs(radius_error_px(s, fit->plane)) < 0.05);
    CHECK(fit->plane.board_squares->columns == 5);
  }
}

TEST_CASE("board: squares that cannot be counted are not guessed", "[photo][board][covered]") {
  // A strip that leaves one line of corners at either end: any number of rows between them fits.
  const BoardScene lines = random_scene({.number = 3, .band_mm = 25});
  const auto board = find_board(photograph(lines.scene, 0), lines.size);
  REQUIRE_FALSE(board);
  CHECK(board.error().code == ErrorCode::kNoBoard);
  CHECK(board.error().detail.find("found 5 + 5 corners in pieces") != std::string::npos);
  // Asked for another board than the one half covered: what is taken for a part of it is counted rightly all
  // the same.
  const BoardScene half = random_scene({.number = 3, .middle_share = 0.3});
  const Picture picture = photograph(half.scene, 0);
  REQUIRE(find_board(picture, {5, 7, 5}));
  for (const auto& [columns, rows] : {std::pair{5, 6}, {4, 7}, {5, 9}, {5, 8}, {7, 9}, {6, 7}})
    if (const auto other = find_board(picture, {columns, rows, 5})) {
      INFO("asked for " << columns << "x" << rows << ", got " << other->columns << "x" << other->rows);
      CHECK(other->columns <= std::max(columns, rows));
      CHECK(other->rows <= std::max(columns, rows));
      CHECK(first_corner(half, *other).has_value());
    }
}

TEST_CASE("board: ink spread is seen as growth and does not move the plane", "[photo][board]") {
  const BoardScene s = random_scene({.number = 3, .ink_mm = 0.03});
  const auto fit = fit_board_plane(photograph(s.scene, 0), s.size, camera_of(s));
  REQUIRE(fit);
  CHECK(fit->growth_px == Approx(0.03 * s.px_per_mm).margin(0.01));
  CHECK(std::abs(radius_error_px(s, fit->plane)) < 0.03);
  CHECK_FALSE(fit->plane.tone_known);
  CHECK(fit->plane.u_edge_offset_px > 0.1);  // could all be tone
  BoardPlaneOptions known;
  known.ink_mm = Estimate{0.03, 0.0005};
  const auto told = fit_board_plane(photograph(s.scene, 0), s.size, camera_of(s), known);
  REQUIRE(told);
  CHECK(told->plane.tone_known);
  CHECK(std::abs(told->plane.tone.gamma_shift) < 0.03);  // the picture is sRGB
  CHECK(told->plane.u_edge_offset_px < 0.03);
}

TEST_CASE("board: growth that changes over the board does not move the plane", "[photo][board][tone]") {
  // A camera curve that is not sRGB moves edges by their light, which falls off over the board. With one
  // growth for all edges, until 2026-11, the part beside the board of the first scene came out 0.025 px too
  // large.
  for (const auto& [number, kind] :
       {std::pair{3, render::CameraCurve::Kind::kSCurve}, {5, render::CameraCurve::Kind::kShoulder}}) {
    BoardScene s = random_scene({.number = number, .ink_mm = 0.015});
    s.scene.tone.kind = kind, s.scene.tone.parameter = 0.4;
    const auto fit = fit_board_plane(photograph(s.scene, 0), s.size, {});
    REQUIRE(fit);
    const double error_px = radius_error_px(s, fit->plane);
    const double u_px =
        u_from_plane(fit->plane, {PartPoint::from(s.part_center), s.part_radius_mm}).u_pose_mm / 2 *
        s.px_per_mm;
    INFO("scene " << number << ": " << error_px << " px, u " << u_px);
    CHECK(std::abs(error_px) < 0.015);
    CHECK(std::abs(error_px) < 2.5 * u_px);
  }
}

TEST_CASE("board: squares that print or light made too small or too large are found", "[photo][board]") {
  // 2026-11: with gaps of a pixel between the black squares' corners no board was found.
  for (const double ink_mm : {-0.06, 0.06}) {
    const BoardScene s = random_scene({.number = 151, .ink_mm = ink_mm});
    const auto board = find_board(photograph(s.scene, 0), s.size);
    INFO("ink " << ink_mm);
    REQUIRE(board);
    CHECK(board->corners.size() == 35);
    const auto fit = fit_board_plane(photograph(s.scene, 0), s.size, {});
    REQUIRE(fit);
    CHECK(fit->growth_px == Approx(ink_mm * s.px_per_mm).margin(0.02));
  }
}

TEST_CASE("board: another camera curve is learned from the board when its ink is known",
          "[photo][board][tone]") {
  BoardScene s = random_scene({.number = 5, .ink_mm = 0.02});
  s.scene.tone.kind = render::CameraCurve::Kind::kGamma;
  s.scene.tone.parameter = 1.8;
  BoardPlaneOptions known;
  known.ink_mm = Estimate{0.02, 0.0005};
  const auto fit = fit_board_plane(photograph(s.scene, 0), s.size, camera_of(s), known);
  REQUIRE(fit);
  CHECK(fit->plane.tone_known);
  // Over the board's range sRGB is like a power of 2.1 to 2.25; 1.8 is about (1 + g) times that.
  CHECK(fit->plane.tone.gamma_shift == Approx(1.8 / 2.17 - 1).margin(0.05));
}

TEST_CASE("board: the lens that is missing is noticed", "[photo][board]") {
  const BoardScene s = random_scene({.number = 2, .k1 = -0.25});
  const auto fit = fit_board_plane(photograph(s.scene, 0), s.size, {});
  REQUIRE(fit);
  REQUIRE(fit->plane.warnings.size() == 1);
  CHECK(fit->plane.warnings[0].code == WarningCode("lens-not-calibrated"));
}

TEST_CASE("board: what a missing lens does to a size beside the board is in its uncertainty",
          "[photo][board][repeats]") {
  int beyond_without = 0;
  for (const int number : {1, 2, 3, 4})
    for (const double k1 : {-0.25, 0.15}) {
      const BoardScene s = random_scene({.number = number, .k1 = k1});
      const auto fit = fit_board_plane(photograph(s.scene, 0), s.size, {});
      REQUIRE(fit);
      INFO("scene " << number << ", k1 " << k1 << ", residual " << fit->rms_px << " px, chi " << fit->chi);
      CHECK(fit->plane.bent);
      const Circle circle{{38, -14}, 6};
      double diameter = 0;
      for (int i = 0; i < 48; ++i) {
        const double a = 2 * kPi * i / 48;
        const auto seen = part_from_pixel(
            fit->plane, s.scene.camera.project({38 + 6 * std::cos(a), -14 + 6 * std::sin(a), 0}));
        REQUIRE(seen);
        diameter += 2 * ((seen->x_mm - 38) * std::cos(a) + (seen->y_mm + 14) * std::sin(a)) / 48;
      }
      const double error = std::abs(diameter - 12);
      CHECK(error < 2 * u_from_plane(fit->plane, circle).u_pose_mm);
      MeasuringPlane trusting = fit->plane;
      trusting.bent.reset();
      beyond_without += error > 3 * u_from_plane(trusting, circle).u_pose_mm;
    }
  CHECK(beyond_without >= 6);  // of 8: the covariance of the plane alone does not know
}

TEST_CASE("board: what is no board, or another board, is refused by name", "[photo][board]") {
  CHECK(find_board(blank(640, 480, 200), {9, 6, 5}).error().code == ErrorCode::kNoBoard);
  CHECK(find_board(blank(3, 2, 200), {9, 6, 5}).error().code == ErrorCode::kNoBoard);
  const BoardScene s = random_scene({.number = 4});
  const Picture picture = photograph(s.scene, 0);
  const auto other = find_board(picture, {9, 6, 5});
  REQUIRE_FALSE(other);
  CHECK(other.error().code == ErrorCode::kBoardMismatch);
  CHECK(other.error().detail.find("found 5x7") != std::string::npos);
  CHECK(find_board(picture, {7, 5, 5}));  // turned by a quarter it is the same board
  CHECK(find_board(picture, {4, 6, 5}).error().code == ErrorCode::kBoardMismatch);
  CHECK(parse_board_size("9x6", 5)->columns == 9);
  for (const char* text : {"9", "9x", "x6", "9x6x2", "2x6", "9x6000", "nine by six", ""})
    CHECK(parse_board_size(text, 5).error().code == ErrorCode::kBadArgument);
  CHECK_FALSE(parse_board_size("9x6", 0));
  CHECK_FALSE(parse_board_size("9x6", -5));
}
