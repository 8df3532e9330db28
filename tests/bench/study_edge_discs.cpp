// Square-on discs of known radius: bias and scatter of the measured radius against the noise bound, tone
// curves, JPEG, clipping. Usage: study_edge_discs [pictures per row [radius]]; a radius, px:
// its rows of the first table only
//
// Bound (whole circle, levels known): sd(R) = noise / contrast * sqrt(blur / (sqrt(pi) R)), px; blur with the
// pixel's box.
#include <Eigen/Core>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "render/image_file.hpp"
#include "render/scene.hpp"
#include "rondure/fit/circle_fit.hpp"
#include "rondure/photo/round_edges.hpp"

using namespace rondure;
using namespace rondure::render;

namespace {

constexpr double kPxPerMm = 20;

Scene disc(double radius_px, double blur_px, double dark, double bright, int n, bool bright_inside = false) {
  Scene scene;
  const int side = static_cast<int>(2 * radius_px + 60);
  // Another place on the pixel grid each time.
  const double fx = std::fmod(n * 0.618034, 1.0) - 0.5, fy = std::fmod(n * 0.754878, 1.0) - 0.5;
  scene.camera = Camera::square_on(side, side, kPxPerMm);
  scene.ground = grey(bright_inside ? dark : bright);
  scene.optics.blur_px = std::sqrt(blur_px * blur_px - 1.0 / 12);
  Layer layer;
  layer.name = "disc";
  layer.center = {fx / kPxPerMm, fy / kPxPerMm};
  layer.profile.radius_mm = radius_px / kPxPerMm;
  layer.level = grey(bright_inside ? bright : dark);
  scene.layers.push_back(layer);
  scene.sensor.seed = static_cast<std::uint64_t>(1000 + n);
  scene.bits = 16;
  return scene;
}

struct Outcome {
  double radius_px = 0, blur_px = 0, u_offset_px = 0, sigma_px = 0, shift_px = 0, clipped = 0;
};

std::optional<Outcome> measure(const Image& image, bool linear) {
  const Picture picture = as_picture(image);
  const MeasuringPlane plane = plane_of_scale(image.width_px, image.height_px, kPxPerMm, 0);
  EdgeOptions options;
  options.linear_light = linear;
  const auto edges = find_round_edges(picture, plane, options);
  if (!edges) {
    std::printf("  not found: %s\n", edges.error().message().c_str());
    return std::nullopt;
  }
  const RoundEdge& edge = edges->front();
  std::vector<PartPoint> points;
  std::vector<double> sigmas;
  for (const MeasuredPoint& p : edge.points) points.push_back(p.at), sigmas.push_back(p.sigma_mm);
  const auto fit = fit_circle(points, sigmas);
  if (!fit) return std::nullopt;
  Outcome out;
  out.radius_px = fit->circle.radius_mm * kPxPerMm;
  out.sigma_px = std::sqrt(fit->cofactor(2, 2)) * kPxPerMm;
  out.blur_px = edge.blur_px;
  out.u_offset_px = edge.u_edge_offset_mm * kPxPerMm;
  out.shift_px = edge.clipping_shift_px;
  out.clipped = edge.clipped_share;
  return out;
}

struct Row {
  double bias = 0, rms = 0, sd = 0, sigma = 0, u_offset = 0, shift = 0, worst = 0;
  int count = 0;
};

Row run(int pictures, double radius_px, const std::function<Image(int)>& make, bool linear) {
  Row row;
  double sum = 0, square = 0;
  for (int n = 0; n < pictures; ++n) {
    const auto out = measure(make(n), linear);
    if (!out) continue;
    const double error = out->radius_px - radius_px;
    sum += error, square += error * error, ++row.count;
    row.sigma += out->sigma_px, row.u_offset += out->u_offset_px, row.shift += out->shift_px;
    row.worst = std::max(row.worst, std::abs(error));
  }
  const double c = std::max(1, row.count);
  row.bias = sum / c, row.rms = std::sqrt(square / c),
  row.sd = std::sqrt(std::max(0.0, square / c - row.bias * row.bias));
  row.sigma /= c, row.u_offset /= c, row.shift /= c;
  return row;
}

}  // namespace

