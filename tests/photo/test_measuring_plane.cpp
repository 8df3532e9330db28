#include <Eigen/Geometry>
#include <Eigen/LU>
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "render/scene.hpp"
#include "rondure/photo/measuring_plane.hpp"

using namespace rondure;

namespace {

const Lens kLens{3000, 3010, 652.3, 471.9, {-0.18, 0.09, 0.0007, -0.0004, 0.02}};

render::Camera tilted(const Lens& lens, double tilt_deg = 12) {
  return render::Camera::looking_at(1280, 960, lens, {20, -12}, 260, tilt_deg, 200, 5);
}

// The plane that belongs to a camera: K [r1 r2 t].
MeasuringPlane plane_of(const render::Camera& camera, bool with_lens = true) {
  MeasuringPlane plane;
  plane.width_px = camera.width_px, plane.height_px = camera.height_px;
  if (with_lens) plane.lens = camera.lens;
  Eigen::Matrix3d k, m;
  k << camera.lens.focal_x_px, 0, camera.lens.center_x_px, 0, camera.lens.focal_y_px, camera.lens.center_y_px,
      0, 0, 1;
  m << camera.rotation.col(0), camera.rotation.col(1), camera.translation_mm;
  plane.ideal_from_part = k * m;
  plane.ideal_from_part /= plane.ideal_from_part(2, 2);
  plane.ideal_from_board = plane.ideal_from_part;
  return plane;
}

}  // namespace

TEST_CASE("measuring plane: agrees with the renderer's camera and is its own inverse", "[photo][plane]") {
  const auto camera = tilted(kLens);
  const MeasuringPlane plane = plane_of(camera);
  std::mt19937 random(5);
  std::uniform_real_distribution<double> x(-15, 55), y(-40, 15);
  for (int i = 0; i < 500; ++i) {
    const PartPoint part{x(random), y(random)};
    const auto pixel = pixel_from_part(plane, part);
    REQUIRE(pixel);
    const PixelPoint truth = camera.project({part.x_mm, part.y_mm, 0});
    CHECK(std::hypot(pixel->x_px - truth.x_px, pixel->y_px - truth.y_px) < 1e-9);
    const auto back = part_from_pixel(plane, *pixel);
    REQUIRE(back);
    CHECK((back->vec() - part.vec()).norm() < 1e-10);
  }
}

TEST_CASE("measuring plane: derivatives agree with differences", "[photo][plane]") {
  const MeasuringPlane plane = plane_of(tilted(kLens));
  const double h = 1e-4;
  for (const PixelPoint p : {PixelPoint{100, 80}, PixelPoint{640, 480}, PixelPoint{1200, 900}}) {
    const auto slope = part_per_pixel(plane, p);
    REQUIRE(slope);
    const Eigen::Vector2d dx = (part_from_pixel(plane, {p.x_px + h, p.y_px})->vec() -
                                part_from_pixel(plane, {p.x_px - h, p.y_px})->vec()) /
                               (2 * h);
    const Eigen::Vector2d dy = (part_from_pixel(plane, {p.x_px, p.y_px + h})->vec() -
                                part_from_pixel(plane, {p.x_px, p.y_px - h})->vec()) /
                               (2 * h);
    CHECK((slope->col(0) - dx).norm() < 1e-8);
    CHECK((slope->col(1) - dy).norm() < 1e-8);
    const auto forward = pixel_per_part(plane, *part_from_pixel(plane, p));
    CHECK(((*forward) * (*slope) - Eigen::Matrix2d::Identity()).norm() < 1e-10);
  }
}

TEST_CASE("measuring plane: a lens that folds over is refused there", "[photo][plane]") {
  const Lens strong{600, 600, 320, 240, {-0.5, 0, 0, 0, 0}};
  CHECK(ideal_from_picture(strong, {330, 250}));
  CHECK(ideal_from_picture(strong, {320 + 600 * 0.9, 240}).error().code == ErrorCode::kBadCalibration);
}

