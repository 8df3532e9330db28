// Random photographs of a chessboard with a round part beside it, for studies of the measuring plane.
#pragma once
#include <unistd.h>

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <filesystem>
#include <random>
#include <string>

#include "render/image_file.hpp"
#include "render/scene.hpp"
#include "rondure/photo/board_plane.hpp"

namespace rondure::bench {

struct SceneOptions {
  int number = 0;
  double k1 = 0;            // lens distortion
  double hidden_share = 0;  // of the board, under a grey patch
  double cut_share = 0;     // of the board, beyond the picture's left edge
  double middle_share = 0;  // of the board, under a grey patch on its middle
  double band_mm = 0;       // a grey strip so wide lies across the board's middle, between its long ends
  double part_share = 0;    // the disc lies on the board's middle and covers so much of it
  double ink_mm = 0;
  double part_height_mm = 0;
  std::optional<Lens> lens = {};   // instead of a random one
  render::CameraCurve curve = {};  // sRGB
  double ovality_mm = 0;           // of the disc: major minus minor diameter
  double paper_spread_mm = 0;      // of light in the board's paper
  double print_ratio = 0;          // the board is printed so much too large
};

// A row of a study.
struct SceneRow {
  std::string what;
  SceneOptions scene;
  bool camera = false;  // known
};

struct BoardScene {
  render::Scene scene;
  BoardSize size;
  Eigen::Vector2d part_center;  // board frame, mm
  double part_radius_mm = 0;
  int jpeg_quality = 0;  // 0 = PNG
  double px_per_mm = 0;
};

inline double uniform_of(std::mt19937_64& random, double lo, double hi) {
  return lo + (hi - lo) * static_cast<double>(random() >> 11) * 0x1p-53;
}

// 1280 x 960 (or larger), 5 x 7 inner corners with squares of 58 to 78 px on the left, a disc of 165 to 325
// px radius on the right (so the plane is extrapolated), tilt 2 to 9 deg, blur 0.6 to 1.5 px, full well 1,300
// to 22,000 e, light falling by up to 15 %, black 3 to 10 %, white 50 to 78 %, disc 10 to 30 %, PNG or JPEG
// 95, 85, 75.
inline BoardScene random_scene(const SceneOptions& o) {
  std::mt19937_64 random(static_cast<std::uint64_t>(7919 * o.number + 17));
  const auto uniform = [&](double lo, double hi) { return uniform_of(random, lo, hi); };
  BoardScene s;
  s.size = {5, 7, 5};
  const double square_px = uniform(58, 78), px_per_mm = square_px / 5;
  s.px_per_mm = px_per_mm;
  Lens lens;
  lens.focal_x_px = lens.focal_y_px = uniform(2650, 5740);
  lens.center_x_px = 639.5 + uniform(-8, 8), lens.center_y_px = 479.5 + uniform(-8, 8);
  lens.distortion = {o.k1, 0, 0, 0, 0};
  if (o.lens) lens = *o.lens;
  // Board 6 x 8 squares: 30 x 40 mm, its middle a quarter from the left.
  const double left_px = o.cut_share > 0 ? -o.cut_share * 6 * square_px : uniform(25, 50);
  const double board_middle_x = left_px + 3 * square_px;
  const Eigen::Vector2d middle_mm(2 * 5.0 + (639.5 - board_middle_x) / px_per_mm, -3 * 5.0 + uniform(-2, 2));
  s.scene.camera = render::Camera::looking_at(1280, 960, lens, middle_mm, lens.focal_x_px / px_per_mm,
                                              uniform(2, 9), uniform(0, 360), uniform(-4, 4));
  s.scene.board = render::Board{.columns = 5,
                                .rows = 7,
                                .square_mm = 5 * (1 + o.print_ratio),
                                .ink_mm = o.ink_mm,
                                .spread_mm = o.paper_spread_mm,
                                .black = render::grey(uniform(0.03, 0.10)),
                                .white = render::grey(uniform(0.50, 0.78))};
  s.scene.ground = s.scene.board->white;
  const double radius_px = uniform(165, 300);
  s.part_radius_mm = radius_px / px_per_mm;
  const double right_of_board_px = left_px + 6 * square_px + 30;
  s.part_center = {
      middle_mm.x() +
          (std::min(1270 - radius_px, right_of_board_px + radius_px + uniform(0, 60)) - 639.5) / px_per_mm,
      middle_mm.y() + uniform(-80, 80) / px_per_mm};
  // Drawn apart, so that the rest of a scene is the same whatever covers its board.
  std::mt19937_64 aside(static_cast<std::uint64_t>(15485863 * (o.number + 1)));
  const Eigen::Vector2d board_middle(10 + uniform_of(aside, -2, 2), -15 + uniform_of(aside, -2, 2));
  if (o.part_share > 0)
    s.part_center = board_middle, s.part_radius_mm = std::sqrt(o.part_share * 30 * 40 / kPi);
  render::Layer disc;
  disc.name = "disc";
  disc.center = s.part_center;
  disc.profile.radius_mm = s.part_radius_mm;
  disc.z_low_mm = disc.z_high_mm = o.part_height_mm;
  disc.level = render::grey(uniform(0.10, 0.30));
  if (o.ovality_mm > 0)  // its axis in a direction of its own
    disc.profile.lobes.push_back({2, o.ovality_mm / 4, std::fmod(137.508 * o.number, 180.0)});
  s.scene.layers.push_back(disc);
  if (o.hidden_share > 0) {
    render::Layer patch;
    patch.kind = render::Layer::Kind::kSpot;
    patch.profile.radius_mm = std::sqrt(o.hidden_share * 30 * 40 / kPi);
    const double margin = patch.profile.radius_mm - 5;
    patch.center = patch.end = {uniform(-5 + margin, 25 - margin), uniform(-35 + margin, 5 - margin)};
    patch.level = render::grey(uniform(0.25, 0.45));
    s.scene.layers.push_back(patch);
  }
  if (o.middle_share > 0 || o.band_mm > 0) {
    render::Layer patch;
    patch.kind = o.band_mm > 0 ? render::Layer::Kind::kCard : render::Layer::Kind::kSpot;
    patch.profile.radius_mm = std::sqrt(o.middle_share * 30 * 40 / kPi);
    patch.center = patch.end = board_middle;
    if (o.band_mm > 0)
      patch.center += Eigen::Vector2d(-20, -o.band_mm / 2), patch.end += Eigen::Vector2d(20, o.band_mm / 2);
    patch.level = render::grey(uniform_of(aside, 0.25, 0.45));
    s.scene.layers.push_back(patch);
  }
  s.scene.tone = o.curve;
  s.scene.light.fall_x = uniform(-0.15, 0.15), s.scene.light.fall_y = uniform(-0.1, 0.1);
  s.scene.optics.blur_px = std::sqrt(std::pow(uniform(0.6, 1.5), 2) - 1.0 / 12);
  s.scene.sensor = {
      .full_well_e = std::exp(uniform(std::log(1300), std::log(22000))), .read_noise_e = 6, .seed = random()};
  static constexpr int kQuality[] = {0, 95, 85, 75};
  s.jpeg_quality = kQuality[random() % 4];
  return s;
}

// Ten views of a 7 x 5 board, at distances of 1 to 1.9, tilted up to 30 deg.
inline constexpr int kCalibrationViews = 10;
inline render::Scene calibration_view(int i, const Lens& lens, const render::CameraCurve& curve,
                                      double ink_mm, double paper_spread_mm = 0) {
  static constexpr double kViews[kCalibrationViews][6] = {
      {1.0, 4, 40, 15, -10, 0},   {1.0, 22, 10, 8, -4, 7},    {1.0, 24, 130, 22, -16, 12},
      {1.25, 25, 250, 30, 2, -8}, {1.25, 28, 310, 0, -22, 4}, {1.25, 20, 170, 26, -20, 90},
      {1.6, 28, 70, -8, 2, -15},  {1.6, 26, 190, 38, -22, 9}, {1.9, 27, 280, 40, 8, 3},
      {1.9, 24, 20, -10, -30, 92}};
  const auto& [far, tilt, towards, x, y, turn] = kViews[i];
  render::Scene scene;
  scene.camera =
      render::Camera::looking_at(1280, 960, lens, {x, y}, lens.focal_x_px / 19 * far, tilt, towards, turn);
  scene.board =
      render::Board{.columns = 7, .rows = 5, .square_mm = 5, .ink_mm = ink_mm, .spread_mm = paper_spread_mm};
  scene.ground = scene.board->white;
  scene.tone = curve;
  scene.optics.blur_px = 0.8 + 0.04 * i;
  scene.sensor = {.full_well_e = 9000, .read_noise_e = 6, .seed = static_cast<std::uint64_t>(i + 1)};
  return scene;
}

inline Picture photograph(const render::Scene& scene, int jpeg_quality) {
  const render::Image image = render::take_picture(scene);
  if (jpeg_quality == 0) return render::as_picture(image);
  const auto file =
      std::filesystem::temp_directory_path() / ("rondure-scene-" + std::to_string(::getpid()) + ".jpg");
  render::write_jpeg(file, image, jpeg_quality);
  auto picture = load_picture(file);
  std::filesystem::remove(file);
  return std::move(*picture);
}

// The columns and rows by which the found lattice starts later than the board's own; empty when its corners
// do not agree on it, or lie 1.5 px or more from any of the board's.
inline std::optional<std::pair<int, int>> first_corner(const BoardScene& s, const FoundBoard& board) {
  std::optional<std::pair<int, int>> first;
  for (const BoardCorner& c : board.corners) {
    std::pair<int, int> nearest;
    double least = 1e9;
    for (int i = 0; i < s.size.columns; ++i)
      for (int j = 0; j < s.size.rows; ++j) {
        const PixelPoint p = s.scene.camera.project({5.0 * i, -5.0 * j, 0});
        const double away = std::hypot(p.x_px - c.at.x_px, p.y_px - c.at.y_px);
        if (away < least) least = away, nearest = {i - c.column, j - c.row};
      }
    if (first && *first != nearest) return {};
    first = nearest;
  }
  return first;
}

// What the plane alone makes of the disc's true rim in the picture, read with the estimated plane.
struct RimError {
  double radius_px = 0;
  Eigen::Vector2d second_harmonic_px{0, 0};  // of the radius: cosine and sine
};
inline RimError rim_error(const BoardScene& s, const MeasuringPlane& plane, double height_mm = 0) {
  Eigen::Matrix<double, 5, 5> n = Eigen::Matrix<double, 5, 5>::Zero();
  Eigen::Matrix<double, 5, 1> g = Eigen::Matrix<double, 5, 1>::Zero();
  constexpr int kPoints = 72;
  for (int i = 0; i < kPoints; ++i) {
    const double angle = 2 * kPi * i / kPoints;
    const Eigen::Vector2d out(std::cos(angle), std::sin(angle));
    const Eigen::Vector2d truth = s.part_center + s.part_radius_mm * out;
    const PixelPoint pixel = s.scene.camera.project({truth.x(), truth.y(), height_mm});
    const double miss_px = out.dot(part_from_pixel(plane, pixel)->vec() - truth) * s.px_per_mm;
    Eigen::Matrix<double, 5, 1> row;
    row << 1, out.x(), out.y(), std::cos(2 * angle), std::sin(2 * angle);
    n += row * row.transpose(), g += row * miss_px;
  }
  const Eigen::Matrix<double, 5, 1> x = n.ldlt().solve(g);
  return {x[0], x.tail<2>()};
}
inline double radius_error_px(const BoardScene& s, const MeasuringPlane& plane, double height_mm = 0) {
  return rim_error(s, plane, height_mm).radius_px;
}

}  // namespace rondure::bench
