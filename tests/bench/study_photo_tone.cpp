// The camera's tone curve: what the part's edge errs by once the board in the picture has told the curve, ink
// known or not, and what over-exposed light leaves; against the uncertainty given. The library alone, the
// plane from a known camera. Usage: study_photo_tone [SCENES A ROW [FIRST [WORD]]]; WORD: rows that hold it
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <vector>

#include "board_scenes.hpp"
#include "rondure/fit/circle_fit.hpp"
#include "rondure/photo/round_edges.hpp"

using namespace rondure;
using namespace rondure::bench;
using render::CameraCurve;
using Kind = CameraCurve::Kind;

namespace {

struct Reading {
  double error_px = 0, u_px = 0;
};

double radius_mm(const RoundEdge& edge) {
  std::vector<PartPoint> points;
  std::vector<double> sigmas;
  for (const MeasuredPoint& p : edge.points) points.push_back(p.at), sigmas.push_back(p.sigma_mm);
  return fit_circle(points, sigmas)->circle.radius_mm;
}

std::optional<Reading> beside_board(int number, const CameraCurve& curve, double ink_mm, bool ink_known) {
  const BoardScene s = random_scene({.number = number, .ink_mm = ink_mm, .curve = curve});
  const Picture picture = photograph(s.scene, s.jpeg_quality);
  CameraCalibration camera;
  camera.width_px = picture.width_px, camera.height_px = picture.height_px;
  camera.lens = s.scene.camera.lens;
  camera.covariance.topLeftCorner<2, 2>().setConstant(std::pow(1e-4 * camera.lens.focal_x_px, 2));
  if (ink_known) camera.ink_mm = Estimate{ink_mm, 3e-4};
  const auto plane = plane_from_board(picture, s.size, camera);
  if (!plane) return {};
  EdgeOptions options;
  options.near = s.scene.camera.project({s.part_center.x(), s.part_center.y(), 0});
  const auto edges = find_round_edges(picture, *plane, options);
  if (!edges) return {};
  const RoundEdge& edge = edges->front();
  const double u_plane_mm =
      u_from_plane(*plane, {PartPoint::from(s.part_center), s.part_radius_mm}).u_pose_mm / 2;
  return Reading{(radius_mm(edge) - s.part_radius_mm) * s.px_per_mm,
                 std::hypot(edge.u_edge_offset_mm, u_plane_mm) * s.px_per_mm};
}

constexpr double kPxPerMm = 25;

// A dark disc on white ground at `exposure` times full scale, square-on, no board.
std::optional<Reading> over_exposed(int number, double exposure, int quality) {
  std::mt19937_64 random(static_cast<std::uint64_t>(86028121 * (number + 1)));
  const auto uniform = [&](double lo, double hi) { return uniform_of(random, lo, hi); };
  render::Scene scene;
  scene.camera = render::Camera::square_on(480, 460, kPxPerMm);
  scene.ground = render::grey(uniform(0.5, 0.75));
  scene.optics.blur_px = std::sqrt(std::pow(uniform(0.6, 1.3), 2) - 1.0 / 12);
  scene.sensor = {.full_well_e = std::exp(uniform(std::log(2000.0), std::log(15000.0))),
                  .read_noise_e = 5,
                  .seed = static_cast<std::uint64_t>(number + 1)};
  scene.light.fall_x = uniform(-0.1, 0.1), scene.light.fall_y = uniform(-0.1, 0.1);
  scene.light.exposure = exposure / scene.ground[0];
  render::Layer disc;
  disc.profile.radius_mm = uniform(4, 7.5);
  disc.center = {uniform(-0.5, 0.5), uniform(-0.5, 0.5)};
  disc.level = render::grey(uniform(0.03, 0.2));
  scene.layers.push_back(disc);
  const Picture picture = photograph(scene, quality);
  const auto edges = find_round_edges(picture, plane_of_scale(480, 460, kPxPerMm, 0));
  if (!edges) return {};
  const RoundEdge& edge = edges->front();
  return Reading{(radius_mm(edge) - disc.profile.radius_mm) * kPxPerMm, edge.u_edge_offset_mm * kPxPerMm};
}

std::string wanted_rows;

template <class Read>
void row(const std::string& what, int first, int scenes, Read read) {
  if (what.find(wanted_rows) == std::string::npos) return;
  double sum = 0, square = 0, u2 = 0, z2 = 0, worst = 0, worst_z = 0;
  int count = 0, within = 0;
  for (int n = first; n < first + scenes; ++n) {
    const std::optional<Reading> r = read(n);
    if (!r) continue;
    const double z = r->error_px / r->u_px;
    ++count, within += std::abs(z) <= 2;
    sum += r->error_px, square += r->error_px * r->error_px, u2 += r->u_px * r->u_px, z2 += z * z;
    worst = std::max(worst, std::abs(r->error_px)), worst_z = std::max(worst_z, std::abs(z));
  }
  const double c = std::max(1, count);
  fmt::print("{:<46} {:>3} {:>2} {:>+8.4f} {:>7.4f} {:>7.4f} {:>7.4f} {:>5.2f} {:>6.2f} {:>7.1f}\n", what,
             count, scenes - count, sum / c, std::sqrt(square / c), worst, std::sqrt(u2 / c),
             std::sqrt(z2 / c), worst_z, 100 * within / c);
  std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
  const int scenes = argc > 1 ? std::atoi(argv[1]) : 40, first = argc > 2 ? std::atoi(argv[2]) : 0;
  if (argc > 3) wanted_rows = argv[3];
  fmt::print(
      "Tone curves and over-exposure: error of the radius, px, and the standard uncertainty given for it "
      "(edge and plane).\n"
      "Beside a board: scenes of tests/bench/board_scenes.hpp from number {}, camera known, ink spread 0.015 "
      "mm. The\n"
      "saturating curve (1 - exp(-2 L), then gamma 2) is of no family that src/photo/tone/tone_evidence.hpp "
      "knows.\n"
      "2 u: share of errors within two standard uncertainties.\n\n",
      first);
  fmt::print("{:<46} {:>3} {:>2} {:>8} {:>7} {:>7} {:>7} {:>5} {:>6} {:>7}\n", "row", "n", "no", "bias",
             "rms", "worst", "u", "z", "worst", "2 u %");
  const std::pair<const char*, CameraCurve> curves[] = {
      {"sRGB", {}},
      {"gamma 1.8", {Kind::kGamma, 1.8}},
      {"gamma 2.6", {Kind::kGamma, 2.6}},
      {"S-curve 0.4", {Kind::kSCurve, 0.4}},
      {"shoulder", {Kind::kShoulder}},
      {"saturating", {Kind::kSaturating, 2}},
      {"sRGB, sharpened 40 %", {Kind::kSrgb, 0, 0.4}},
  };
  for (const bool known : {true, false})
    for (const auto& [name, curve] : curves)
      row(std::string(name) + (known ? ", ink known" : ", ink not known"), first, scenes,
          [&](int n) { return beside_board(n, curve, 0.015, known); });
  for (const double exposure : {1.0, 1.3, 2.0, 3.0})
    for (const int quality : {0, 95, 85, 75})
      row(fmt::format("white at {} times full scale, {}", exposure,
                      quality ? fmt::format("JPEG {}", quality) : std::string("PNG")),
          first, scenes, [&](int n) { return over_exposed(n, exposure, quality); });
}
