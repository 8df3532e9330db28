#include "photo/solid/part_light.hpp"

#include <algorithm>
#include <cmath>

#include "rondure/core/geometry.hpp"
#include "rondure/core/median.hpp"

namespace rondure {
namespace {

constexpr double kBeside_ratio = 1.3;  // of the outside's radius: ground beside the part
// Of the 720 places (four rings of 180) at the face's rim: with fewer in the picture, its light is not known;
// by judgement.
constexpr std::size_t kLeastFaceLights = 100;

}  // namespace

std::optional<double> PartLight::at(const Eigen::Vector2d& place) const {
  const auto px = pixel_from_part(board_, PartPoint::from(place));
  if (!px) return {};
  const double x = std::round(px->x_px), y = std::round(px->y_px);
  if (!(x >= 0 && y >= 0 && x < picture_.width_px && y < picture_.height_px)) return {};
  return table_[static_cast<std::size_t>(picture_.at(static_cast<int>(x), static_cast<int>(y)))];
}

std::optional<double> PartLight::of_face() const {
  std::vector<double> lights;
  const double s = camera_.scale_at(part_.face_mm);
  const Eigen::Vector2d c = camera_.seen_at(part_.center, part_.face_mm);
  const double outer = std::max(0.75 * part_.radius_mm, part_.radius_mm - 1.0), inner = 0.85 * outer;
  for (int ring = 0; ring < 4; ++ring)
    for (int k = 0; k < 180; ++k) {
      const double r = s * (inner + (outer - inner) * ring / 3), a = 2 * kPi * k / 180;
      if (const auto l = at(c + r * Eigen::Vector2d(std::cos(a), std::sin(a)))) lights.push_back(*l);
    }
  if (lights.size() < kLeastFaceLights) return {};
  const double light = median(lights);
  return light > 0 ? std::optional(light) : std::nullopt;
}

double PartLight::beside() const {
  std::vector<double> beside;
  const double r = kBeside_ratio * camera_.scale_at(part_.face_mm) * part_.radius_mm;
  const Eigen::Vector2d middle = camera_.seen_at(part_.center, 0.5 * part_.face_mm);
  for (int k = 0; k < 180; ++k)
    if (const auto l = at(middle + r * Eigen::Vector2d(std::cos(rad(2 * k)), std::sin(rad(2 * k)))))
      beside.push_back(*l);
  return beside.empty() ? 0 : median(std::move(beside));
}

}  // namespace rondure
