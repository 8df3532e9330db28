// The board in the picture and the part's own sharpness tell the camera's tone curve.
#include <catch2/catch.hpp>
#include <cmath>
#include <optional>

#include "bench/board_scenes.hpp"
#include "photo/tone/tone_evidence.hpp"
#include "rondure/fit/circle_fit.hpp"
#include "rondure/photo/round_edges.hpp"

using namespace rondure;
using render::CameraCurve;
using Kind = CameraCurve::Kind;

namespace {

struct Reading {
  double error_px = 0, u_px = 0;
};

// A part beside a board, camera known; the ink spread (none) known or not.
Reading radius_read(int number, const CameraCurve& curve, bool ink_known) {
  const bench::BoardScene s = bench::random_scene({.number = number, .curve = curve});
  const Picture picture = bench::photograph(s.scene, s.jpeg_quality);
  CameraCalibration camera;
  camera.width_px = picture.width_px, camera.height_px = picture.height_px;
  camera.lens = s.scene.camera.lens;
  const double u = 1e-4 * camera.lens.focal_x_px;
  camera.covariance.topLeftCorner<2, 2>().setConstant(u * u);
  if (ink_known) camera.ink_mm = Estimate{0, 3e-4};
  const auto plane = plane_from_board(picture, s.size, camera);
  REQUIRE(plane);
  EdgeOptions options;
  options.near = s.scene.camera.project({s.part_center.x(), s.part_center.y(), 0});
  const auto edges = find_round_edges(picture, *plane, options);
  REQUIRE(edges);
  const RoundEdge& edge = edges->front();
  std::vector<PartPoint> points;
  std::vector<double> sigmas;
  for (const MeasuredPoint& p : edge.points) points.push_back(p.at), sigmas.push_back(p.sigma_mm);
  const double radius_mm = fit_circle(points, sigmas)->circle.radius_mm;
  return {(radius_mm - s.part_radius_mm) * s.px_per_mm, edge.u_edge_offset_mm * edge.px_per_mm};
}

}  // namespace

TEST_CASE("tone: with the ink known, unknown camera curves leave 0.05 px at most", "[photo][tone][repeats]") {
  // As sRGB these stand 0.04 to 0.6 px off.
  const CameraCurve curves[] = {
      {Kind::kGamma, 1.8}, {Kind::kGamma, 2.6}, {Kind::kSCurve, 0.6}, {Kind::kShoulder}};
  for (const CameraCurve& curve : curves)
    for (const int number : {0, 3}) {
      INFO("curve " << static_cast<int>(curve.kind) << " " << curve.parameter << ", scene " << number);
      const Reading r = radius_read(number, curve, true);
      CHECK(std::abs(r.error_px) < 0.05);
      CHECK(std::abs(r.error_px) < 2 * r.u_px + 0.01);  // 0.01: noise of edge and board
    }
}

TEST_CASE("tone: an sRGB picture is left alone, and its edge said to be known", "[photo][tone][repeats]") {
  for (const int number : {0, 2, 3}) {
    INFO("scene " << number);
    const Reading r = radius_read(number, {}, true);
    CHECK(std::abs(r.error_px) < 0.007);
    CHECK(r.u_px < 0.01);
    CHECK(radius_read(number, {}, false).u_px > 1.5 * r.u_px);  // a weak gamma may pass for ink
  }
}

TEST_CASE("tone: a shoulder does not pass for ink", "[photo][tone]") {
  // The board's growth alone, -0.3 to -0.6 px here, could be ink that has not taken: then the part would be
  // 0.1 to 0.4 px too small. Its skew cannot.
  for (const int number : {0, 3}) {
    INFO("scene " << number);
    const Reading r = radius_read(number, {Kind::kShoulder}, false);
    CHECK(std::abs(r.error_px) < 0.1);
    CHECK(std::abs(r.error_px) < 2 * r.u_px);
  }
}

TEST_CASE("tone: where two curves are about as likely the edge's place does not jump", "[photo][tone]") {
  // A board's growth that runs from none to a tenth of a pixel, by steps that move an edge little.
  constexpr double kStep_px = 0.0005;
  BoardEdges board{0.05, 0.7, 1.1, 0, 0.002, 12, Estimate{0, 3e-4}};
  board.u_skew = 0.002;
  const PartEdge part{{}, {0.08, 0.6, 1.1}, 0.004};
  double largest_px = 0, of_heaviest_px = 0;
  std::optional<ToneFinding> last;
  for (board.growth_px = 0; board.growth_px < 0.1; board.growth_px += kStep_px) {
    const ToneFinding here = weigh_tone_curves({}, board, part, 0);
    if (last) {
      largest_px =
          std::max(largest_px, std::abs(here.moved_px + here.beyond_px - last->moved_px - last->beyond_px));
      of_heaviest_px = std::max(of_heaviest_px, std::abs(here.moved_px - last->moved_px));
    }
    last = here;
  }
  CHECK(of_heaviest_px > 0.008);  // the heaviest curve alone
  CHECK(largest_px < 3 * kStep_px);
}
