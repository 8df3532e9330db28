// From light to the numbers of a picture, for light that came from elsewhere than `render_light`.
#pragma once
#include <vector>

#include "render/scene.hpp"

namespace rondure::render {

// `light`: row by row, channels together, 1 = full scale. Noise, clipping, tone curve, sharpening, rounding.
Image expose(std::vector<float> light, int width_px, int height_px, int channels, int bits,
             const Sensor& sensor, const CameraCurve& tone);

}  // namespace rondure::render
