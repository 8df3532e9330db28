// Rendered pictures as a camera's raw files.
#pragma once
#include <array>
#include <cstdint>
#include <vector>

#include "render/scene.hpp"

namespace rondure::render {

struct RawOptions {
  bool mosaic =
      true;  // one colour a pixel (red green / green blue); otherwise all three of each (linear raw)
  std::array<double, 3> neutral = {0.5, 1, 0.625};  // what grey reads
  int orientation = 1, focal_35mm_mm = 0;           // EXIF; 0 = not said
};
// A DNG 1.4: 14 bits above a black level, uncompressed, each colour as weak as `neutral` says. The image holds linear light
// of 16 bits in three channels.
std::vector<std::uint8_t> dng_bytes(const Image& image, const RawOptions& options = {});

}  // namespace rondure::render
