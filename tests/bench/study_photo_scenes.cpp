// Photographs measured end to end: random scenes of known truth are drawn, written as PNG or JPEG files, and
// measured by the built program as a user would. Usage: study_photo_scenes [-v] [-f FIRST] [SCENES]
// [ROW:SCENES...]; -v: every scene on standard error; -f: scenes from this number on (others than those of
// the table).
//
// What is asked of each row: error of the radius, whether it is as large as its standard uncertainty says,
// and how often the 95 % intervals of diameter and ovality hold the truth.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <map>
#include <nlohmann/json.hpp>
#include <vector>

#include "board_scenes.hpp"
#include "cli/process.hpp"
#include "rondure/photo/calibration.hpp"

using namespace rondure;
using namespace rondure::bench;
using render::CameraCurve;

namespace {

enum class CameraFile { kNone, kExact, kViews };

struct Row {
  std::string what;
  CameraFile camera = CameraFile::kNone;
  bool any_curve = false;  // else sRGB
  bool any_ink = false;    // ink spread, and light's in the paper, as chance has them
  bool any_print = false;  // size of the print too
  double hidden_share = 0, part_height_mm = 0, k1 = 0;
  double middle_share = 0, part_share = 0;
};

constexpr double kUPrint_ratio = 2e-4;  // a board measured over its length by calliper
constexpr double kMostPaperSpread_mm = 0.03;
constexpr int kScenesPerCamera = 5;  // where it is calibrated; else every scene has its own

double normal_of(std::mt19937_64& random) {
  return std::sqrt(-2 * std::log(uniform_of(random, 1e-12, 1))) *
         std::cos(2 * kPi * uniform_of(random, 0, 1));
}

// Half of the cameras keep to sRGB, the others are spread over gammas, S-curves, shoulders, sharpening.
CameraCurve any_curve(std::mt19937_64& random) {
  using Kind = CameraCurve::Kind;
  const double kind = uniform_of(random, 0, 1), size = uniform_of(random, 0, 1);
  if (kind < 0.5) return {Kind::kSrgb};
  if (kind < 0.7) return {Kind::kGamma, 1.8 + 0.8 * size};
  if (kind < 0.85) return {Kind::kSCurve, 0.6 * size};
  if (kind < 0.90) return {Kind::kShoulder};
  return {Kind::kSrgb, 0, 0.5 * size};
}

// What one camera is: ten scenes share it.
struct CameraAndPrint {
  Lens lens;
  CameraCurve curve;
  double ink_mm = 0, paper_spread_mm = 0, print_ratio = 0;
};

CameraAndPrint draw_camera(const Row& row, int number) {
  std::mt19937_64 random(static_cast<std::uint64_t>(104729 * (number + 1)));
  CameraAndPrint c;
  c.lens.focal_x_px = c.lens.focal_y_px = uniform_of(random, 2650, 5740);
  c.lens.center_x_px = 639.5 + uniform_of(random, -8, 8),
  c.lens.center_y_px = 479.5 + uniform_of(random, -8, 8);
  c.lens.distortion = {row.k1, 0, 0, 0, 0};
  const CameraCurve curve = any_curve(random);
  if (row.any_curve) c.curve = curve;
  const double ink = 0.008 + 0.02 * normal_of(random), print = kUPrint_ratio * normal_of(random);
  if (row.any_ink) c.ink_mm = ink, c.paper_spread_mm = uniform_of(random, 0, kMostPaperSpread_mm);
  if (row.any_print) c.print_ratio = print;
  return c;
}

std::vector<std::string> write_views(const Folder& folder, const CameraAndPrint& c) {
  std::vector<std::string> files;
  for (int i = 0; i < kCalibrationViews; ++i) {
    files.push_back(folder.path("view" + std::to_string(i) + ".jpg"));
    render::write_jpeg(
        files.back(), render::take_picture(calibration_view(i, c.lens, c.curve, c.ink_mm, c.paper_spread_mm)),
        95);
  }
  return files;
}

std::string program() {
  return (std::filesystem::read_symlink("/proc/self/exe").parent_path() / "../../rondure")
      .lexically_normal()
      .string();
}

bool make_camera_file(const Folder& folder, const Row& row, const CameraAndPrint& c) {
  if (row.camera == CameraFile::kExact) {
    Calibration known;
    known.kind = CalibrationKind::kCamera;
    known.when = "2026-01-01T00:00:00Z";
    CameraCalibration& camera = known.camera.emplace();
    camera.width_px = 1280, camera.height_px = 960;
    camera.lens = c.lens;
    const double u = 1e-4 * c.lens.focal_x_px;
    camera.covariance(0, 0) = camera.covariance(1, 1) = camera.covariance(0, 1) = camera.covariance(1, 0) =
        u * u;
    camera.ink_mm = Estimate{c.ink_mm, 2e-4};
    folder.write("camera.json", to_json(known));
    return true;
  }
  std::vector<std::string> arguments = {"calibrate", "camera"};
  for (const std::string& view : write_views(folder, c)) arguments.push_back(view);
  for (const char* more : {"--board", "7x5", "--square", "5mm", "-o"}) arguments.emplace_back(more);
  arguments.push_back(folder.path("camera.json"));
  RunOptions how;
  how.program = program();
  const Run run = rondure_run(arguments, how);
  if (run.exit_code != 0) fmt::print(stderr, "calibrate camera: {}", run.err);
  return run.exit_code == 0;
}

struct Tally {
  std::vector<double> errors_px;
  double sum = 0, square = 0, z2 = 0, u2 = 0, ovality2 = 0, u_ovality = 0;
  int missed = 0, held = 0, ovality_seen = 0, ovality_held = 0, called_oval = 0, round = 0;
};

void take(Tally& tally, const BoardScene& s, double ovality_mm, const nlohmann::json& feature) {
  const auto& circle = feature.at("circle");
  const double truth_mm = 2 * s.part_radius_mm, error_mm = circle.at("diameter_mm").get<double>() - truth_mm;
  if (!circle.contains("u_diameter_mm") || !circle.contains("interval95_mm")) {
    ++tally.missed;
    return;
  }
  const double u_mm = circle.at("u_diameter_mm");
  const double error_px = error_mm / 2 * s.px_per_mm;
  tally.errors_px.push_back(error_px);
  tally.sum += error_px, tally.square += error_px * error_px;
  tally.z2 += std::pow(error_mm / u_mm, 2), tally.u2 += std::pow(u_mm / 2 * s.px_per_mm, 2);
  tally.held += circle.at("interval95_mm")[0] <= truth_mm && truth_mm <= circle.at("interval95_mm")[1];
  if (!feature.contains("ellipse") || !feature["ellipse"].contains("ovality_interval95_mm")) return;
  const auto& e = feature["ellipse"];
  ++tally.ovality_seen;
  tally.ovality2 += std::pow((e.at("ovality_mm").get<double>() - ovality_mm) * s.px_per_mm, 2);
  tally.u_ovality += std::pow(e.at("u_ovality_mm").get<double>() * s.px_per_mm, 2);
  const double low = e["ovality_interval95_mm"][0], high = e["ovality_interval95_mm"][1];
  const bool holds = low <= ovality_mm + 1e-9 && ovality_mm <= high;
  tally.ovality_held += holds;
  if (ovality_mm == 0) ++tally.round, tally.called_oval += !holds;
}

// The second harmonic of the diameter as read and as true, px: cosine and sine along the part's x axis.
Eigen::Vector2d oval_vector(double size, double axis_deg) {
  return size * Eigen::Vector2d(std::cos(2 * axis_deg * kPi / 180), std::sin(2 * axis_deg * kPi / 180));
}

void print_scene(const Row& row, const SceneOptions& o, const BoardScene& s, double error_px,
                 const nlohmann::json& feature) {
  const auto& c = feature["circle"];
  fmt::print(stderr,
             "{} {} q{} curve {} {:.2f} {:.2f} ink {:+.4f} spread {:.4f} blur {:.2f} well {:.0f} R {:.0f} "
             "err {:+.4f} u {:.4f} px",
             row.what[0], o.number, s.jpeg_quality, static_cast<int>(o.curve.kind), o.curve.parameter,
             o.curve.sharpening, o.ink_mm, o.paper_spread_mm, s.scene.optics.blur_px,
             s.scene.sensor.full_well_e, s.part_radius_mm * s.px_per_mm, error_px,
             c["u_diameter_mm"].get<double>() / 2 * s.px_per_mm);
  if (feature.contains("ellipse") && feature["ellipse"].contains("ovality_interval95_mm")) {
    const auto& e = feature["ellipse"];
    const double px = s.px_per_mm, low = e["ovality_interval95_mm"][0], high = e["ovality_interval95_mm"][1];
    Eigen::Vector2d off = -oval_vector(o.ovality_mm * px, std::fmod(137.508 * o.number, 180.0));
    for (const auto& h : feature.value("harmonics", nlohmann::json::array()))
      if (h["upr"] == 2)
        off += oval_vector(4 * h["amplitude_mm"].get<double>() * px, h.value("phase_deg", 0.0));
    fmt::print(stderr, " oval {:.4f} read {:.4f} u {:.4f} in {:.4f} {:.4f} held {} off {:+.4f} {:+.4f}",
               o.ovality_mm * px, e["ovality_mm"].get<double>() * px, e["u_ovality_mm"].get<double>() * px,
               low * px, high * px, low <= o.ovality_mm + 1e-9 && o.ovality_mm <= high, off.x(), off.y());
  }
  for (const auto& entry : feature["budget"])
    fmt::print(stderr, " [{} {:.4f}]", entry["source"].get<std::string>(),
               entry["u_mm"].get<double>() / 2 * s.px_per_mm);
  fmt::print(stderr, "\n");
}

void study(const Row& row, int first, int scenes, bool verbose) {
  Tally tally;
  const Folder folder;
  CameraAndPrint camera;
  bool camera_made = false;
  for (int number = first; number < first + scenes; ++number) {
    const int together = row.camera == CameraFile::kViews ? kScenesPerCamera : 1;
    if (number % together == 0 || number == first) {
      camera = draw_camera(row, number / together);
      if (row.camera != CameraFile::kNone) camera_made = make_camera_file(folder, row, camera);
    }
    std::mt19937_64 random(static_cast<std::uint64_t>(15485863 * (number + 1)));
    SceneOptions o{.number = number, .k1 = row.k1, .hidden_share = row.hidden_share};
    o.lens = camera.lens, o.curve = camera.curve;
    o.ink_mm = camera.ink_mm, o.paper_spread_mm = camera.paper_spread_mm, o.print_ratio = camera.print_ratio;
    o.part_height_mm = row.part_height_mm;
    o.middle_share = row.middle_share, o.part_share = row.part_share;
    // Half of the parts are round, the others oval by up to a hundredth of their diameter.
    const double ovality = std::max(0.0, uniform_of(random, -0.01, 0.01)) * 2 * (row.part_share > 0 ? 8 : 12);
    o.ovality_mm = ovality;
    const BoardScene s = random_scene(o);
    const render::Image image = render::take_picture(s.scene);
    const std::string file = folder.path(s.jpeg_quality ? "scene.jpg" : "scene.png");
    if (s.jpeg_quality)
      render::write_jpeg(file, image, s.jpeg_quality);
    else
      render::write_png(file, image);
    const PixelPoint at = s.scene.camera.project({s.part_center.x(), s.part_center.y(), row.part_height_mm});
    std::vector<std::string> arguments = {"measure",
                                          file,
                                          "--board",
                                          "5x7",
                                          "--square",
                                          "5mm",
                                          "--near",
                                          fmt::format("{:.0f},{:.0f}", at.x_px, at.y_px),
                                          "--board-uncertainty",
                                          fmt::format("{}%", row.any_print ? 100 * kUPrint_ratio : 0),
                                          "--json",
                                          folder.path("out.json"),
                                          "--quiet",
                                          "--threads",
                                          "1"};
    if (row.camera != CameraFile::kNone)
      arguments.insert(arguments.end(), {"--calibration", folder.path("camera.json")});
    // 0 too: a part that lies flat, else its size is as open as its height.
    arguments.insert(arguments.end(), {"--height", fmt::format("{}mm", row.part_height_mm)});
    std::filesystem::remove(folder.path("out.json"));
    RunOptions how;
    how.program = program();
    if (row.camera != CameraFile::kNone && !camera_made) {
      ++tally.missed;
      continue;
    }
    const Run run = rondure_run(arguments, how);
    if (run.exit_code != 0) {
      ++tally.missed;
      fmt::print(stderr, "scene {}: {}", number, run.err);
      continue;
    }
    const auto record = nlohmann::json::parse(folder.read("out.json"));
    const nlohmann::json* wanted = nullptr;
    for (const auto& feature : record.at("features"))
      if (std::abs(feature.at("circle").at("diameter_mm").get<double>() / (2 * s.part_radius_mm) - 1) < 0.02)
        wanted = &feature;
    if (!wanted) {
      ++tally.missed;
      fmt::print(stderr, "scene {}: another edge was taken for the part\n", number);
      continue;
    }
    take(tally, s, ovality, *wanted);
    if (verbose && !tally.errors_px.empty()) print_scene(row, o, s, tally.errors_px.back(), *wanted);
  }
  const double n = std::max<double>(1, static_cast<double>(tally.errors_px.size())),
               m = std::max(1, tally.ovality_seen);
  std::vector<double> sizes;
  for (const double e : tally.errors_px) sizes.push_back(std::abs(e));
  std::sort(sizes.begin(), sizes.end());
  fmt::print(
      "{:<54} {:>3} {:>2} {:>+8.4f} {:>7.4f} {:>7.4f} {:>7.4f} {:>7.4f} {:>5.2f} {:>6.1f}   {:>7.4f} "
      "{:>7.4f} {:>6.1f} {:>4}/{}\n",
      row.what, tally.errors_px.size(), tally.missed, tally.sum / n, std::sqrt(tally.square / n),
      sizes.empty() ? 0 : sizes[sizes.size() / 2], sizes.empty() ? 0 : sizes.back(), std::sqrt(tally.u2 / n),
      std::sqrt(tally.z2 / n), 100 * tally.held / n, std::sqrt(tally.ovality2 / m),
      std::sqrt(tally.u_ovality / m), 100 * tally.ovality_held / m, tally.called_oval, tally.round);
  std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
  int scenes = 200, first = 0;
  bool verbose = false;
  std::map<int, int> chosen;  // row -> scenes
  for (int i = 1; i < argc; ++i) {
    const std::string word = argv[i];
    if (word == "-v")
      verbose = true;
    else if (word == "-f" && i + 1 < argc)
      first = std::atoi(argv[++i]);
    else if (const std::size_t colon = word.find(':'); colon != std::string::npos)
      chosen[std::atoi(word.c_str())] = std::atoi(word.c_str() + colon + 1);
    else
      scenes = std::atoi(word.c_str());
  }
  fmt::print(
      "Photographs measured end to end by the built program: scenes of tests/bench/board_scenes.hpp (1280 x "
      "960, board beside\n"
      "the part, tilt 2 to 9 deg, blur 0.6 to 1.5 px, full well 1,300 to 22,000 e, PNG and JPEG 95, 85, 75, "
      "radius 165 to 300\n"
      "px, half of the parts oval by up to 1 %). px: radius, and major minus minor diameter. u: as given, "
      "rms. z: error over u,\n"
      "rms. held: share of 95 % intervals that hold the truth. false: round parts whose ovality interval "
      "leaves 0 out.\n"
      "any curve: half of the cameras sRGB, the others gamma 1.8 to 2.6, S-curves to 0.6, a shoulder, "
      "sharpening to 50 %;\n"
      "any print: ink spread of 0.008 +- 0.02 mm and size of +- 0.02 % (standard deviations), "
      "--board-uncertainty 0.02%,\n"
      "light spreading in its paper by 0 to 0.03 mm. any ink: the same but for the size.\n\n");
  fmt::print("{:<54} {:>3} {:>2} {:>8} {:>7} {:>7} {:>7} {:>7} {:>5} {:>6}   {:>7} {:>7} {:>6} {:>6}\n",
             "row", "n", "no", "bias", "rms", "median", "worst", "u", "z", "held %", "ov rms", "u", "held %",
             "false");
  const Row rows[] = {
      {"0 sRGB, no camera file", CameraFile::kNone},
      {"1 sRGB, camera and ink known", CameraFile::kExact},
      {"2 sRGB, camera known, a fifth of the board hidden", CameraFile::kExact, false, false, false, 0.2},
      {"3 sRGB, lens from 10 views, part 5 mm up, k1 -0.15", CameraFile::kViews, false, false, false, 0, 5,
       -0.15},
      {"4 any curve and print, no camera file", CameraFile::kNone, true, true, true},
      {"5 any curve and print, camera from 10 views, k1 -0.15", CameraFile::kViews, true, true, true, 0, 0,
       -0.15},
      {"6 any curve and ink, camera from 10 views, k1 -0.15", CameraFile::kViews, true, true, false, 0, 0,
       -0.15},
      {.what = "7 sRGB, camera known, the board's middle hidden: 30 %",
       .camera = CameraFile::kExact,
       .middle_share = 0.3},
      {.what = "8 sRGB, camera known, part on the board: 10 % of it",
       .camera = CameraFile::kExact,
       .part_share = 0.1},
      {.what = "9 sRGB, camera known, part on the board: 30 % of it",
       .camera = CameraFile::kExact,
       .part_share = 0.3},
  };
  for (int i = 0; i < static_cast<int>(std::size(rows)); ++i)
    if (chosen.empty() || chosen.count(i))
      study(rows[i], first, chosen.empty() ? scenes : chosen[i], verbose);
}
