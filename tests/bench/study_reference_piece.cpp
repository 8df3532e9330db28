// How far a gauge pin beside the part brings the uncertainty down, and whether the intervals hold, through the program
// (measure --reference): pictures of a board, a part of 12.4 mm and a pin of 12 mm, both standing 6 mm high, all drawn
// anew for each set: print of the board (0.1 % standard deviation), pin (0.002 mm), height of the part (0.02 mm), place,
// light, noise and JPEG quality; the camera's tone curve as the row says. In the last row the print is off by 0.3 to
// 0.6 %: whether the program says so. Arguments: sets a row, number of the first, row to begin with.
#include <algorithm>
#include <array>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <nlohmann/json.hpp>
#include <random>
#include <span>

#include "bench/board_scenes.hpp"
#include "bench/run_program.hpp"
#include "rondure/photo/calibration.hpp"

using namespace rondure;
using namespace rondure::bench;
namespace fs = std::filesystem;

namespace {

constexpr double kPart = 12.4, kPin = 12.0, kPinU = 0.002, kPrintU = 0.001, kHeight = 6, kHeightU = 0.02,
                 kPxPerMm = 14;
const Lens kLens{2900, 2900, 319.5, 239.5, {}};

enum class Tone { kSrgb, kGammaNear, kAny };
struct Row {
  const char* what;
  Tone tone = Tone::kSrgb;
  double pin_light = 0.08;  // the part's is 0.05
  bool camera = true;       // its file is given
  bool print_far_off = false;
};

struct Drawn {
  render::Scene scene;
  double pin_mm = 0;
  int quality = 0;
};

// Cameras as they are, by the same law as the program has of them: sRGB, gamma 1.8 to 2.6, an S-curve up to 0.3.
render::CameraCurve any_tone(double which, double how) {
  using Kind = render::CameraCurve::Kind;
  if (which < 1.0 / 3) return {};
  if (which < 2.0 / 3) return {Kind::kGamma, 1.8 + 0.8 * how, 0};
  return {Kind::kSCurve, 0.3 * how, 0};
}

Drawn draw(const Row& row, int number) {
  std::mt19937_64 random(static_cast<std::uint64_t>(104729 * number + 11));
  const auto uniform = [&](double lo, double hi) { return uniform_of(random, lo, hi); };
  const auto normal = [&] {
    double sum = -6;
    for (int i = 0; i < 12; ++i) sum += uniform(0, 1);
    return sum;
  };
  Drawn d;
  const double middle_x = 7.5 + 10.5, middle_y = -10;
  d.scene.camera = render::Camera::looking_at(640, 480, kLens, {middle_x, middle_y}, 2900 / kPxPerMm,
                                              uniform(2, 8), uniform(0, 360), uniform(-2, 2));
  double print = kPrintU * normal();
  if (row.print_far_off) print = (print < 0 ? -1 : 1) * uniform(0.003, 0.006);
  d.scene.board = render::Board{.columns = 4,
                                .rows = 5,
                                .square_mm = 5 * (1 + print),
                                .black = render::grey(uniform(0.03, 0.08)),
                                .white = render::grey(uniform(0.55, 0.75))};
  d.scene.ground = d.scene.board->white;
  d.pin_mm = kPin + kPinU * normal();
  const double height = kHeight + kHeightU * normal();
  const auto disc = [&](double x, double y, double z, double diameter, double light) {
    render::Layer layer;
    layer.name = "disc";
    layer.center = {x, y};
    layer.z_low_mm = layer.z_high_mm = z;
    layer.profile.radius_mm = diameter / 2;
    layer.level = render::grey(light);
    d.scene.layers.push_back(layer);
  };
  disc(middle_x + uniform(13.5, 14.5), middle_y + uniform(7.5, 8.5), height, kPart, 0.05);
  disc(middle_x + uniform(13.5, 14.5), middle_y - uniform(7.5, 8.5), kHeight, d.pin_mm, row.pin_light);
  d.scene.light.fall_x = uniform(-0.1, 0.1), d.scene.light.fall_y = uniform(-0.1, 0.1);
  d.scene.optics.blur_px = uniform(0.6, 1.3);
  const double which = uniform(0, 1), how = uniform(0, 1);
  if (row.tone == Tone::kGammaNear) d.scene.tone = {render::CameraCurve::Kind::kGamma, 2.0 + 0.4 * how, 0};
  if (row.tone == Tone::kAny) d.scene.tone = any_tone(which, how);
  d.scene.sensor = {.full_well_e = uniform(3000, 15000), .read_noise_e = 6, .seed = random()};
  static constexpr int kQuality[] = {0, 95, 85};
  d.quality = kQuality[random() % 3];
  return d;
}

void write_camera(const fs::path& file) {
  Calibration calibration;
  CameraCalibration camera;
  camera.lens = kLens, camera.width_px = 640, camera.height_px = 480;
  Eigen::Matrix<double, 9, 1> sd;
  sd << 0.5, 0.5, 0.5, 0.5, 1e-4, 1e-4, 1e-5, 1e-5, 1e-4;
  camera.covariance = sd.cwiseAbs2().asDiagonal();
  camera.covariance(0, 1) = camera.covariance(1, 0) = camera.covariance(0, 0);
  camera.ink_mm = Estimate{0, 0.001};
  calibration.camera = camera;
  std::ofstream(file) << to_json(calibration);
}

struct Answer {
  double off_mm = 0, u_mm = 0;
  bool held = false, contradicts = false;
};

std::optional<Answer> answer(const std::string& arguments) {
  const std::string out = run(arguments);
  if (out.empty()) return {};
  const auto feature = nlohmann::json::parse(out)["features"][0];
  const auto& circle = feature["circle"];
  Answer a;
  a.off_mm = circle["diameter_mm"].get<double>() - kPart, a.u_mm = circle["u_diameter_mm"].get<double>();
  a.held =
      circle["interval95_mm"][0].get<double>() <= kPart && kPart <= circle["interval95_mm"][1].get<double>();
  for (const auto& warning : feature.value("warnings", nlohmann::json::array()))
    a.contradicts |= warning["code"] == "reference-contradicts";
  return a;
}

struct Tally {
  int sets = 0, refused = 0, held = 0, held_board = 0, contradicts = 0;
  double square = 0, u = 0, worst_u = 0, worst = 0, u_board = 0, square_board = 0;
};

void one(const Row& row, int number, const fs::path& folder, Tally& tally) {
  const Drawn d = draw(row, number);
  const render::Image image = render::take_picture(d.scene);
  const fs::path file = folder / (d.quality ? "picture.jpg" : "picture.png");
  if (d.quality)
    render::write_jpeg(file, image, d.quality);
  else
    render::write_png(file, image);
  const auto place = [&](const render::Layer& layer) {
    return d.scene.camera.project({layer.center.x(), layer.center.y(), kHeight});
  };
  const PixelPoint part = place(d.scene.layers[0]), pin = place(d.scene.layers[1]);
  char asked[400];
  std::snprintf(asked, sizeof asked,
                "measure %s --board 4x5 --square 5mm --height 6mm+-0.02mm --near %.0f,%.0f --json -%s",
                file.c_str(), part.x_px, part.y_px,
                row.camera ? (" --calibration " + (folder / "camera.json").string()).c_str() : "");
  char reference[100];
  std::snprintf(reference, sizeof reference, " --reference 12.000mm+-0.002mm@%.0f,%.0f,6mm+-0.005mm",
                pin.x_px, pin.y_px);
  const auto by_pin = answer(std::string(asked) + reference), by_board = answer(asked);
  if (!by_pin || !by_board) return void(++tally.refused);
  ++tally.sets;
  tally.held += by_pin->held, tally.held_board += by_board->held, tally.contradicts += by_pin->contradicts;
  tally.square += by_pin->off_mm * by_pin->off_mm, tally.square_board += by_board->off_mm * by_board->off_mm;
  tally.u += by_pin->u_mm, tally.u_board += by_board->u_mm;
  tally.worst_u = std::max(tally.worst_u, by_pin->u_mm),
  tally.worst = std::max(tally.worst, std::abs(by_pin->off_mm));
}

}  // namespace

