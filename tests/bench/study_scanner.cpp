// Flatbed scans at 1200 dpi through the program: a scanner whose two axes are 0.1 to 0.5 % apart, learned from one
// round reference piece turned once (calibrate scanner), then a part measured with its file (measure --scan).
//
// Drawn anew for each set: the axes (their mean off by up to 0.1 %, skew up to 0.5 mrad), the reference (20 mm, known
// to 0.002 mm, itself oval by up to 0.002 mm, turned by 80 to 100 degrees), the part (9 to 17 mm), blur 0.5 to 1.2 px,
// noise. A flat scan has no perspective, so the renderer's square-on view with two focal lengths is the model itself;
// skew is the second harmonic that it is to first order (second order: 1e-6 mm). A wrong tone curve is in a row of its
// own.
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <random>
#include <sstream>
#include <string>

#include "bench/board_scenes.hpp"
#include "bench/run_program.hpp"

using namespace rondure;
using namespace rondure::bench;
namespace fs = std::filesystem;

namespace {

constexpr double kDpi = 1200, kPxPerMm = kDpi / kMmPerInch, kRing = 20, kRingU = 0.002;

struct Row {
  const char* what;
  int scans_of_reference = 2;  // 0: no scanner's file
  double part_ovality_mm = 0;
  double part_light = 0.12;  // the reference's is 0.12, the lid's 0.8
  bool random_gamma = false;
  int jpeg_quality = 0;
};

struct Tally {
  int sets = 0, refused = 0, held = 0, ovality_held = 0, called_oval = 0;
  double square = 0, worst = 0, u = 0, ovality_square = 0, ovality_worst = 0, u_ovality = 0;
};

struct Random {
  std::mt19937_64 engine;
  double uniform(double lo, double hi) { return uniform_of(engine, lo, hi); }
  double normal() {
    double sum = -6;
    for (int i = 0; i < 12; ++i) sum += uniform(0, 1);
    return sum;
  }
};

struct Scanner {
  double x_ratio = 1, y_ratio = 1, skew_rad = 0, blur_px = 0.8, full_well_e = 9000;
  render::CameraCurve curve;
};

void scan(const fs::path& file, const Scanner& scanner, double diameter_mm, double ovality_mm,
          double axis_deg, double light, int quality, Random& random) {
  render::Scene scene;
  const int size = static_cast<int>(diameter_mm * kPxPerMm) + 70;
  scene.camera = render::Camera::square_on(size, size, kPxPerMm);
  scene.camera.lens.focal_x_px *= scanner.x_ratio, scene.camera.lens.focal_y_px *= scanner.y_ratio;
  scene.ground = render::grey(0.8);
  render::Layer disc;
  disc.name = "disc";
  disc.center = {random.uniform(-0.3, 0.3), random.uniform(-0.3, 0.3)};
  disc.profile.radius_mm = diameter_mm / 2;
  disc.profile.lobes = {{2, ovality_mm / 4, axis_deg}, {2, diameter_mm / 4 * scanner.skew_rad, 45}};
  disc.level = render::grey(light);
  scene.layers = {disc};
  scene.optics.blur_px = scanner.blur_px;
  scene.tone = scanner.curve;
  scene.sensor = {.full_well_e = scanner.full_well_e, .read_noise_e = 6, .seed = random.engine()};
  render::Image image = render::take_picture(scene);
  image.dots_per_metre = static_cast<int>(std::lround(kDpi / 0.0254));
  if (quality)
    render::write_jpeg(file, image, quality);
  else
    render::write_png(file, image);
}

void one(const Row& row, int number, const fs::path& folder, Tally& tally) {
  Random random{std::mt19937_64(static_cast<std::uint64_t>(104729 * number + 5))};
  Scanner scanner;
  const double mean = random.uniform(-0.001, 0.001);
  const double apart = random.uniform(0.001, 0.005) * (random.uniform(0, 1) < 0.5 ? -1 : 1);
  scanner.x_ratio = 1 + mean + apart / 2, scanner.y_ratio = 1 + mean - apart / 2;
  scanner.skew_rad = random.uniform(-0.0005, 0.0005);
  scanner.blur_px = random.uniform(0.5, 1.2), scanner.full_well_e = random.uniform(4000, 15000);
  if (row.random_gamma) scanner.curve = {render::CameraCurve::Kind::kGamma, random.uniform(2.0, 2.4), 0};
  const std::string end = row.jpeg_quality ? ".jpg" : ".png",
                    scanner_file = (folder / "scanner.json").string();
  const std::string stated = row.jpeg_quality ? " --scan 1200dpi" : "";  // our JPEG writer states none
  const double ring = kRing + kRingU * random.normal(), ring_oval = random.uniform(0, 0.002);
  const double turn = random.uniform(0, 180), quarter = turn + random.uniform(80, 100);
  const double diameter = random.uniform(9, 17), axis = random.uniform(0, 180);
  if (row.scans_of_reference > 0) {
    std::string calibrate = "calibrate scanner";
    for (int k = 0; k < row.scans_of_reference; ++k) {
      const fs::path file = folder / ("ring" + std::to_string(k) + end);
      scan(file, scanner, ring, ring_oval, k ? quarter : turn, 0.12, row.jpeg_quality, random);
      calibrate += " " + file.string();
    }
    if (run(calibrate + stated + " --pin 20.000mm+-0.002mm -o " + scanner_file).empty())
      return void(++tally.refused);
  }
  const fs::path part = folder / ("part" + end);
  scan(part, scanner, diameter, row.part_ovality_mm, axis, row.part_light, row.jpeg_quality, random);
  const std::string out =
      run("measure " + part.string() + (row.jpeg_quality ? stated : " --scan") + " --json -" +
          (row.scans_of_reference > 0 ? " --calibration " + scanner_file : ""));
  if (out.empty()) return void(++tally.refused);
  const auto feature = nlohmann::json::parse(out)["features"][0];
  const auto &circle = feature["circle"], &ellipse = feature["ellipse"];
  const double off = circle["diameter_mm"].get<double>() - diameter;
  const double oval = ellipse["ovality_mm"].get<double>() - row.part_ovality_mm;
  const auto holds = [](const nlohmann::json& interval, double truth) {
    return truth >= interval[0].get<double>() - 1e-12 && truth <= interval[1].get<double>();
  };
  ++tally.sets;
  tally.square += off * off, tally.worst = std::max(tally.worst, std::abs(off));
  tally.u += circle["u_diameter_mm"].get<double>();
  tally.held += holds(circle["interval95_mm"], diameter);
  tally.ovality_square += oval * oval, tally.ovality_worst = std::max(tally.ovality_worst, std::abs(oval));
  tally.u_ovality += ellipse["u_ovality_mm"].get<double>();
  tally.ovality_held += holds(ellipse["ovality_interval95_mm"], row.part_ovality_mm);
  tally.called_oval += feature["verdict"] == "oval";
}

}  // namespace

