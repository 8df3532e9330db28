// What the renderer draws: a camera, a chessboard on the plane z = 0, round parts standing on or above it,
// light, sensor.
//
// Board frame, mm: origin at the first inner corner, x to the right, y UP, z out of the board towards the
// camera. The other inner corners lie at (i square, -j square). Pixels: x to the right, y DOWN, the centre of
// the first pixel is (0, 0). Light is linear, 1 = the sensor's full scale. Nothing here is taken from the
// measuring code but the Lens.
#pragma once
#include <Eigen/Core>
#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "rondure/photo/measuring_plane.hpp"

namespace rondure::render {

using Level = std::array<double, 3>;  // reflectance or transmitted light of red, green, blue, 0 to 1
constexpr Level grey(double v) { return {v, v, v}; }

struct Camera {
  int width_px = 1280, height_px = 960;
  Lens lens;
  Eigen::Matrix3d rotation = Eigen::Matrix3d::Identity();  // camera from board; the camera looks along its +z
  Eigen::Vector3d translation_mm = Eigen::Vector3d::Zero();

  // A view from straight above of `px_per_mm` with the board's point `at` in the middle; far away, so that
  // height does not matter.
  static Camera square_on(int width_px, int height_px, double px_per_mm, Eigen::Vector2d at = {0, 0});
  // Looks at `at` (on the board) from `distance_mm`, leaning `tilt_deg` away from the vertical towards
  // `towards_deg` (board direction), turned by `turn_deg` about its own axis.
  static Camera looking_at(int width_px, int height_px, const Lens& lens, Eigen::Vector2d at,
                           double distance_mm, double tilt_deg, double towards_deg, double turn_deg = 0);
  Eigen::Vector3d position_mm() const { return -rotation.transpose() * translation_mm; }  // board frame
  PixelPoint project(const Eigen::Vector3d& board_mm) const;
};

struct Board {
  int columns = 9, rows = 6;  // inner corners
  double square_mm = 5;
  double ink_mm = 0;  // every black edge is printed this much outwards
  // Light spreads so far inside the paper: white beside ink starts at half and comes on as 1 - exp(-d /
  // spread) / 2 (optical gain, the model of Yule and Nielsen 1951 with an exponential spread; from memory).
  double spread_mm = 0;
  Level black = grey(0.05), white = grey(0.7);
  bool first_black = true;  // the square above and left of the first inner corner
};

// r(t) = radius + sum of amplitude cos(upr (t - phase)) + bumps; t counter-clockwise from +x.
struct Lobe {
  int upr = 2;
  double amplitude_mm = 0, phase_deg = 0;
};
// A nib (height > 0) or chip (height < 0): height times (1 + cos)/2 over `width_mm` of the edge.
struct Bump {
  double at_deg = 0, width_mm = 0.5, height_mm = 0.1;
};
struct Profile {
  double radius_mm = 5;
  std::vector<Lobe> lobes;
  std::vector<Bump> bumps;
  double at(double direction_rad, double* slope_mm_per_rad = nullptr) const;
};

// One thing drawn over what lies below it, in order.
struct Layer {
  enum class Kind {
    kSolid,  // an upright body: covers every ray that touches it between z_low and z_high
    kHole,   // shows the ground to the rays that pass it freely from z_low to z_high
    kSpot,   // dust, fibre, a hand: everything within radius of the line from `center` to `end`, at z_high
    kCard,   // a rectangle on the board with the corners `center` and `end`
  } kind = Kind::kSolid;
  std::string name;  // goes into the truth; empty = not a feature
  Eigen::Vector2d center{0, 0}, end{0, 0};
  Profile profile;
  double z_low_mm = 0, z_high_mm = 0;
  Level level = grey(0.2);  // kHole: unused
};

// A soft shadow on the ground: light is multiplied by 1 - depth inside, with an edge `softness_mm` wide.
struct Shadow {
  Eigen::Vector2d center{0, 0};
  double radius_mm = 5, softness_mm = 1, depth = 0.5;
};

struct Light {
  double exposure = 1;
  double fall_x = 0, fall_y = 0;  // relative change from the middle to the right / upper side of the picture
  double vignette = 0;            // relative loss in the corners
  std::vector<Shadow> shadows;
};

struct Optics {
  double blur_px = 0.8;   // Gaussian sigma of the lens, without the pixel's own box (1/12 px^2)
  double defocus_px = 0;  // radius of a round defocus spot, on top
  double smear_px = 0;    // length of a one-sided smear along x, on top
};

struct Sensor {
  double full_well_e = 0;  // photo-electrons at full scale; 0 = no photon noise
  double read_noise_e = 0;
  double noise_light = 0;  // white noise of this standard deviation in light, on top
  std::uint64_t seed = 1;
};

struct CameraCurve {
  enum class Kind { kLinear, kSrgb, kGamma, kSCurve, kShoulder, kSaturating } kind = Kind::kSrgb;
  double parameter = 0;   // kGamma: exponent (2.2); kSCurve: strength on top of sRGB; kSaturating: of 1 - exp
  double sharpening = 0;  // share of an unsharp mask (sigma 1 px) added after the curve
  double value(double light) const;  // 0..1 -> 0..1
};

struct Scene {
  Camera camera;
  std::optional<Board> board;
  Level ground = grey(0.7);  // where there is no board
  std::vector<Layer> layers;
  Light light;
  Optics optics;
  Sensor sensor;
  CameraCurve tone;
  int channels = 1;  // 1 grey, 3 colour
  int bits = 8;      // 8 or 16
};

struct Image {
  int width_px = 0, height_px = 0, channels = 1, bits = 8;
  std::vector<std::uint16_t> samples;  // row by row, channels together
  int dots_per_metre = 0;              // stated in a PNG; 0 = nothing stated
};

// Light before noise, clipping and tone curve: exact to about 1e-3 px of edge position (area-true at a
// quarter pixel, then the exact kernel); row by row, channels together.
std::vector<float> render_light(const Scene& scene);
Image take_picture(const Scene& scene);

// Truth of every named layer and of the camera, as JSON text.
std::string truth_json(const Scene& scene, const std::string& picture_name);

}  // namespace rondure::render
