// How far a gauge pin beside the part brings the uncertainty down, and whether the intervals hold: pictures of a
// board, a part of 12.4 mm and a pin of 12 mm, all drawn anew for each set: print of the board (0.1 % standard
// deviation), pin (0.002 mm), place, light, noise and JPEG quality.
#include <cstdio>
#include <fstream>
#include <random>

#include "bench/board_scenes.hpp"
#include "rondure/interpret/outline.hpp"
#include "rondure/photo/reference_piece.hpp"

using namespace rondure;
using namespace rondure::bench;

namespace {

constexpr int kSets = 200;
constexpr double kPart = 12.4, kPin = 12.0, kPinU = 0.002, kPrintU = 0.001, kPxPerMm = 14;
const Lens kLens{2900, 2900, 319.5, 239.5, {}};

struct Row {
  const char* what;
  render::CameraCurve curve;
  double pin_light = 0.08;  // the part's is 0.05
  bool random_gamma = false;
  bool camera = false;  // known, and with it the ink
};

struct Drawn {
  render::Scene scene;
  double pin_mm = 0;
  int quality = 0;
};

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
  d.scene.camera = render::Camera::looking_at(640, 480, kLens, {middle_x, middle_y}, 2900 / kPxPerMm, uniform(2, 8),
                                              uniform(0, 360), uniform(-2, 2));
  d.scene.board = render::Board{.columns = 4,
                                .rows = 5,
                                .square_mm = 5 * (1 + kPrintU * normal()),
                                .black = render::grey(uniform(0.03, 0.08)),
                                .white = render::grey(uniform(0.55, 0.75))};
  d.scene.ground = d.scene.board->white;
  d.pin_mm = kPin + kPinU * normal();
  const auto disc = [&](double x, double y, double diameter, double light) {
    render::Layer layer;
    layer.name = "disc";
    layer.center = {x, y};
    layer.profile.radius_mm = diameter / 2;
    layer.level = render::grey(light);
    d.scene.layers.push_back(layer);
  };
  disc(middle_x + uniform(13.5, 14.5), middle_y + uniform(7.5, 8.5), kPart, 0.05);
  disc(middle_x + uniform(13.5, 14.5), middle_y - uniform(7.5, 8.5), d.pin_mm, row.pin_light);
  d.scene.light.fall_x = uniform(-0.1, 0.1), d.scene.light.fall_y = uniform(-0.1, 0.1);
  d.scene.optics.blur_px = uniform(0.6, 1.3);
  d.scene.tone = row.curve;
  if (row.random_gamma) d.scene.tone = {render::CameraCurve::Kind::kGamma, uniform(2.0, 2.4), 0};
  d.scene.sensor = {.full_well_e = uniform(3000, 15000), .read_noise_e = 6, .seed = random()};
  static constexpr int kQuality[] = {0, 95, 85};
  d.quality = kQuality[random() % 3];
  return d;
}

Circle mean_circle(const RoundEdge& edge) {
  Eigen::Vector2d c = Eigen::Vector2d::Zero();
  for (const MeasuredPoint& p : edge.points) c += p.at.vec() / static_cast<double>(edge.points.size());
  double r = 0;
  for (const MeasuredPoint& p : edge.points) r += (p.at.vec() - c).norm() / static_cast<double>(edge.points.size());
  return {PartPoint::from(c), r};
}

struct Tally {
  int sets = 0, refused = 0, held = 0, held_board = 0;
  double square = 0, u = 0, worst_u = 0, u_board = 0, square_board = 0;
};

void one(const Row& row, int number, Tally& tally) {
  const Drawn d = draw(row, number);
  const Picture picture = photograph(d.scene, d.quality);
  std::optional<CameraCalibration> camera;
  if (row.camera) {
    camera.emplace();
    camera->lens = kLens, camera->width_px = 640, camera->height_px = 480;
    Eigen::Matrix<double, 9, 1> sd;
    sd << 0.5, 0.5, 0.5, 0.5, 1e-4, 1e-4, 1e-5, 1e-5, 1e-4;
    camera->covariance = sd.cwiseAbs2().asDiagonal();
    camera->ink_mm = Estimate{0, 0.001};
  }
  const auto plane = plane_from_board(picture, {4, 5, 5}, camera, {});
  if (!plane) return void(++tally.refused);
  const auto place = [&](const render::Layer& layer) {
    return d.scene.camera.project({layer.center.x(), layer.center.y(), 0});
  };
  const ReferencePiece piece{{kPin, kPinU}, place(d.scene.layers[1]), std::nullopt};
  const auto reading = read_reference_piece(picture, *plane, piece, {});
  EdgeOptions near;
  near.near = place(d.scene.layers[0]);
  const auto edges = find_round_edges(picture, *plane, near);
  if (!reading || !edges) return void(++tally.refused);
  const auto scale = ReferenceScale::from({*reading}, plane->u_scale_ratio);
  if (!scale) return void(++tally.refused);
  const Circle circle = mean_circle(edges->front());
  const double noise_mm = 0.01 / kPxPerMm;
  const ReferencedDiameter by = scale->apply_to(circle_reading(*plane, edges->front(), circle, 0));
  const double u = std::hypot(by.u_mm(), noise_mm), off = circle.diameter_mm() + by.shift_mm - kPart;
  const double u_board = std::hypot(u_from_plane(*plane, circle).total_mm(), 2 * edges->front().u_edge_offset_mm),
               off_board = circle.diameter_mm() - kPart;
  ++tally.sets;
  tally.held += std::abs(off) < 1.96 * u, tally.held_board += std::abs(off_board) < 1.96 * u_board;
  tally.square += off * off, tally.square_board += off_board * off_board;
  tally.u += u, tally.u_board += u_board, tally.worst_u = std::max(tally.worst_u, u);
}

}  // namespace

int main() {
  const Row rows[] = {
      {"no camera file, pin as dark as the part, sRGB", {}},
      {"camera file, sRGB", {}, 0.08, false, true},
      {"camera file, gamma 2.0 to 2.4", {}, 0.08, true, true},
      {"camera file, bright pin (light 0.35), gamma 2.0 to 2.4", {}, 0.35, true, true},
  };
  std::string table =
      "# reference piece in the picture: part 12.4 mm, pin 12 mm +- 0.002 mm, board's print +- 0.1 %, 14 px/mm;\n"
      "# " + std::to_string(kSets) + " drawn sets a row, seeds 11 + 104729 n\n"
      "row,sets,refused,rms_mm,mean_u_mm,largest_u_mm,held_of_95,rms_board_alone_mm,mean_u_board_alone_mm,held_board_alone\n";
  for (const Row& row : rows) {
    Tally t;
    for (int n = 0; n < kSets; ++n) one(row, n, t);
    char line[300];
    const double n = std::max(1, t.sets);
    std::snprintf(line, sizeof line, "\"%s\",%d,%d,%.4f,%.4f,%.4f,%.3f,%.4f,%.4f,%.3f\n", row.what, t.sets, t.refused,
                  std::sqrt(t.square / n), t.u / n, t.worst_u, t.held / n, std::sqrt(t.square_board / n), t.u_board / n,
                  t.held_board / n);
    table += line;
    std::fputs(line, stdout);
    std::fflush(stdout);
  }
  std::ofstream(RONDURE_TEST_DATA "/studies/reference_piece.csv") << table;
}
