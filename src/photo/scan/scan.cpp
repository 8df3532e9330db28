#include "rondure/photo/scan.hpp"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <cstdio>

#include "photo/edge/shared_errors.hpp"
#include "rondure/core/length.hpp"
#include "rondure/photo/scale.hpp"

namespace rondure {
namespace {

// What comes of these limits is checked by tests/bench/study_scanner.
constexpr double kLeast_px_per_mm = 2, kMost_px_per_mm = 800;  // 50 to 20,000 dpi
// Another piece, or another resolution, when the reference reads further off: scanners' scales are off by
// parts in a thousand (common practice, no source). Nearly a whole turn: both axes have to cross the rim.
constexpr double kSizeWithin_ratio = 0.03, kLeastCoverage_deg = 330;
constexpr double kMostAxes_ratio = 0.03;     // x and y scales apart by more: no round piece; by judgement
constexpr double kLeastHarmonic_px = 0.003;  // of an edge's second harmonic: never better than this
constexpr double kLeastEdge_px = 0.01;       // per diameter: bevel, pixel response; never better than this
constexpr double kContradiction_u = 5;  // two scans of one piece apart by more: not one piece; by judgement

std::string words(const char* format, double a, double b = 0) {
  char buffer[200];
  std::snprintf(buffer, sizeof buffer, format, a, b);
  return buffer;
}

bool sensible(double px_per_mm) { return px_per_mm >= kLeast_px_per_mm && px_per_mm <= kMost_px_per_mm; }

// Radius, centre and second harmonic of the radius by least squares; points beyond 3 standard deviations (dust)
// left out once.
struct SecondHarmonic {
  Eigen::Matrix<double, 5, 1> x = Eigen::Matrix<double, 5, 1>::Zero();  // radius, cx, cy, cos 2, sin 2
  double rms_mm = 0;
  std::size_t points = 0;
};
SecondHarmonic second_harmonic(std::vector<Eigen::Vector2d> p) {
  Eigen::Vector2d center = Eigen::Vector2d::Zero();
  for (const auto& v : p) center += v / static_cast<double>(p.size());
  SecondHarmonic out;
  for (int round = 0; round < 4; ++round) {
    Eigen::Matrix<double, 5, 5> n = Eigen::Matrix<double, 5, 5>::Zero();
    Eigen::Matrix<double, 5, 1> g = Eigen::Matrix<double, 5, 1>::Zero();
    const auto row_of = [&](const Eigen::Vector2d& v) {
      const Eigen::Vector2d d = v - center;
      const double t = std::atan2(d.y(), d.x());
      Eigen::Matrix<double, 5, 1> row;
      row << 1, std::cos(t), std::sin(t), std::cos(2 * t), std::sin(2 * t);
      return row;
    };
    for (const auto& v : p) {
      const auto row = row_of(v);
      n += row * row.transpose(), g += row * (v - center).norm();
    }
    out.x = n.ldlt().solve(g);
    double sum = 0;
    for (const auto& v : p) sum += std::pow((v - center).norm() - row_of(v).dot(out.x), 2);
    out.rms_mm = std::sqrt(sum / static_cast<double>(p.size()));
    out.points = p.size();
    if (round == 1)
      std::erase_if(p, [&](const Eigen::Vector2d& v) {
        return std::abs((v - center).norm() - row_of(v).dot(out.x)) > 3 * out.rms_mm + 1e-9;
      });
    center += Eigen::Vector2d(out.x(1), out.x(2));
  }
  return out;
}

}  // namespace

Result<Resolution> parse_resolution(std::string_view given) {
  std::string text(given);
  std::erase(text, ' ');
  for (const char* unit : {"dpi", "ppi", "DPI"})
    if (text.ends_with(unit)) {
      text.resize(text.size() - 3);
      const auto dots = parse_number(text);
      if (dots && sensible(*dots / kMmPerInch)) return Resolution{*dots / kMmPerInch, *dots / kMmPerInch};
    }
  const auto scale = parse_scale_px_per_mm(given);
  if (scale && sensible(scale->value)) return Resolution{scale->value, scale->value};
  return Error{ErrorCode::kBadArgument, "--scan: found '" + std::string(given) +
                                            "', needed a resolution such as 600dpi (50 to 20,000)"};
}

Result<Resolution> resolution_of(const Picture& picture) {
  const Resolution r{picture.x_px_per_mm, picture.y_px_per_mm};
  if (sensible(r.x_px_per_mm) && sensible(r.y_px_per_mm)) return r;
  if (r.x_px_per_mm > 0)
    return Error{ErrorCode::kBadCalibration,
                 "the file says " +
                     words("%.0f x %.0f dpi", r.x_px_per_mm * kMmPerInch, r.y_px_per_mm * kMmPerInch) +
                     ", which is no scanner's; needed --scan with the true one, such as --scan 600dpi"};
  return Error{ErrorCode::kBadCalibration,
               "the file says no resolution; needed --scan with it, such as --scan 600dpi"};
}

MeasuringPlane plane_of_scan(const Picture& picture, const Resolution& resolution, const ScannerAxes& axes) {
  const double m = axes.mean_ratio.value, q = axes.difference_ratio.value, s = axes.skew_rad.value;
  const double x = resolution.x_px_per_mm, y = resolution.y_px_per_mm;
  MeasuringPlane plane = plane_of_scale(picture.width_px, picture.height_px, x, 0);
  plane.ideal_from_part << x * (1 + m + q), x * s, 0, 0, -y * (1 + m - q), picture.height_px - 1.0, 0, 0, 1;
  plane.ideal_from_board = plane.ideal_from_part;
  plane.u_scale_ratio = axes.mean_ratio.u;
  // h11 and h22 by q, h12 by s: the mean of both is the scale's.
  plane.covariance = Eigen::MatrixXd::Zero(8, 8);
  const double u_q = axes.difference_ratio.u, u_s = axes.skew_rad.u;
  plane.covariance(0, 0) = x * x * u_q * u_q;
  plane.covariance(4, 4) = y * y * u_q * u_q;
  plane.covariance(0, 4) = plane.covariance(4, 0) = x * y * u_q * u_q;
  plane.covariance(1, 1) = x * x * u_s * u_s;
  plane.description = words("flatbed scan, %.0f dpi, no parallax", x * kMmPerInch);
  return plane;
}

Result<ScannedDisc> read_scanned_disc(const Picture& picture, const Resolution& resolution,
                                      double diameter_mm, const EdgeOptions& options) {
  const MeasuringPlane plane = plane_of_scan(picture, resolution, ScannerAxes{});
  const auto edges = find_round_edges(picture, plane, options);
  if (!edges) return edges.error();
  const RoundEdge* best = nullptr;
  SecondHarmonic read;
  for (const RoundEdge& edge : *edges) {
    std::vector<Eigen::Vector2d> p;
    for (const MeasuredPoint& m : edge.points) p.push_back(m.at.vec());
    const SecondHarmonic h = second_harmonic(std::move(p));
    if (!best || std::abs(2 * h.x(0) - diameter_mm) < std::abs(2 * read.x(0) - diameter_mm))
      best = &edge, read = h;
  }
  const double diameter = 2 * read.x(0);
  if (!(std::abs(diameter - diameter_mm) < kSizeWithin_ratio * diameter_mm))
    return Error{ErrorCode::kBadCalibration,
                 words("the nearest round edge reads %.3f mm, %.3f mm was said; needed "
                       "the right diameter and resolution",
                       diameter, diameter_mm)};
  if (best->coverage_deg < kLeastCoverage_deg)
    return Error{ErrorCode::kBadCalibration,
                 words("only %.0f deg of the reference's edge is seen, needed %.0f", best->coverage_deg,
                       kLeastCoverage_deg)};
  const double share = std::sqrt((picture.jpeg ? kNeighbours : 1) / static_cast<double>(read.points));
  ScannedDisc out;
  const Circle circle{best->points.front().at, read.x(0)};
  out.reading = circle_reading(plane, *best, circle,
                               std::hypot(2 * read.rms_mm * share, kLeastEdge_px / best->px_per_mm));
  out.reading.pose_mm.clear();  // axes: a circle's mean does not hang on their difference
  out.diameter_mm = {diameter, std::hypot(2 * read.rms_mm * share, 2 * best->u_edge_offset_mm)};
  out.cos2_mm = read.x(3), out.sin2_mm = read.x(4);
  out.u_second_harmonic_mm =
      std::hypot(std::sqrt(2.0) * read.rms_mm * share, kLeastHarmonic_px / best->px_per_mm);
  return out;
}

Result<ScannerFit> scanner_from_discs(const Estimate& diameter, std::span<const ScannedDisc> scans) {
  if (scans.empty() || scans.size() > 2)
    return Error{ErrorCode::kTooFewPoints,
                 "needed one or two scans of the reference, turned by a quarter between"};
  const ScannedDisc &first = scans.front(), &last = scans.back();
  const bool turned = scans.size() == 2;
  const double apart = std::abs(first.diameter_mm.value - last.diameter_mm.value);
  if (apart > kContradiction_u * std::hypot(first.diameter_mm.u, last.diameter_mm.u))
    return Error{ErrorCode::kBadCalibration,
                 words("the two scans read the reference %.4f mm apart; needed two "
                       "scans of one piece at one resolution",
                       apart)};
  const Eigen::Vector2d a(first.cos2_mm, first.sin2_mm), b(last.cos2_mm, last.sin2_mm);
  const Eigen::Vector2d stays = 0.5 * (a + b), turns = 0.5 * (a - b);
  const double d = diameter.value;
  const double u_piece = turned ? turns.norm() * kTurnedWithin_rad : 0.25 * diameter.u;
  const double u_h = std::hypot(first.u_second_harmonic_mm / (turned ? std::sqrt(2.0) : 1), u_piece);
  ScannerFit fit;
  fit.turned = turned;
  fit.piece_ovality_mm = 4 * turns.norm();
  // Edges are misplaced alike in both scans: their mean is no better than one.
  const double read = 0.5 * (first.diameter_mm.value + last.diameter_mm.value);
  fit.axes.mean_ratio = {read / d - 1, std::hypot(diameter.u, first.diameter_mm.u) / d};
  fit.reference = {{diameter, {}, {}}, first.reading, {}};
  fit.reference.reading.diameter_mm = d;
  fit.axes.difference_ratio = {2 * stays.x() / d, 2 * u_h / d};
  fit.axes.skew_rad = {4 * stays.y() / d, 4 * u_h / d};
  if (std::abs(fit.axes.difference_ratio.value) > kMostAxes_ratio / 2)
    return Error{ErrorCode::kBadCalibration,
                 words("the axes' scales differ by %.1f %%, needed less than %.0f %%: is "
                       "the reference round, and seen whole?",
                       200 * std::abs(fit.axes.difference_ratio.value), 100 * kMostAxes_ratio)};
  return fit;
}

}  // namespace rondure
