// Calibration files of a camera, a plane or a scale: whatever is accepted is written again as the same file,
// and takes a pixel to a finite place or says that it cannot.
#include <cmath>
#include <cstdint>
#include <string>

#include "must.hpp"
#include "rondure/photo/calibration.hpp"

using namespace rondure;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto calibration = parse_calibration(std::string(reinterpret_cast<const char*>(data), size));
  if (!calibration) {
    must(!calibration.error().detail.empty() &&
         calibration.error().message().find('\n') == std::string::npos);
    return 0;
  }
  must(calibration->camera.has_value() != calibration->plane.has_value());
  const std::string written = to_json(*calibration);
  const auto again = parse_calibration(written);
  must(again && to_json(*again) == written);
  if (calibration->plane)
    if (const auto part = part_from_pixel(*calibration->plane, {10, 20}))
      must(std::isfinite(part->x_mm) && std::isfinite(part->y_mm));
  return 0;
}