TEST_CASE("measuring plane: a raised edge is read where it stands", "[photo][plane]") {
  const auto camera = tilted(kLens);
  for (const double height : {-2.0, 3.0, 8.0}) {
    const auto raised = at_height(plane_of(camera), height, 0.1);
    REQUIRE(raised);
    const PixelPoint pixel = camera.project({31, -7, height});
    const auto part = part_from_pixel(*raised, pixel);
    REQUIRE(part);
    CHECK(part->x_mm == Approx(31).margin(1e-8));
    CHECK(part->y_mm == Approx(-7).margin(1e-8));
  }
}

TEST_CASE("measuring plane: height without a lens takes the focal length from the tilt, or says it cannot",
          "[photo][plane]") {
  const Lens centred{3000, 3000, 639.5, 479.5, {}};
  MeasuringPlane steep = plane_of(tilted(centred, 25), false);
  CHECK_FALSE(at_height(steep, 3, 0.1));  // no covariance: nobody knows how good its tilt is
  steep.covariance = Eigen::MatrixXd::Zero(8, 8);
  steep.covariance.diagonal() << 1e-6, 1e-6, 1e-4, 1e-6, 1e-6, 1e-4, 1e-14, 1e-14;
  const auto raised = at_height(steep, 3, 0.1);
  REQUIRE(raised);
  const PixelPoint pixel = tilted(centred, 25).project({31, -7, 3});
  CHECK(part_from_pixel(*raised, pixel)->x_mm == Approx(31).margin(1e-6));
  MeasuringPlane square_on = plane_of(tilted(centred, 0.2), false);
  square_on.covariance = steep.covariance;
  square_on.covariance(6, 6) = square_on.covariance(7, 7) = 1e-10;
  const auto refused = at_height(square_on, 3, 0.1);
  REQUIRE_FALSE(refused);
  CHECK(refused.error().code == ErrorCode::kBadCalibration);
  CHECK(at_height(square_on, 3, 0.1, FocalHint{3000, 0.05}));
  CHECK_FALSE(at_height(plane_of_scale(100, 100, 20, 0.01), 3, 0.1));
}

TEST_CASE("measuring plane: its uncertainty is that of repeated planes", "[photo][plane]") {
  MeasuringPlane plane = plane_of(tilted(kLens));
  const Circle circle{{45, -10}, 8};
  const PlaneUncertainty none = u_from_plane(plane, circle);
  CHECK(none.u_pose_mm == 0);
  CHECK(none.total_mm() == 0);
  // Only h11 uncertain: the diameter moves by half of what x does (mean over the circle).
  plane.covariance = Eigen::MatrixXd::Zero(17, 17);
  const double u_h11 = 1e-3;
  plane.covariance(0, 0) = u_h11 * u_h11;
  const PlaneUncertainty u = u_from_plane(plane, circle);
  double sum = 0;
  MeasuringPlane other = plane;
  other.ideal_from_part(0, 0) += u_h11;
  for (int i = 0; i < 90; ++i) {
    const double a = 2 * kPi * i / 90;
    const auto p = pixel_from_part(plane, {45 + 8 * std::cos(a), -10 + 8 * std::sin(a)});
    const auto q = part_from_pixel(other, *p);
    sum += 2 * (Eigen::Vector2d(std::cos(a), std::sin(a)).dot(q->vec() - circle.center.vec()) - 8) / 90;
  }
  CHECK(u.u_pose_mm == Approx(std::abs(sum)).epsilon(0.01));
  plane.u_scale_ratio = 0.001;
  plane.u_edge_offset_px = 0.1;
  const PlaneUncertainty all = u_from_plane(plane, circle);
  CHECK(all.u_scale_mm == Approx(0.016));
  const double px_per_mm = std::sqrt(std::abs(pixel_per_part(plane, circle.center)->determinant()));
  CHECK(all.u_edge_offset_mm == Approx(0.2 / px_per_mm));
  auto raised = at_height(plane, 2, 0.3);
  REQUIRE(raised);
  CHECK(u_from_plane(*raised, circle).u_height_mm == Approx(16 * 0.3 / 258).epsilon(0.05));  // D u(h) / Z
}
