#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <cstdio>

#include "photo/plane/plane_errors.hpp"
#include "photo/tone/tone_shift.hpp"
#include "rondure/core/dense_solve.hpp"
#include "rondure/photo/reference_piece.hpp"

namespace rondure {
namespace {

constexpr double kToneShare = 0.9;    // of the edge offset's variance
constexpr std::size_t kToneWays = 3;  // in which a tone curve may be wrong: darker, brighter, bent
// Root of chi-squared over freedom of the references together: beyond it a diameter was told wrong. Two of
// them disagree so by chance once in 16,000 times; so much, as u is not known exactly. By judgement.
constexpr double kMostDisagreement_u = 4;
// A print's error is called large or small from so many u on. Pieces that tell the scale so many times worse than the
// board is trusted to weigh 4 % beside it. By judgement.
constexpr double kStandsOut_u = 2, kTellsNothing = 5;

// Errors shared by all circles: tone curve, height, then pose.
Eigen::VectorXd shared(const CircleReading& r, std::size_t pose_count) {
  Eigen::VectorXd a = Eigen::VectorXd::Zero(static_cast<Eigen::Index>(kToneWays + 1 + pose_count));
  for (std::size_t k = 0; k < std::min(kToneWays, r.tone_mm.size()); ++k)
    a(static_cast<Eigen::Index>(k)) = r.tone_mm[k];
  a(kToneWays) = r.height_mm;
  for (std::size_t k = 0; k < std::min(pose_count, r.pose_mm.size()); ++k)
    a(static_cast<Eigen::Index>(kToneWays + 1 + k)) = r.pose_mm[k];
  return a;
}

// How other tone curves move such an edge: gamma down and up, an S-curve; as a direction of length 1.
Eigen::Vector3d tone_ways(const ToneCurve& tone, const RoundEdge& edge) {
  const auto [dark, bright] = std::minmax(edge.light_inside, edge.light_outside);
  const ToneCurve others[kToneWays] = {{false, tone.gamma_shift - 0.18, tone.s_bend},
                                       {false, tone.gamma_shift + 0.18, tone.s_bend},
                                       {false, tone.gamma_shift, tone.s_bend + 0.3}};
  Eigen::Vector3d ways = Eigen::Vector3d::Zero();
  if (tone.linear) return ways;
  for (std::size_t k = 0; k < kToneWays; ++k)
    ways(static_cast<Eigen::Index>(k)) =
        tone_shift(tone, others[k], {dark, bright, edge.blur_px}).toward_bright_px;
  const double length = ways.norm();
  return length > 1e-9 ? Eigen::Vector3d(ways / length) : Eigen::Vector3d(Eigen::Vector3d::Zero());
}

double own_mm(const ReferenceReading& r) {
  return std::hypot(std::hypot(r.piece.diameter_mm.u, r.reading.u_alone_mm),
                    std::hypot(r.reading.u_own_edge_mm, r.reading.u_own_height_mm));
}

struct System {
  Eigen::VectorXd diameter, residual, own;
  Eigen::MatrixXd shared;
  Eigen::MatrixXd noise() const {
    Eigen::MatrixXd n = shared * shared.transpose();
    n.diagonal() += own.cwiseAbs2();
    return n;
  }
};

System system_of(const std::vector<ReferenceReading>& pieces) {
  const auto n = static_cast<Eigen::Index>(pieces.size());
  const std::size_t poses = pieces.front().reading.pose_mm.size();
  System s{Eigen::VectorXd(n), Eigen::VectorXd(n), Eigen::VectorXd(n),
           Eigen::MatrixXd(n, static_cast<Eigen::Index>(kToneWays + 1 + poses))};
  for (Eigen::Index i = 0; i < n; ++i) {
    const ReferenceReading& piece = pieces[static_cast<std::size_t>(i)];
    s.diameter(i) = piece.reading.diameter_mm;
    s.residual(i) = piece.piece.diameter_mm.value - piece.reading.diameter_mm;
    s.own(i) = std::max(own_mm(piece), 1e-6);
    s.shared.row(i) = shared(piece.reading, poses);
  }
  return s;
}

std::string text(const char* format, double a, double b) {
  char buffer[200];
  std::snprintf(buffer, sizeof buffer, format, a, b);
  return buffer;
}

}  // namespace

CircleReading circle_reading(const MeasuringPlane& plane, const RoundEdge& edge, const Circle& circle,
                             double u_alone_mm) {
  CircleReading out;
  out.diameter_mm = circle.diameter_mm();
  out.u_alone_mm = u_alone_mm;
  const Eigen::Vector3d ways = tone_ways(plane.tone, edge);
  const double u_edge_mm = 2 * edge.u_edge_offset_mm;
  for (const double way : ways)
    out.tone_mm.push_back((edge.dark_inside ? 1 : -1) * std::sqrt(kToneShare) * u_edge_mm * way);
  out.u_own_edge_mm = u_edge_mm * std::sqrt(1 - kToneShare * ways.squaredNorm());
  const PlaneErrors errors = plane_errors(plane, circle);
  // Of a standing wall the told height is where its own fit starts from: what is left of it is the wall's own.
  const bool stands = edge.wall && edge.wall->top_mm != edge.wall->foot_mm;
  out.height_mm = stands ? 0 : errors.height.diameter_mm;
  out.u_own_height_mm = edge.wall ? edge.wall->u_fit_mm : 0;
  for (const RimShift& shift : errors.pose) out.pose_mm.push_back(shift.diameter_mm);
  return out;
}

double ReferencedDiameter::u_mm() const {
  return std::hypot(std::hypot(u_reference_mm, u_scale_mm, u_edge_mm), u_pose_mm, u_height_mm);
}

Result<ReferenceScale> ReferenceScale::from(std::vector<ReferenceReading> pieces, double u_scale_ratio) {
  if (pieces.empty()) return Error{ErrorCode::kTooFewPoints, "no reference; needed one or more"};
  const System s = system_of(pieces);
  const PositiveSolver noise(s.noise());
  const double weight = s.diameter.dot(noise.solve(s.diameter));
  const double ratio = s.diameter.dot(noise.solve(s.residual)) / weight;
  const Eigen::VectorXd left = s.residual - ratio * s.diameter;
  const double freedom = static_cast<double>(pieces.size()) - 1;
  if (freedom > 0 && left.dot(noise.solve(left)) / freedom > kMostDisagreement_u * kMostDisagreement_u) {
    Eigen::Index worst = 0;
    left.cwiseQuotient(s.own).cwiseAbs().maxCoeff(&worst);
    return Error{
        ErrorCode::kBadCalibration,
        "the references contradict each other: " + pieces[static_cast<std::size_t>(worst)].piece.text() +
            text(" reads %.4f mm off what they say together (u %.4f mm); needed the right diameter of "
                 "each, and its height where that is not the part's",
                 -left(worst), s.own(worst))};
  }
  ReferenceScale out;
  out.pieces_ = std::move(pieces);
  out.print_ratio_ = {ratio, 1 / std::sqrt(weight)};
  out.contradicts_ = std::abs(ratio) > kContradiction_u * std::hypot(out.print_ratio_.u, u_scale_ratio);
  out.u_scale_ratio_ = out.contradicts_ ? std::max(1.0, u_scale_ratio) : u_scale_ratio;
  return out;
}

ReferencedDiameter ReferenceScale::apply_to(const CircleReading& part) const {
  const System s = system_of(pieces_);
  const Eigen::VectorXd a = shared(part, static_cast<std::size_t>(s.shared.cols()) - kToneWays - 1);
  const double u2 = u_scale_ratio_ * u_scale_ratio_;
  const Eigen::MatrixXd of_references = s.noise() + u2 * s.diameter * s.diameter.transpose();
  const Eigen::VectorXd with_part = s.shared * a + u2 * part.diameter_mm * s.diameter;
  const Eigen::VectorXd gain = of_references.llt().solve(with_part);
  const Eigen::VectorXd left = a - s.shared.transpose() * gain;
  ReferencedDiameter out;
  out.shift_mm = gain.dot(s.residual);
  out.u_scale_mm = u_scale_ratio_ * std::abs(part.diameter_mm - gain.dot(s.diameter));
  double own_edges = std::pow(part.u_own_edge_mm, 2), pieces = 0;
  for (Eigen::Index i = 0; i < gain.size(); ++i) {
    const double edge = pieces_[static_cast<std::size_t>(i)].reading.u_own_edge_mm;
    own_edges += std::pow(gain(i) * edge, 2);
    pieces += gain(i) * gain(i) * (s.own(i) * s.own(i) - edge * edge);
  }
  out.u_edge_mm = std::sqrt(own_edges + left.head(kToneWays).squaredNorm());
  out.u_reference_mm = std::sqrt(std::max(0.0, pieces));
  out.u_height_mm = std::hypot(left(kToneWays), part.u_own_height_mm);
  out.u_pose_mm = left.tail(left.size() - static_cast<Eigen::Index>(kToneWays) - 1).norm();
  return out;
}

bool ReferenceScale::is_piece(const RoundEdge& edge) const {
  const auto& e = edge.rough_px;
  return std::any_of(pieces_.begin(), pieces_.end(), [&](const ReferenceReading& r) {
    const Circle& p = r.outline_px;
    const double apart = (e.center.vec() - p.center.vec()).norm();
    return apart < p.radius_mm && e.radius_mm < 1.1 * p.radius_mm + 2;
  });
}

bool ReferenceScale::in_picture() const {
  return std::ranges::any_of(pieces_, [](const ReferenceReading& r) { return r.outline_px.radius_mm > 0; });
}

std::string ReferenceScale::finding(bool board) const {
  const std::string what = board ? "the board's print is " : "the scale given is ";
  const double percent = 100 * print_ratio_.value, u_percent = 100 * print_ratio_.u;
  std::string out = pieces_.size() == 1 ? "by the reference " + pieces_.front().piece.text() + ", "
                                        : "by the " + std::to_string(pieces_.size()) + " references, ";
  if (!contradicts_ && print_ratio_.u > kTellsNothing * u_scale_ratio_)
    return out +
           text("seen too poorly to tell more than %.0f %%, the size is by ", kStandsOut_u * u_percent, 0) +
           (board ? "the board alone" : "the scale given alone");
  if (!contradicts_ && std::abs(percent) < kStandsOut_u * u_percent)
    return out + what +
           text("true to size, as far as that tells: to %.2f %% (two standard uncertainties)",
                kStandsOut_u * u_percent, 0);
  const std::string size = text("%.3f +- %.3f %% too ", std::abs(percent), u_percent);
  out += what + size + (percent > 0 ? "large" : "small");
  if (contradicts_)
    out +=
        board
            ? ": more than it was trusted to; the size is the reference's alone (keep it for the next time: "
              "calibrate board-print)"
            : ": more than it was trusted to; the size is the reference's alone";
  return out;
}

}  // namespace rondure