int main(int argc, char** argv) {
  const int pictures = argc > 1 ? std::atoi(argv[1]) : 60;
  const double only = argc > 2 ? std::atof(argv[2]) : 0;
  std::printf("Discs, square-on, linear light, 16 bit, white noise; %d pictures a row. px.\n", pictures);
  std::printf("%5s %5s %4s %8s  %9s %8s %8s %6s %6s %8s\n", "R", "blur", "SNR", "ground", "bias", "rms",
              "bound", "ratio", "sd/u", "u edge");
  for (const double radius : {10.0, 20.0, 40.0, 200.0, 800.0})
    for (const double blur : {0.7, 1.0, 2.0})
      for (const double snr : {20.0, 50.0})
        for (const bool inside : {false, true}) {
          if (inside && (radius != 200 || blur != 1.0)) continue;
          if (only != 0 && radius != only) continue;
          const int count = radius > 500 ? std::max(10, pictures / 4) : pictures;
          const Row row = run(
              count, radius,
              [&](int n) {
                Scene scene = disc(radius, blur, 0.1, 0.7, n, inside);
                scene.tone.kind = CameraCurve::Kind::kLinear;
                scene.sensor.noise_light = 0.6 / snr;
                return take_picture(scene);
              },
              true);
          const double bound = 1 / snr * std::sqrt(blur / (std::sqrt(kPi) * radius));
          std::printf("%5.0f %5.1f %4.0f %8s  %+9.5f %8.5f %8.5f %6.2f %6.2f %8.5f\n", radius, blur, snr,
                      inside ? "dark" : "bright", row.bias, row.rms, bound, row.rms / bound,
                      row.sd / row.sigma, row.u_offset);
          std::fflush(stdout);
        }

  if (only != 0) return 0;
  std::printf(
      "\nTone curves and JPEG, R 200, blur 1.0, 8 bit, full well 6000 e, sRGB assumed. Error of the radius, "
      "px.\n");
  std::printf("%-22s %-12s %9s %8s %8s %8s\n", "curve", "light", "bias", "rms", "worst", "u given");
  struct Curve {
    const char* name;
    CameraCurve curve;
  };
  using Kind = CameraCurve::Kind;
  const Curve curves[] = {{"sRGB", {Kind::kSrgb}},
                          {"gamma 1.8", {Kind::kGamma, 1.8}},
                          {"gamma 2.6", {Kind::kGamma, 2.6}},
                          {"S-curve 0.3", {Kind::kSCurve, 0.3}},
                          {"shoulder", {Kind::kShoulder}},
                          {"sRGB, sharpened 40 %", {Kind::kSrgb, 0, 0.4}}};
  struct Levels {
    const char* name;
    double dark, bright;
  };
  for (const Curve& curve : curves)
    for (const Levels& levels :
         {Levels{"3 on 80 %", 0.03, 0.8}, {"20 on 80 %", 0.2, 0.8}, {"0.5 on 95 %", 0.005, 0.95}})
      for (const int quality : {0, 95, 85, 75}) {
        if (quality && curve.curve.kind != Kind::kSrgb) continue;
        const Row row = run(
            std::max(6, pictures / 4), 200,
            [&](int n) {
              Scene scene = disc(200, 1.0, levels.dark, levels.bright, n);
              scene.tone = curve.curve;
              scene.bits = 8;
              scene.sensor.full_well_e = 6000, scene.sensor.read_noise_e = 5;
              const Image image = take_picture(scene);
              return quality ? jpeg_round_trip(image, quality) : image;
            },
            false);
        const std::string name =
            std::string(curve.name) + (quality ? ", JPEG " + std::to_string(quality) : "");
        std::printf("%-22s %-12s %+9.4f %8.4f %8.4f %8.4f\n", name.c_str(), levels.name, row.bias, row.rms,
                    row.worst, row.u_offset);
        std::fflush(stdout);
      }

  std::printf("\nOver-exposed light (sRGB, 8 bit), R 200, disc 3 %%, light of 80 %% times the factor.\n");
  std::printf("%6s %5s %9s %8s %9s %8s %9s\n", "times", "blur", "bias", "rms", "taken off", "u given",
              "expected");
  for (const double over : {1.3, 1.625, 2.5, 5.0})
    for (const double blur : {0.7, 1.0, 2.0}) {
      const Row row = run(
          std::max(6, pictures / 4), 200,
          [&](int n) {
            Scene scene = disc(200, blur, 0.03, 0.8, n);
            scene.light.exposure = over;
            scene.bits = 8;
            scene.sensor.full_well_e = 6000, scene.sensor.read_noise_e = 5;
            return take_picture(scene);
          },
          false);
      std::printf("%6.2f %5.1f %+9.4f %8.4f %+9.4f %8.4f %9s\n", 0.8 * over, blur, row.bias, row.rms,
                  row.shift, row.u_offset, over == 1.625 && blur == 1.0 ? "-0.378" : "");
      std::fflush(stdout);
    }
}
