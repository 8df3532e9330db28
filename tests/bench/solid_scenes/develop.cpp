// Makes a photograph of what a ray tracer drew: develop LIGHT.ppm SETTINGS.json OUT.jpg
//
// LIGHT.ppm: linear light, 16 bit, seen by a camera without distortion. SETTINGS.json (a scene's truth):
//   camera {width_px, height_px, focal_px, center_px [x, y], distortion [k1, k2, p1, p2, k3]}, drawn {focal_px,
//   center_px} (the same as the camera's, or the ray tracer's finer grid), photograph {blur_px, full_well_e,
//   read_noise_e, noise_seed, quality}.
// Order: blur, lens, noise, sRGB curve, JPEG. blur_px is a Gaussian sigma in pixels of the photograph.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <nlohmann/json.hpp>
#include <stdexcept>

#include "render/image_file.hpp"
#include "render/sensor.hpp"

using namespace rondure::render;
using Json = nlohmann::json;

namespace {

struct Light {
  int width_px = 0, height_px = 0;
  std::vector<float> rgb;
  float& at(int x, int y, int c) { return rgb[(static_cast<std::size_t>(y) * width_px + x) * 3 + c]; }
  float near(int x, int y, int c) const {
    x = std::clamp(x, 0, width_px - 1), y = std::clamp(y, 0, height_px - 1);
    return rgb[(static_cast<std::size_t>(y) * width_px + x) * 3 + c];
  }
};

Light read_ppm(const char* file) {
  std::ifstream in(file, std::ios::binary);
  std::string magic;
  in >> magic;
  while (in >> std::ws && in.peek() == '#') in.ignore(4096, '\n');
  Light light;
  int most = 0;
  in >> light.width_px >> light.height_px >> most;
  in.get();
  if (!in || magic != "P6" || most != 65535) throw std::runtime_error("needs a PPM of 16 bit");
  std::vector<unsigned char> bytes(static_cast<std::size_t>(light.width_px) * light.height_px * 6);
  in.read(reinterpret_cast<char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
  if (!in) throw std::runtime_error("the PPM ends too early");
  light.rgb.resize(bytes.size() / 2);
  for (std::size_t i = 0; i < light.rgb.size(); ++i)
    light.rgb[i] = static_cast<float>(bytes[2 * i] * 256 + bytes[2 * i + 1]) / 65535.0f;
  return light;
}

void blur(Light& light, double sigma) {
  if (sigma <= 0) return;
  const int reach = static_cast<int>(std::ceil(4.5 * sigma));
  std::vector<double> kernel(static_cast<std::size_t>(2 * reach + 1));
  double sum = 0;
  for (int n = -reach; n <= reach; ++n) sum += kernel[n + reach] = std::exp(-0.5 * n * n / (sigma * sigma));
  for (double& k : kernel) k /= sum;
  for (int pass = 0; pass < 2; ++pass) {
    const Light in = light;
    for (int y = 0; y < light.height_px; ++y)
      for (int x = 0; x < light.width_px; ++x)
        for (int c = 0; c < 3; ++c) {
          double v = 0;
          for (int n = -reach; n <= reach; ++n)
            v += kernel[n + reach] * (pass ? in.near(x, y + n, c) : in.near(x + n, y, c));
          light.at(x, y, c) = static_cast<float>(v);
        }
  }
}

std::array<double, 4> cubic_weights(double t) {  // Keys 1981, a = -1/2
  const double t2 = t * t, t3 = t2 * t;
  return {-0.5 * t + t2 - 0.5 * t3, 1 - 2.5 * t2 + 1.5 * t3, 0.5 * t + 2 * t2 - 1.5 * t3,
          -0.5 * t2 + 0.5 * t3};
}

// Where the lens puts each pixel of the photograph on the ray tracer's picture.
Light through_lens(const Light& drawn, const Json& camera, const Json& grid) {
  Light out;
  out.width_px = camera["width_px"], out.height_px = camera["height_px"];
  out.rgb.resize(static_cast<std::size_t>(out.width_px) * out.height_px * 3);
  const double f = camera["focal_px"], cx = camera["center_px"][0], cy = camera["center_px"][1],
               grid_f = grid["focal_px"], grid_cx = grid["center_px"][0], grid_cy = grid["center_px"][1];
  const auto [k1, k2, p1, p2, k3] = camera["distortion"].get<std::array<double, 5>>();
  for (int row = 0; row < out.height_px; ++row)
    for (int column = 0; column < out.width_px; ++column) {
      const double xd = (column - cx) / f, yd = (row - cy) / f;
      double x = xd, y = yd;
      for (int i = 0; i < 30; ++i) {
        const double r2 = x * x + y * y, radial = 1 + r2 * (k1 + r2 * (k2 + r2 * k3));
        const double nx = (xd - 2 * p1 * x * y - p2 * (r2 + 2 * x * x)) / radial;
        const double ny = (yd - p1 * (r2 + 2 * y * y) - 2 * p2 * x * y) / radial;
        const double step = std::abs(nx - x) + std::abs(ny - y);
        x = nx, y = ny;
        if (step < 1e-13) break;
      }
      const double gx = grid_f * x + grid_cx, gy = grid_f * y + grid_cy;
      const int ix = static_cast<int>(std::floor(gx)), iy = static_cast<int>(std::floor(gy));
      const auto wx = cubic_weights(gx - ix), wy = cubic_weights(gy - iy);
      for (int c = 0; c < 3; ++c) {
        double v = 0;
        for (int j = 0; j < 4; ++j)
          for (int i = 0; i < 4; ++i) v += wx[i] * wy[j] * drawn.near(ix + i - 1, iy + j - 1, c);
        out.at(column, row, c) = static_cast<float>(v);
      }
    }
  return out;
}

void develop(const char* light_file, const char* settings_file, const char* photograph_file) {
  std::ifstream in(settings_file);
  const Json settings = Json::parse(in);
  const Json &camera = settings.at("camera"), &grid = settings.at("drawn"),
             &photo = settings.at("photograph");
  Light light = read_ppm(light_file);
  blur(light,
       photo["blur_px"].get<double>() * grid["focal_px"].get<double>() / camera["focal_px"].get<double>());
  const bool same_grid = grid["focal_px"] == camera["focal_px"] && grid["center_px"] == camera["center_px"];
  const auto distortion = camera["distortion"].get<std::array<double, 5>>();
  if (!same_grid || std::any_of(distortion.begin(), distortion.end(), [](double k) { return k != 0; }))
    light = through_lens(light, camera, grid);
  Sensor sensor;
  sensor.full_well_e = photo["full_well_e"], sensor.read_noise_e = photo["read_noise_e"];
  sensor.seed = photo["noise_seed"];
  const Image image =
      expose(std::move(light.rgb), light.width_px, light.height_px, 3, 8, sensor, CameraCurve{});
  if (!write_jpeg(photograph_file, image, photo["quality"]))
    throw std::runtime_error("cannot write the picture");
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 4) {
    std::fprintf(stderr, "usage: develop LIGHT.ppm SETTINGS.json OUT.jpg\n");
    return 2;
  }
  try {
    develop(argv[1], argv[2], argv[3]);
  } catch (const std::exception& e) {
    std::fprintf(stderr, "develop: %s: %s\n", argv[1], e.what());
    return 1;
  }
}