int main(int argc, char** argv) {
  const int sets = argc > 1 ? std::atoi(argv[1]) : 100, first = argc > 2 ? std::atoi(argv[2]) : 0,
            from_row = argc > 3 ? std::atoi(argv[3]) : 1;
  const Row rows[] = {
      {"camera file, sRGB"},
      {"camera file, gamma 2.0 to 2.4", Tone::kGammaNear},
      {"camera file, cameras of any usual curve", Tone::kAny},
      {"camera file, bright pin (light 0.35), any usual curve", Tone::kAny, 0.35},
      {"no camera file, any usual curve", Tone::kAny, 0.08, false},
      {"camera file, any usual curve, print 0.3 to 0.6 % off", Tone::kAny, 0.08, true, true},
  };
  const fs::path folder = fs::temp_directory_path() / ("rondure-pins-" + std::to_string(::getpid()));
  fs::create_directories(folder);
  write_camera(folder / "camera.json");
  std::printf(
      "# reference piece in the picture, through the program: part 12.4 mm, pin 12 mm +- 0.002 mm, 6 mm high "
      "(part +- 0.02),\n"
      "# board's print +- 0.1 %%, 14 px/mm; %d drawn sets a row, seeds 11 + 104729 n from n = %d. mm.\n"
      "row,sets,refused,rms,worst,mean_u,largest_u,held_of_95,told_contradiction,rms_board_alone,mean_u_"
      "board_alone,held_board_alone\n",
      sets, first);
  for (const Row& row : std::span(rows).subspan(static_cast<std::size_t>(std::clamp(from_row - 1, 0, 5)))) {
    Tally t;
    for (int n = 0; n < sets; ++n) one(row, first + n, folder, t);
    const double n = std::max(1, t.sets);
    std::printf("\"%s\",%d,%d,%.4f,%.4f,%.4f,%.4f,%.3f,%d,%.4f,%.4f,%.3f\n", row.what, t.sets, t.refused,
                std::sqrt(t.square / n), t.worst, t.u / n, t.worst_u, t.held / n, t.contradicts,
                std::sqrt(t.square_board / n), t.u_board / n, t.held_board / n);
    std::fflush(stdout);
  }
  fs::remove_all(folder);
  return 0;
}
