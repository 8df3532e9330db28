#include "side_notes.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace rondure {
namespace {

constexpr double kUsualDistance_mm = 300;

template <class... Values>
std::string words(const char* format, Values... values) {
  char buffer[240];
  std::snprintf(buffer, sizeof buffer, format, values...);
  return buffer;
}

}  // namespace

std::optional<Warning> tilt_note(const std::optional<Estimate>& tilt_rad) {
  if (!tilt_rad || std::abs(tilt_rad->value) < std::max(rad(0.2), 3 * tilt_rad->u)) return std::nullopt;
  return Warning{"axis-tilted",
                 words("the axis is tilted by %.2f deg, %s end towards the camera: allowed for",
                       deg(std::abs(tilt_rad->value)), tilt_rad->value > 0 ? "right" : "left")};
}

Warning distance_note(double largest_radius_mm) {
  return {
      "distance-unknown",
      words("taken as seen from far away: from %.0f mm diameters would read %.4f mm too large and ends would "
            "bow; tell how far the camera stood from the axis with --distance",
            kUsualDistance_mm, largest_radius_mm * std::pow(largest_radius_mm / kUsualDistance_mm, 2))};
}

}  // namespace rondure