int main(int argc, char** argv) {
  const int sets = argc > 1 ? std::atoi(argv[1]) : 100, first = argc > 2 ? std::atoi(argv[2]) : 0;
  const Row rows[] = {
      {"turned once, round part as dark as the reference, sRGB, PNG"},
      {"turned once, part oval by 0.02 mm", 2, 0.02},
      {"turned once, grey part (light 0.35), gamma 2.0 to 2.4, JPEG 95", 2, 0, 0.35, true, 95},
      {"reference scanned once only", 1},
      {"no scanner's file", 0},
  };
  const fs::path folder = fs::temp_directory_path() / ("rondure-scans-" + std::to_string(::getpid()));
  fs::create_directories(folder);
  std::printf(
      "# Flatbed scans at 1200 dpi through the program: axes 0.1 to 0.5 %% apart, reference 20 mm +- 0.002 "
      "mm, part 9 to\n"
      "# 17 mm; %d drawn sets a row, numbers from %d (seeds 5 + 104729 n), the same scanners in every row. "
      "mm.\n"
      "row,sets,refused,rms,worst,mean_u,held_of_95,ovality_rms,ovality_worst,mean_u_ovality,ovality_held,"
      "called_oval\n",
      sets, first);
  for (const Row& row : rows) {
    Tally t;
    for (int n = 0; n < sets; ++n) one(row, first + n, folder, t);
    const double n = std::max(1, t.sets);
    std::printf("\"%s\",%d,%d,%.5f,%.5f,%.5f,%.3f,%.5f,%.5f,%.5f,%.3f,%.3f\n", row.what, t.sets, t.refused,
                std::sqrt(t.square / n), t.worst, t.u / n, t.held / n, std::sqrt(t.ovality_square / n),
                t.ovality_worst, t.u_ovality / n, t.ovality_held / n, t.called_oval / n);
    std::fflush(stdout);
  }
  fs::remove_all(folder);
  return 0;
}
