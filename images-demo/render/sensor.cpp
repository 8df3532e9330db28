// From light to the numbers of a picture: noise, clipping, tone curve, sharpening, rounding.
#include "render/sensor.hpp"

#include <algorithm>
#include <cmath>

namespace rondure::render {
namespace {

// splitmix64 (Steele, Lea, Flood 2014) and Box-Muller: the same picture from the same seed on every machine.
class Noise {
public:
  explicit Noise(std::uint64_t seed) : state_(seed) {}
  double normal() {
    if (has_spare_) return has_spare_ = false, spare_;
    const double r = std::sqrt(-2 * std::log(uniform())), a = 2 * kPi * uniform();
    spare_ = r * std::sin(a);
    has_spare_ = true;
    return r * std::cos(a);
  }

private:
  double uniform() {  // (0, 1)
    std::uint64_t z = (state_ += 0x9e3779b97f4a7c15ull);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ull;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebull;
    return (static_cast<double>((z ^ (z >> 31)) >> 11) + 0.5) * 0x1.0p-53;
  }
  std::uint64_t state_;
  double spare_ = 0;
  bool has_spare_ = false;
};

// value + share (value - Gaussian blur of it, sigma 1 px).
void sharpen(std::vector<float>& values, int width, int height, int channels, double share) {
  constexpr int kReach = 4;
  double kernel[2 * kReach + 1], sum = 0;
  for (int n = -kReach; n <= kReach; ++n) sum += kernel[n + kReach] = std::exp(-0.5 * n * n);
  for (double& k : kernel) k /= sum;
  std::vector<float> across(values.size()), blurred(values.size());
  const auto at = [&](int x, int y, int c) {
    return (static_cast<std::size_t>(std::clamp(y, 0, height - 1)) * width + std::clamp(x, 0, width - 1)) *
               channels +
           c;
  };
  for (int pass = 0; pass < 2; ++pass) {
    const auto& in = pass ? across : values;
    auto& out = pass ? blurred : across;
    for (int y = 0; y < height; ++y)
      for (int x = 0; x < width; ++x)
        for (int c = 0; c < channels; ++c) {
          double v = 0;
          for (int n = -kReach; n <= kReach; ++n)
            v += kernel[n + kReach] * in[pass ? at(x, y + n, c) : at(x + n, y, c)];
          out[at(x, y, c)] = static_cast<float>(v);
        }
  }
  for (std::size_t i = 0; i < values.size(); ++i)
    values[i] += static_cast<float>(share) * (values[i] - blurred[i]);
}

}  // namespace

Image take_picture(const Scene& scene) {
  return expose(render_light(scene), scene.camera.width_px, scene.camera.height_px, scene.channels,
                scene.bits, scene.sensor, scene.tone);
}

Image expose(std::vector<float> light, int width, int height, int channels, int bits, const Sensor& sensor,
             const CameraCurve& tone) {
  const bool noisy = sensor.full_well_e > 0 || sensor.noise_light > 0;
  std::vector<float> table(65537);  // tone curve, straight in between: below 1e-6 but at the very dark end
  for (std::size_t i = 0; i < table.size(); ++i)
    table[i] = static_cast<float>(tone.value(static_cast<double>(i) / 65536));
  for (int y = 0; y < height; ++y) {
    Noise noise(sensor.seed * 0x100000001b3ull + static_cast<std::uint64_t>(y) * 0x9e3779b1ull);
    float* row = light.data() + static_cast<std::size_t>(y) * width * channels;
    for (int i = 0; i < width * channels; ++i) {
      double l = row[i];
      if (noisy) {
        double variance = sensor.noise_light * sensor.noise_light;
        if (sensor.full_well_e > 0)
          variance += (std::max(l, 0.0) * sensor.full_well_e + sensor.read_noise_e * sensor.read_noise_e) /
                      (sensor.full_well_e * sensor.full_well_e);
        l += std::sqrt(variance) * noise.normal();
      }
      const double t = std::clamp(l, 0.0, 1.0) * 65536;
      const int k = std::min(static_cast<int>(t), 65535);
      row[i] = table[k] + static_cast<float>(t - k) * (table[k + 1] - table[k]);
    }
  }
  if (tone.sharpening != 0) sharpen(light, width, height, channels, tone.sharpening);
  Image image{width, height, channels, bits, {}};
  image.samples.resize(light.size());
  const double full = bits == 16 ? 65535 : 255;
  for (std::size_t i = 0; i < light.size(); ++i)
    image.samples[i] = static_cast<std::uint16_t>(std::lround(std::clamp<double>(light[i], 0, 1) * full));
  return image;
}

}  // namespace rondure::render
