#include "rondure/photo/reference_piece.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <cstdio>

#include "photo/edge/algebraic_circle.hpp"
#include "photo/edge/shared_errors.hpp"
#include "rondure/core/dense_solve.hpp"
#include "rondure/core/median.hpp"
#include "rondure/photo/solid_part.hpp"

namespace rondure {
namespace {

// Of the edge, seen: with less, centre and diameter pull on each other; the value is judgement.
constexpr double kLeastPieceCoverage_deg = 200;
constexpr double kMostPieceOutOfRound_ratio =
    0.004;                                      // rms of the radius, of the diameter, besides kMostRms_px
constexpr Estimate kPieceChamfer_mm{0.2, 0.2};  // gauge pins and rings are broken by 0.1 to 0.4, from memory
// Root mean square of the misses: twice and more what a clean edge shows (outside_edge.cpp: 0.15 px); by judgement.
constexpr double kMostRms_px = 0.4;
constexpr double kLeastEdge_px = 0.01;  // per diameter: bevel, pixel response; never better than this

Error bad(const std::string& found) {
  return {ErrorCode::kBadArgument,
          "--reference: found '" + found +
              "', needed one like 6.000mm+-0.002mm@1210,840 (diameter @ place in the "
              "picture, px)"};
}

std::string words(const char* format, double a, double b = 0) {
  char buffer[200];
  std::snprintf(buffer, sizeof buffer, format, a, b);
  return buffer;
}

// Half the last digit written, as a standard uncertainty.
double u_of_rounding_mm(std::string_view text, LengthUnit bare) {
  const auto end = std::min(text.find_first_not_of("+-0123456789.,"), text.size());
  const auto point = text.substr(0, end).find_first_of(".,");
  const auto decimals = point == std::string_view::npos ? 0 : end - point - 1;
  const auto unit = parse_unit(text.substr(end));
  return std::pow(10.0, -static_cast<double>(decimals)) * mm_per(unit ? *unit : bare) / 2 / std::sqrt(3.0);
}

struct CircleRead {
  Circle circle;
  double rms_mm = 0;
  std::size_t points = 0;
  double u_light_mm = 0;  // of the radius: by how much light and shade moved the edge here and there
};

// A gauge piece is round: what its edge seems to lack of a circle in long waves (2 to 5 a turn) is light, shade and bevel, and
// moves its mean radius as much. The standard deviation of one coefficient of a wave, by least squares; the largest, since
// one side in the light is mostly two waves. Believed of scenes 1 to 21 of tests/bench/solid_scenes/pins.py, seed 1 (in 11 the
// mean radius is off by 0.07 mm, 4 u without this, 0.7 u with it), checked on seed 2.
double long_waves_mm(const std::vector<Eigen::Vector2d>& points, const Circle& circle) {
  // Waves a turn: 0 and 1 are radius and centre, 2 to 5 light, shade and bevel; more waves are noise.
  constexpr int kFirst = 2, kLast = 5;
  const auto n = static_cast<Eigen::Index>(points.size());
  Eigen::MatrixXd waves(n, 3 + 2 * (kLast - kFirst + 1));
  Eigen::VectorXd miss(n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const Eigen::Vector2d d = points[static_cast<std::size_t>(i)] - circle.center.vec();
    const double at = std::atan2(d.y(), d.x());
    miss(i) = d.norm() - circle.radius_mm;
    waves(i, 0) = 1, waves(i, 1) = std::cos(at), waves(i, 2) = std::sin(at);
    for (int k = kFirst; k <= kLast; ++k) {
      waves(i, 2 * k - 1) = std::cos(k * at);
      waves(i, 2 * k) = std::sin(k * at);
    }
  }
  if (n < 2 * waves.cols()) return 0;
  const Eigen::VectorXd c = least_squares(waves, miss).x;
  double largest = 0;
  for (int k = kFirst; k <= kLast; ++k) largest = std::max(largest, std::hypot(c(2 * k - 1), c(2 * k)));
  return largest / std::sqrt(2.0);
}

// Points beyond three standard deviations (dust) left out once.
std::optional<CircleRead> circle_of(const RoundEdge& edge) {
  std::vector<Eigen::Vector2d> p;
  for (const MeasuredPoint& m : edge.points) p.push_back(m.at.vec());
  CircleRead out;
  for (int round = 0; round < 2; ++round) {
    const auto circle = algebraic_circle(p);
    if (!circle) return {};
    const auto miss = [&](const Eigen::Vector2d& v) {
      return std::abs((v - circle->center.vec()).norm() - circle->radius_mm);
    };
    double sum = 0;
    for (const auto& v : p) sum += miss(v) * miss(v);
    out = {*circle, std::sqrt(sum / static_cast<double>(p.size())), p.size(), long_waves_mm(p, *circle)};
    if (round == 0) std::erase_if(p, [&](const Eigen::Vector2d& v) { return miss(v) > 3 * out.rms_mm; });
  }
  return out;
}

bool encloses(const RoundEdge& edge, const PixelPoint& at) {
  const Circle& c = edge.rough_px;
  return std::hypot(at.x_px - c.center.x_mm, at.y_px - c.center.y_mm) <= c.radius_mm;
}

// What is round about the place. A piece that is told to stand up is seen by its wall, with its shadow beside it: its edges are
// weighed as a part's are.
Result<std::vector<RoundEdge>> edges_of_piece(const Picture& picture, const MeasuringPlane& plane,
                                              const ReferencePiece& piece, const EdgeOptions& options) {
  EdgeOptions near = options;
  near.near = piece.at;
  auto found = find_round_edges(picture, plane, near);
  if (!found && found.error().code != ErrorCode::kNoRoundEdge) return found.error();
  std::vector<RoundEdge> edges = found ? std::move(*found) : std::vector<RoundEdge>{};
  if (!(plane.height_mm > 0)) return edges;
  SolidOptions solid;
  solid.height_mm = Estimate{plane.height_mm, plane.u_height_mm};
  solid.linear_light = options.linear_light;
  const bool edge_told = piece.height_mm && piece.height_mm->u > 0;
  if (const auto at = part_from_pixel(plane, piece.at))
    solid.piece = KnownPiece{piece.diameter_mm.value / 2, *at, edge_told ? Estimate{0, 0} : kPieceChamfer_mm};
  SolidScene scene = weigh_solid_parts(picture, plane, std::move(edges), solid);
  if (scene.edges.empty() && !scene.refused.empty())
    return Error{ErrorCode::kBadCalibration, "--reference: " + scene.refused.front().detail};
  std::erase_if(scene.edges, [](const RoundEdge& edge) { return edge.ring.has_value(); });
  return std::move(scene.edges);
}

}  // namespace

std::string ReferencePiece::text() const {
  return format_mm(diameter_mm.value, 3) + words(" at %.0f,%.0f", at.x_px, at.y_px);
}

Result<ReferencePiece> parse_reference_piece(std::string_view text, LengthUnit bare) {
  const std::string given(text);
  const auto sign = given.find('@');
  if (sign == std::string::npos) return bad(given);
  std::string size = given.substr(0, sign), place = given.substr(sign + 1);
  while (!size.empty() && size.back() == ' ') size.pop_back();
  const auto diameter = parse_length_with_u_mm(size, bare);
  if (!diameter || !(diameter->value > 0) || !(diameter->u >= 0) || diameter->u > 0.1 * diameter->value)
    return bad(given);
  std::vector<std::string> fields(1);
  for (const char c : place)
    if (c == ',' || c == ';')
      fields.emplace_back();
    else
      fields.back() += c;
  if (fields.size() != 2 && fields.size() != 3) return bad(given);
  const auto x = parse_number(fields[0]), y = parse_number(fields[1]);
  if (!x || !y) return bad(given);
  ReferencePiece out{*diameter, {*x, *y}, std::nullopt};
  if (out.diameter_mm.u == 0) out.diameter_mm.u = u_of_rounding_mm(size, bare);
  if (fields.size() == 3) {
    const auto height = parse_length_with_u_mm(fields[2], bare);
    if (!height) return bad(given);
    out.height_mm = *height;
  }
  return out;
}

Result<ReferenceReading> read_reference_piece(const Picture& picture, const MeasuringPlane& part_plane,
                                              const ReferencePiece& piece, const EdgeOptions& options) {
  const std::string where = words("%.0f,%.0f px", piece.at.x_px, piece.at.y_px);
  MeasuringPlane plane = part_plane;
  if (piece.height_mm) {
    auto raised = at_height(part_plane, piece.height_mm->value, piece.height_mm->u);
    if (!raised) return raised.error();
    plane = std::move(*raised);
  }
  auto edges = edges_of_piece(picture, plane, piece, options);
  if (!edges) return edges.error();
  const RoundEdge* best = nullptr;
  CircleRead read;
  double least = 1e300;
  for (const RoundEdge& edge : *edges) {
    if (!encloses(edge, piece.at)) continue;
    const auto circle = circle_of(edge);
    if (!circle) continue;
    const double off = std::abs(circle->circle.diameter_mm() - piece.diameter_mm.value);
    if (off < least) least = off, best = &edge, read = *circle;
  }
  if (!best)
    return Error{ErrorCode::kNoRoundEdge,
                 "--reference: found none around " + where + ", needed the place of the " +
                     format_mm(piece.diameter_mm.value, 3) + " piece in the picture"};
  const double diameter = read.circle.diameter_mm();
  if (!(least < ReferenceScale::kMostOff_ratio * piece.diameter_mm.value))
    return Error{ErrorCode::kBadCalibration,
                 "--reference: the round edge at " + where +
                     words(" reads %.3f mm, %.3f mm was said", diameter, piece.diameter_mm.value) +
                     "; needed the right diameter, place and height"};
  if (best->coverage_deg < kLeastPieceCoverage_deg)
    return Error{ErrorCode::kBadCalibration, "--reference: only " + words("%.0f deg", best->coverage_deg) +
                                                 " of the edge at " + where + " is seen, needed " +
                                                 words("%.0f", kLeastPieceCoverage_deg)};
  if (read.rms_mm > std::max(kMostPieceOutOfRound_ratio * diameter, kMostRms_px / best->px_per_mm))
    return Error{ErrorCode::kBadCalibration,
                 "--reference: the edge at " + where +
                     words(" is no circle (%.4f mm rms off one), needed a round piece", read.rms_mm)};
  const double neighbours = picture.jpeg ? kNeighbours : 1;
  const double u_mm = std::hypot(2 * read.rms_mm * std::sqrt(neighbours / static_cast<double>(read.points)),
                                 2 * read.u_light_mm, kLeastEdge_px / best->px_per_mm);
  ReferenceReading out{piece, circle_reading(plane, *best, read.circle, u_mm), best->rough_px};
  if (piece.height_mm) {  // a height of its own: not the part's error
    out.reading.u_own_height_mm = std::hypot(out.reading.u_own_height_mm, out.reading.height_mm);
    out.reading.height_mm = 0;
  }
  return out;
}

}  // namespace rondure
