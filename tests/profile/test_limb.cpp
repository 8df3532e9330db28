// The outline of a solid from a finite distance: closed forms, and a rim traced point by point.
#include <catch2/catch.hpp>
#include <cmath>

#include "rondure/profile/limb.hpp"

using namespace rondure;

namespace {

// Where a point of the solid is seen in the plane through the axis.
Eigen::Vector2d seen(const Eigen::Vector3d& p, const Eigen::Vector3d& camera) {
  return (camera + (p - camera) * camera.z() / (camera.z() - p.z())).head<2>();
}

}  // namespace

TEST_CASE("a cylinder's limb is wider than the part by 1 / sqrt(1 - (R/H)^2)", "[profile][limb]") {
  // The tangent from a point at distance H to a circle of radius R: half angle asin(R / H) (Euclid, Elements III 17-18).
  for (const double R : {2.0, 6.0, 20.0})
    for (const double H : {60.0, 150.0, 400.0}) {
      const double Y = R / std::sqrt(1 - R * R / (H * H));
      CHECK(std::abs(Y - H * std::tan(std::asin(R / H))) < 1e-12);
      for (const double x : {-5.0, 0.0, 12.0}) {
        const Eigen::Vector2d body = surface_from_outline({x, Y}, {0, 1}, {3, 0, H});
        CHECK(std::abs(body.y() - R) < 1e-12);
        // The limb lies R^2/H above the plane: seen from the side it is nearer to the camera's foot.
        CHECK(std::abs(body.x() - (x + (3 - x) * R * R / (H * H))) < 1e-12);
        CHECK(std::abs(surface_from_outline({x, -Y}, {0, -1}, {3, 0, H}).y() + R) < 1e-12);
      }
    }
}

TEST_CASE("a cylinder seen from off its axis: both limbs give the same radius", "[profile][limb]") {
  const double R = 6, H = 200, Y0 = 15;
  const double to_axis = std::atan2(Y0, H), half = std::asin(R / std::hypot(Y0, H));
  for (const double sign : {-1.0, 1.0}) {
    const double Y = Y0 - H * std::tan(to_axis + sign * half);
    const Eigen::Vector2d body = surface_from_outline({1, Y}, {0, -sign}, {0, Y0, H});
    CHECK(std::abs(std::abs(body.y()) - R) < 1e-12);
  }
}

TEST_CASE("a sphere's outline under the camera is a circle of R / sqrt(1 - (R/H)^2)", "[profile][limb]") {
  const double R = 5, H = 80, seen_radius = R / std::sqrt(1 - R * R / (H * H));
  for (double a = 0.1; a < 1.5; a += 0.2) {
    const Eigen::Vector2d n(std::cos(a), std::sin(a));
    const Eigen::Vector2d body = surface_from_outline(seen_radius * n, n, {0, 0, H});
    CHECK(std::abs(body.norm() - R) < 1e-12);  // on the meridian of the sphere
  }
}

TEST_CASE("the rim of a face, traced point by point, comes back straight", "[profile][limb]") {
  const Eigen::Vector3d camera(1, 4, 150);
  for (const double x : {-9.0, 7.0})
    for (const double looks : {-1.0, 1.0}) {
      const double R = 6, side = looks * (x - camera.x()) > 0 ? 1 : -1;
      for (double y = -5; y <= 5; y += 1) {
        const Eigen::Vector3d p(x, y, side * std::sqrt(R * R - y * y));
        const Eigen::Vector2d body = face_from_outline(seen(p, camera), looks, R, camera);
        CHECK(std::abs(body.x() - x) < 1e-9);
        CHECK(std::abs(body.y() - y) < 1e-9);
      }
    }
}

TEST_CASE("a cone's limb is where the line of sight grazes it", "[profile][limb]") {
  // Brute force: of all points round the cone at x the one whose tangent plane holds the camera.
  const Eigen::Vector3d camera(-2, 3, 120);
  const double slope = 0.3, r0 = 4;
  for (const double x : {-3.0, 1.0, 5.0}) {
    const double r = r0 + slope * x;
    const auto off = [&](double phi) {
      const Eigen::Vector3d p(x, r * std::cos(phi), r * std::sin(phi)),
          n(-slope, std::cos(phi), std::sin(phi));
      return n.dot(camera - p);
    };
    double lo = -0.5, hi = 1.2;
    REQUIRE(off(lo) * off(hi) < 0);
    for (int k = 0; k < 80; ++k) (off(lo) * off(0.5 * (lo + hi)) <= 0 ? hi : lo) = 0.5 * (lo + hi);
    const Eigen::Vector3d p(x, r * std::cos(lo), r * std::sin(lo));
    // The limb is a straight line of the cone: its image from two of its points.
    const double r2 = r0 + slope * (x + 1);
    const Eigen::Vector3d q(x + 1, r2 * std::cos(lo), r2 * std::sin(lo));
    const Eigen::Vector2d a = seen(p, camera), along = (seen(q, camera) - a).normalized();
    const Eigen::Vector2d body = surface_from_outline(a, {-along.y(), along.x()}, camera);
    CHECK(std::abs(body.x() - x) < 1e-9);
    CHECK(std::abs(body.y() - r) < 1e-9);
  }
}
