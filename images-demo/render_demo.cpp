// Draws the demo pictures and writes their truth: images-demo/render_demo FOLDER.
//
// The story: a film-advance roller, an idler and a focus drum from an old microfilm reader. The roller is
// acetal, moulded on a steel shaft; since it was made it has shrunk by 0.45 % and gone slightly oval.
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "render/image_file.hpp"
#include "render/scene.hpp"

using namespace rondure;
using namespace rondure::render;
using Json = nlohmann::ordered_json;
namespace fs = std::filesystem;

namespace {

constexpr double kShrinkage = 0.0045;  // of everything that is acetal
constexpr double kRollerDrawn = 12.5, kHubDrawn = 7.0, kShaft = 3.0, kFlangeHeightDrawn = 6.0,
                 kCrownRadiusDrawn = 13.0;
constexpr double kIdlerDrawn = 16.0, kIdlerBoreDrawn = 5.0;
constexpr double kDrumDrawn = 25.0, kDrumBoreDrawn = 8.0;
constexpr double kPin = 12.0014, kPinHeight = 6.0, kPrintTooLarge = 0.0021;
constexpr double kScan_px_per_mm = 600 / kMmPerInch, kRing = 20.0008;
constexpr int kScanSize_px = 520;
double shrunk(double drawn_mm) { return drawn_mm * (1 - kShrinkage); }

// The demo camera: 1600 x 1200, a short telephoto with a little barrel distortion.
Scene camera_and_board(Eigen::Vector2d at, double distance_mm, double tilt_deg, double towards_deg,
                       double turn_deg) {
  Scene scene;
  const Lens lens{3402, 3402, 811.4, 593.7, {-0.12, 0.06, 0.0004, -0.0003, 0}};
  scene.camera = Camera::looking_at(1600, 1200, lens, at, distance_mm, tilt_deg, towards_deg, turn_deg);
  scene.board = Board{
      .columns = 9, .rows = 6, .square_mm = 5, .ink_mm = 0.02, .black = grey(0.045), .white = grey(0.68)};
  scene.light.fall_x = 0.06, scene.light.fall_y = -0.04, scene.light.vignette = 0.08;
  scene.optics.blur_px = 0.8;
  scene.sensor = {.full_well_e = 9000, .read_noise_e = 6, .seed = 1};
  return scene;
}

Layer disc(const std::string& name, Eigen::Vector2d center, double diameter_mm, double height_mm,
           Level level) {
  Layer layer;
  layer.name = name;
  layer.center = center;
  layer.profile.radius_mm = diameter_mm / 2;
  layer.z_low_mm = layer.z_high_mm = height_mm;
  layer.level = level;
  return layer;
}

// The roller stands on its hub: the rim of the flange, bevelled underneath, is what the camera sees, 6 mm (as
// drawn) above the board. The steel shaft ends flush with the flange, a little off its middle.
Scene roller() {
  Scene scene = camera_and_board({27, -12}, 195, 6, 250, 2);
  const Eigen::Vector2d at(56, -13);
  const double h = shrunk(kFlangeHeightDrawn);
  Layer outside = disc("outside", at, shrunk(kRollerDrawn), h, {0.050, 0.054, 0.066});
  outside.profile.lobes = {{2, 0.013, 25}, {3, 0.003, 40}};  // ovality 0.052 mm
  outside.profile.bumps = {{112, 0.55, 0.14}};               // a nib where the mould parted
  const Layer hub = disc("hub", at, shrunk(kHubDrawn), h, {0.10, 0.105, 0.12});
  const Layer bore = disc("bore", at + Eigen::Vector2d(0.038, -0.021), kShaft, h, {0.46, 0.46, 0.45});
  scene.layers = {outside, hub, bore};
  scene.light.shadows = {{at + Eigen::Vector2d(2.6, -1.5), 6.4, 3.5, 0.35}};
  scene.channels = 3;
  scene.sensor.seed = 31;
  return scene;
}

// The roller again, a blued gauge pin beside it, on a board that came out of the printer 0.21 % too large.
Scene roller_with_pin() {
  Scene scene = roller();
  scene.board->square_mm = 5 * (1 + kPrintTooLarge);
  const Layer pin = disc("pin", {57, 8.5}, kPin, kPinHeight, {0.075, 0.08, 0.1});
  scene.layers.push_back(pin);
  scene.light.shadows.push_back({pin.center + Eigen::Vector2d(2.6, -1.5), 6.2, 3.5, 0.35});
  scene.sensor.seed = 34;
  return scene;
}

// A light idler would hardly show on the board's own paper: it lies on a dark card.
Scene idler() {
  Scene scene = camera_and_board({27, -12}, 195, 4, 120, -3);
  const Eigen::Vector2d at(58, -12);
  Layer card;
  card.kind = Layer::Kind::kCard;
  card.center = {47.5, -26}, card.end = {69, 3};
  card.level = grey(0.04);
  Layer outside = disc("outside", at, shrunk(kIdlerDrawn), 0, {0.62, 0.60, 0.52});
  outside.profile.lobes = {{2, 0.004, 70}};
  outside.profile.bumps = {{205, 1.1, -0.25}};  // chipped
  Layer bore = disc("bore", at + Eigen::Vector2d(-0.010, 0.014), shrunk(kIdlerBoreDrawn), 0, grey(0.04));
  scene.layers = {card, outside, bore};
  scene.channels = 3;
  scene.sensor.seed = 32;
  return scene;
}

// Backlit, square-on, no board: the scale is known from the stand, 38.00 px/mm.
Scene drum() {
  Scene scene;
  scene.camera = Camera::square_on(1200, 1100, 38);
  scene.ground = grey(0.82);
  Layer outside = disc("outside", {0.11, -0.07}, shrunk(kDrumDrawn), 0, grey(0.006));
  outside.profile.lobes = {{2, 0.009, 150}, {5, 0.004, 10}};
  Layer bore = disc("bore", {0.07, -0.02}, shrunk(kDrumBoreDrawn), 0, grey(0.82));
  scene.layers = {outside, bore};
  scene.light.vignette = 0.1;
  scene.optics.blur_px = 0.9;
  scene.sensor = {.full_well_e = 12000, .read_noise_e = 6, .seed = 33};
  return scene;
}

// Flatbed scans at 600 dpi: the carriage runs 0.3 % fast. The gauge ring is turned by a quarter
// turn between its two scans.
Scene scan_of(const Layer& layer, std::uint64_t seed) {
  Scene scene;
  scene.camera = Camera::square_on(kScanSize_px, kScanSize_px, kScan_px_per_mm);
  scene.camera.lens.focal_x_px *= 1.0005, scene.camera.lens.focal_y_px *= 0.9975;
  scene.ground = grey(0.8);
  scene.layers = {layer};
  scene.optics.blur_px = 0.7;
  scene.sensor = {.full_well_e = 9000, .read_noise_e = 6, .seed = seed};
  return scene;
}

Scene scanned_ring(double turned_deg) {
  Layer ring = disc("ring", {0.3, -0.2}, kRing, 0, grey(0.12));
  ring.profile.lobes = {{2, 0.00025, turned_deg + 30}};
  return scan_of(ring, turned_deg > 0 ? 36 : 35);
}

Scene scanned_idler() {
  Layer outside = disc("outside", {-0.2, 0.4}, shrunk(kIdlerDrawn), 0, grey(0.3));
  outside.profile.lobes = {{2, 0.001, 70}};
  return scan_of(outside, 37);
}

struct View {
  double distance_mm, tilt_deg, towards_deg, turn_deg, blur_px;
  Eigen::Vector2d at;
};
// One camera, three distances; tilted every way, the board in every part of the picture.
const View kViews[] = {
    {195, 3, 40, 0, 0.80, {20, -12}},    {200, 22, 10, 4, 0.85, {3, -4}},
    {200, 24, 130, -6, 0.85, {36, -22}}, {205, 22, 250, 88, 0.85, {21, -13}},
    {265, 25, 310, 3, 0.75, {-12, 4}},   {265, 20, 70, -4, 0.75, {-10, -32}},
    {265, 28, 190, 8, 0.75, {48, 4}},    {265, 20, 350, -10, 0.75, {50, -28}},
    {365, 27, 90, 12, 0.78, {-30, -14}}, {365, 30, 220, -14, 0.78, {66, -10}},
};

double noise(int n) {  // -1 to 1, triangular, the same everywhere
  const auto u = [](unsigned k) { return (k * 2654435761u >> 8) / 16777216.0; };
  return u(2 * static_cast<unsigned>(n) + 1) + u(2 * static_cast<unsigned>(n) + 2) - 1;
}

// Stage readings round the roller's crown at 20 x, in inches, as they were written down.
void write_crown(const fs::path& folder) {
  std::ofstream points(folder / "crown_readings.csv");
  points << "# Crown of the film-advance roller, comparator at 20 x, stage readings\n# unit: in\nx,y\n";
  const double radius_in = shrunk(kCrownRadiusDrawn) / kMmPerInch, center_x = 1.2437, top_y = 0.6812;
  for (int n = 0; n < 13; ++n) {
    const double x = -0.118 + 0.236 * n / 12;
    const double y = std::sqrt(radius_in * radius_in - x * x) - radius_in;
    char line[64];
    std::snprintf(line, sizeof line, "%.4f,%.4f\n", center_x + x, top_y + y + 0.0002 * noise(n));
    points << line;
  }
  std::ofstream chord(folder / "crown_chord.csv");
  chord << "# The same crown: a chord of a quarter inch and its depth under the screen's cross line\n"
           "chord 0.250in sagitta 0.0155in+-0.0005in\n";
}

Json original(const std::string& part, const std::string& feature, const std::string& kind, double drawn,
              double now) {
  return {{"part", part}, {"feature", feature}, {"kind", kind}, {"drawn_mm", drawn}, {"now_mm", now}};
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) {
    std::fprintf(stderr, "usage: render_demo FOLDER\n");
    return 2;
  }
  const fs::path folder = argv[1];
  fs::create_directories(folder / "views");
  Json truth;
  truth["shrinkage_ratio"] = kShrinkage;
  truth["original_sizes"] = {
      original("roller", "outside", "outside", kRollerDrawn, shrunk(kRollerDrawn)),
      original("roller", "hub", "outside", kHubDrawn, shrunk(kHubDrawn)),
      original("roller", "bore", "bore-on-metal", kShaft, kShaft),
      original("roller", "flange height", "width", kFlangeHeightDrawn, shrunk(kFlangeHeightDrawn)),
      original("roller", "crown radius", "arc", kCrownRadiusDrawn, shrunk(kCrownRadiusDrawn)),
      original("idler", "outside", "outside", kIdlerDrawn, shrunk(kIdlerDrawn)),
      original("idler", "bore", "bore", kIdlerBoreDrawn, shrunk(kIdlerBoreDrawn)),
      original("drum", "outside", "outside", kDrumDrawn, shrunk(kDrumDrawn)),
      original("drum", "bore", "bore", kDrumBoreDrawn, shrunk(kDrumBoreDrawn)),
  };
  bool written = true;
  const auto add = [&](const Scene& scene, const std::string& name, int quality) {
    const Image image = take_picture(scene);
    written &= quality ? write_jpeg(folder / name, image, quality) : write_png(folder / name, image);
    truth["pictures"].push_back(Json::parse(truth_json(scene, name)));
  };
  int number = 0;
  for (const View& view : kViews) {
    Scene scene = camera_and_board(view.at, view.distance_mm, view.tilt_deg, view.towards_deg, view.turn_deg);
    scene.optics.blur_px = view.blur_px;
    scene.sensor.seed = static_cast<std::uint64_t>(++number);
    char name[32];
    std::snprintf(name, sizeof name, "views/view_%02d.jpg", number);
    add(scene, name, 90);
  }
  add(roller(), "roller.jpg", 93);
  add(roller_with_pin(), "roller_pin.jpg", 93);
  add(idler(), "idler.jpg", 93);
  add(drum(), "drum.png", 0);
  const auto add_scan = [&](const Scene& scene, const std::string& name) {
    Image image = take_picture(scene);
    image.dots_per_metre = 23622;  // 600 dpi
    written &= write_png(folder / name, image);
    truth["pictures"].push_back(Json::parse(truth_json(scene, name)));
  };
  add_scan(scanned_ring(0), "scan_ring_1.png");
  add_scan(scanned_ring(90), "scan_ring_2.png");
  add_scan(scanned_idler(), "scan_idler.png");
  write_crown(folder);
  std::ofstream(folder / "truth.json") << truth.dump(1) << '\n';
  if (!written) std::fprintf(stderr, "render_demo: cannot write to %s\n", folder.c_str());
  return written ? 0 : 1;
}
