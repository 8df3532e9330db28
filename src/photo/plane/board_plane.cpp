#include "rondure/photo/board_plane.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "photo/board/board_fit.hpp"
#include "photo/plane/plane_parameters.hpp"
#include "rondure/core/median.hpp"
#include "rondure/core/warning.hpp"

namespace rondure {
namespace {

// What is left of an edge's place once the curve has been learned with the ink known: rms over cameras of
// gamma 1.8 to 2.6, S-curves, shoulders, defocus and sharpening (simulated), part of another contrast than
// the board.
constexpr double kLearnedTone_px = 0.016;
// A growth of the board's edges that cannot be told apart into ink and tone may be all tone; the part then
// has about this share of it (0.45 to 0.95 by contrast).
constexpr double kPartShare = 0.7;
// Of the edge offset, standard: besides that share where the curve is not learned, and in linear light, where
// only noise and the model of an edge are left. By judgement.
constexpr double kUnlearnedTone_px = 0.02;
constexpr double kLinear_px = 0.002;
constexpr double kLeastMisfit_px = 0.02;  // below it a noiseless picture only shows what no board is flat to
constexpr double kLensMissingChi =
    5;  // a flat printed board through a real lens, no distortion model: chi 5 to 18

// A bend too small to be worth a word may still move a size beside the board by ten times the residual.
constexpr double kBentChi = 2, kBentMisfit_px = 0.003;

struct ToneOfBoard {
  ToneCurve curve;
  bool known = false;
  double u_edge_px = 0;
};

// Gamma such that the board's edges show the ink and nothing else: secant steps on the whole view.
std::optional<ViewFit> fit_gamma(const Picture& picture, const FoundBoard& board, double square_mm,
                                 const Estimate& ink, const ViewFit& first, const std::optional<Lens>& lens,
                                 const std::optional<LensPrior>& prior, ToneCurve& curve) {
  double excess = first.growth_px - ink.value * first.px_per_mm;
  double slope = 0.7 * first.blur_px;
  ViewFit view = first;
  for (int step = 0; step < 4 && std::abs(excess) > 5e-4; ++step) {
    ToneCurve next = curve;
    next.gamma_shift = std::clamp(curve.gamma_shift - std::clamp(excess / slope, -0.25, 0.25), -0.6, 0.9);
    if (next.gamma_shift == curve.gamma_shift) return {};
    auto fitted = fit_view(picture, board, square_mm, next, view.fit.h, lens, prior);
    if (!fitted) return {};
    const double now = fitted->growth_px - ink.value * fitted->px_per_mm;
    const double measured = (now - excess) / (next.gamma_shift - curve.gamma_shift);
    if (measured > 0.1 * first.blur_px) slope = measured;
    curve = next, excess = now, view = std::move(*fitted);
  }
  if (std::abs(excess) > 0.01) return {};
  return view;
}

double tilt_deg(const Eigen::Matrix3d& h, const Lens& lens) {
  const Vector6 pose = pose_from_homography(h, lens);
  const double angle = pose.head<3>().norm();
  const Eigen::Vector3d normal =
      Eigen::AngleAxisd(angle, pose.head<3>() / std::max(angle, 1e-12)) * Eigen::Vector3d::UnitZ();
  return deg(std::acos(std::min(1.0, std::abs(normal.z()))));
}

// Means of the edges that face each way, then of those.
void add_shape(const std::vector<SideFit>& sides, BoardEdges& edges) {
  struct Facing {
    double count = 0, skew = 0, square = 0, peak = 0;
  };
  std::array<Facing, 4> facing;
  for (const SideFit& s : sides) {
    if (!s.used) continue;
    const Eigen::Vector2d& n = s.observation[0].normal_board;
    const bool across_x = std::abs(n.x()) > std::abs(n.y());
    Facing& f = facing[(across_x ? 0 : 2) + ((across_x ? n.x() : n.y()) > 0)];
    f.count += 1, f.skew += s.skew, f.square += s.skew * s.skew, f.peak += s.peak;
  }
  double ways = 0, variance = 0;
  for (const Facing& f : facing) {
    if (f.count < 4) continue;
    const double mean = f.skew / f.count;
    edges.skew += mean, edges.peak += f.peak / f.count, ways += 1;
    variance += (f.square / f.count - mean * mean) / (f.count - 1);
  }
  if (ways == 0) {
    edges.u_skew = std::numeric_limits<double>::infinity();
    return;
  }
  edges.skew /= ways, edges.peak /= ways;
  edges.u_skew = ways == 4 ? std::sqrt(variance) / ways : std::numeric_limits<double>::infinity();
}

BoardEdges edges_of(const ViewFit& view, const std::optional<Estimate>& ink) {
  std::vector<double> dark, bright;
  for (const SideFit& s : view.sides)
    if (s.used) dark.push_back(s.dark_light), bright.push_back(s.dark_light + s.contrast);
  BoardEdges edges{median(dark),
                   median(bright),
                   view.blur_px,
                   view.growth_px,
                   view.fit.u_growth_mm * view.px_per_mm,
                   view.px_per_mm,
                   ink};
  add_shape(view.sides, edges);
  return edges;
}

// A lens as the bent lines of a board ask for, when it explains them: radial bend free, focal length, middle
// and the rest as of most cameras.
std::shared_ptr<const MeasuringPlane> with_seen_lens(const ViewFit& view, const MeasuringPlane& plane) {
  constexpr double kLeftOver = 0.6;  // of the residual, to count as explained
  constexpr double kUsualFocal = 1.2, kFocalSd = 0.3, kMiddleSd = 0.03;  // of the longer side, the focal, it
  const double size = std::max(plane.width_px, plane.height_px);
  const double cx = (plane.width_px - 1) / 2.0, cy = (plane.height_px - 1) / 2.0;
  const double focal =
      std::clamp(focal_from_homography(plane.ideal_from_board, cx, cy).value_or(kUsualFocal * size),
                 0.6 * size, 6 * size);
  const Lens lens{focal, focal, cx, cy, {}};
  Vector9 sd;
  sd << kFocalSd * focal, kFocalSd * focal, kMiddleSd * size, kMiddleSd * size, 0.5, 0.1, 1e-3, 1e-3, 1e-3;
  Matrix9 covariance = sd.cwiseAbs2().asDiagonal();
  covariance(0, 1) = covariance(1, 0) = sd(0) * sd(1) * (1 - 1e-4);  // square pixels
  const PlaneFit bent = refine_plane(view.sides, view.fit.h, lens, LensPrior{lens_vector(lens), covariance});
  if (!bent.converged || !bent.lens || !(bent.rms_px < kLeftOver * view.fit.rms_px)) return {};
  MeasuringPlane out = map_of(bent.h, bent.lens);
  out.width_px = plane.width_px, out.height_px = plane.height_px;
  out.covariance = bent.covariance;
  return std::make_shared<const MeasuringPlane>(std::move(out));
}

std::vector<PixelPoint> outline_of(const FoundBoard& board, double square_mm, const MeasuringPlane& plane) {
  std::vector<PixelPoint> outline;
  const double c = board.columns, r = board.rows;
  for (const auto& [x, y] : {std::pair{-1.0, 1.0}, {c, 1.0}, {c, -r}, {-1.0, -r}})
    if (const auto pixel = pixel_from_part(plane, {x * square_mm, y * square_mm})) outline.push_back(*pixel);
  return outline;
}

}  // namespace

Result<BoardPlane> fit_board_plane(const Picture& picture, const BoardSize& size,
                                   const std::optional<CameraCalibration>& given,
                                   const BoardPlaneOptions& options) {
  std::optional<CameraCalibration> camera;
  if (given) {
    auto turned = camera_for(*given, picture);
    if (!turned) return turned.error();
    camera = *turned;
  }
  auto found = find_board(picture, size);
  if (!found) return found.error();
  std::optional<Lens> lens;
  std::optional<LensPrior> prior;
  if (camera) lens = camera->lens, prior = LensPrior{lens_vector(camera->lens), camera->covariance};
  const auto start = homography_from_corners(*found, size.square_mm, lens);
  if (!start) return start.error();

  ToneOfBoard tone;
  if (options.linear_light)
    tone.curve.linear = true;
  else if (camera)
    tone.curve = camera->tone;
  auto view = fit_view(picture, *found, size.square_mm, tone.curve, *start, lens, prior);
  if (!view) return view.error();
  std::optional<Estimate> ink = options.ink_mm;
  if (!ink && camera) ink = camera->ink_mm;
  tone.u_edge_px = std::hypot(kPartShare * view->growth_px / std::sqrt(3.0), kUnlearnedTone_px);
  if (options.linear_light) {
    tone.known = true;
    tone.u_edge_px = kLinear_px;
  } else if (ink) {
    ToneCurve curve = tone.curve;
    if (auto learned = fit_gamma(picture, *found, size.square_mm, *ink, *view, lens, prior, curve)) {
      tone = {curve, true, std::hypot(kLearnedTone_px, kPartShare * ink->u * view->px_per_mm)};
      view = std::move(*learned);
    }
  }

  BoardPlane out;
  MeasuringPlane& plane = out.plane;
  plane = map_of(view->fit.h, view->fit.lens);
  plane.width_px = picture.width_px, plane.height_px = picture.height_px;
  plane.covariance = view->fit.covariance;
  plane.u_scale_ratio = options.u_board_ratio;
  plane.u_edge_offset_px = tone.u_edge_px;
  plane.tone = tone.curve, plane.tone_known = tone.known;
  plane.board_blur_px = view->blur_px;
  if (!options.linear_light) plane.board_edges = edges_of(*view, ink);
  plane.board_squares = BoardSquares{found->columns, found->rows, size.square_mm};
  plane.outline = outline_of(*found, size.square_mm, plane);
  out.sides = static_cast<int>(view->sides.size()), out.sides_used = view->used;
  out.rms_px = view->fit.rms_px, out.chi = view->fit.chi;
  out.growth_px = view->growth_px, out.u_growth_px = view->fit.u_growth_mm * view->px_per_mm;
  out.px_per_mm = view->px_per_mm, out.blur_px = view->blur_px;
  if (plane.lens) {
    out.tilt_deg = tilt_deg(plane.ideal_from_board, *plane.lens);
  } else if (const auto focal = focal_from_homography(plane.ideal_from_board, (plane.width_px - 1) / 2.0,
                                                      (plane.height_px - 1) / 2.0)) {
    out.tilt_deg = tilt_deg(plane.ideal_from_board,
                            {*focal, *focal, (plane.width_px - 1) / 2.0, (plane.height_px - 1) / 2.0, {}});
  }
  plane.description =
      "chessboard " + size.text() + " in the picture" + (camera ? "" : ", no lens distortion assumed");
  if (!camera && out.chi > kBentChi && out.rms_px > kBentMisfit_px) plane.bent = with_seen_lens(*view, plane);
  if (!camera && out.chi > kLensMissingChi && out.rms_px > kLeastMisfit_px)
    plane.warnings.push_back(
        {"lens-not-calibrated",
         "the board's lines are bent or unevenly spaced (residual " +
             std::to_string(out.rms_px).substr(0, 5) + " px, noise explains " +
             std::to_string(out.rms_px / out.chi).substr(0, 5) +
             " px): calibrate the camera, or use a flatter board" +
             (plane.bent ? "; what such a lens does to the size is in the uncertainty" : "")});
  else if (camera && out.chi > kLensMissingChi && out.rms_px > kLeastMisfit_px)
    plane.warnings.push_back(
        {"board-not-flat", "the board's lines do not fit the calibrated lens (residual " +
                               std::to_string(out.rms_px).substr(0, 5) +
                               " px): the board is bent, or focus or zoom were changed"});
  if (view->clipped_sides > out.sides / 4)
    plane.warnings.push_back(
        {WarningCode::kClippedLight, "white beside the board's edges is at full scale in " +
                                         std::to_string(view->clipped_sides) + " of " +
                                         std::to_string(out.sides) + " sides: expose less"});
  out.board = std::move(*found);
  return out;
}

Result<MeasuringPlane> plane_from_board(const Picture& picture, const BoardSize& board,
                                        const std::optional<CameraCalibration>& camera,
                                        const BoardPlaneOptions& options) {
  auto fitted = fit_board_plane(picture, board, camera, options);
  if (!fitted) return fitted.error();
  return std::move(fitted->plane);
}

}  // namespace rondure
