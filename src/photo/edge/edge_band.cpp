#include "photo/edge/edge_band.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <optional>

namespace rondure {
namespace {

constexpr double kSectorLength_px = 2;  // along the edge: two rows of pixels; by judgement
constexpr double kClippedFrom = 0.994;  // of full scale: 254 of 255, JPEG lets clipped light ring a little

constexpr double kOneGround_px = 9;  // inwards and outwards of the edge: farther than any blur reaches

// Is the ground beside this piece of edge of one colour, as far as a board in the picture tells: no side of
// one of its squares runs near? (What the part hides of the board is not asked for: it may be the ground.)
class GroundCheck {
public:
  explicit GroundCheck(const MeasuringPlane& plane) : board_(plane) {
    board_.ideal_from_part = plane.ideal_from_board;
  }
  bool is_even(const Sector& sector) const {
    if (!board_.board_squares) return true;
    const Eigen::Vector2d along(-sector.outward.y(), sector.outward.x());
    std::optional<std::pair<int, int>> first;
    for (const double out_px : {-kOneGround_px, 0.0, kOneGround_px})
      for (const double along_px : {-1.0, 1.0}) {
        const auto here = square_at(sector.at + out_px * sector.outward + along_px * along);
        if (!here || (first && *first != *here)) return false;
        first = here;
      }
    return true;
  }

private:
  // Column and row of the square; (-2, -2) all round the board.
  std::optional<std::pair<int, int>> square_at(const Eigen::Vector2d& px) const {
    const auto at = part_from_pixel(board_, {px.x(), px.y()});
    if (!at) return {};
    const BoardSquares& b = *board_.board_squares;
    const double column = std::floor(at->x_mm / b.square_mm), row = std::floor(-at->y_mm / b.square_mm);
    if (column < -1 || row < -1 || column >= b.columns || row >= b.rows) return std::pair{-2, -2};
    return std::pair{static_cast<int>(column), static_cast<int>(row)};
  }
  MeasuringPlane board_;
};

// The pixels of one row that a sector may hold: its middle part, a hair wider.
struct RowStretch {
  double from, to;
  // Only where direction . (pixel - from_point) is not negative.
  void keep_where(const Eigen::Vector2d& direction, const Eigen::Vector2d& from_point, double y) {
    constexpr double kHair_px = 0.01;  // for rounding: each pixel is asked again, exactly
    const double offset = direction.y() * (y - from_point.y());
    if (std::abs(direction.x()) < 1e-9) return;
    const double x = from_point.x() - offset / direction.x();
    if (direction.x() > 0)
      from = std::max(from, x - kHair_px);
    else
      to = std::min(to, x + kHair_px);
  }
};

// Centre of the circle through three points.
std::optional<Eigen::Vector2d> circle_center(const Eigen::Vector2d& a, const Eigen::Vector2d& b,
                                             const Eigen::Vector2d& c) {
  const Eigen::Vector2d p = b - a, q = c - a;
  const double det = 2 * (p.x() * q.y() - p.y() * q.x());
  if (std::abs(det) < 1e-12) return std::nullopt;
  const double pp = p.squaredNorm(), qq = q.squaredNorm();
  return a + Eigen::Vector2d(q.y() * pp - p.y() * qq, p.x() * qq - q.x() * pp) / det;
}

}  // namespace

EdgeBand cut_edge_band(const Picture& picture, const MeasuringPlane& plane,
                       const std::vector<float>& light_table, const Circle& circle, double reach_px,
                       int most_sectors) {
  EdgeBand band;
  band.reach_px = reach_px;
  const std::size_t middle = light_table.size() / 2;
  band.quantum_light = light_table[middle + 1] - light_table[middle];
  const auto project = [&](double direction_rad) -> std::optional<Eigen::Vector2d> {
    const PartPoint p{circle.center.x_mm + circle.radius_mm * std::cos(direction_rad),
                      circle.center.y_mm + circle.radius_mm * std::sin(direction_rad)};
    const auto px = pixel_from_part(plane, p);
    if (!px) return std::nullopt;
    return Eigen::Vector2d(px->x_px, px->y_px);
  };
  double around_px = 0;
  for (int k = 0; k < 32; ++k)
    if (const auto a = project(2 * kPi * k / 32), b = project(2 * kPi * (k + 1) / 32); a && b)
      around_px += (*b - *a).norm();
  const int count = std::clamp(static_cast<int>(around_px / kSectorLength_px), 16, most_sectors);
  band.sectors_around = count;
  const double step = 2 * kPi / count, low_limit = -reach_px - 1;
  const double clipped = kClippedFrom * picture.full_scale();
  const GroundCheck ground(plane);
  std::optional<Eigen::Vector2d> start = project(-0.5 * step);
  for (int k = 0; k < count; ++k) {
    const auto here = project(k * step), stop = project((k + 0.5) * step);
    const auto from = start;
    start = stop;
    if (!from || !here || !stop) continue;
    // The outline's bend from three points further apart than the sector, for their rounding.
    const double wide = std::max(step, 0.05);
    const auto before = project(k * step - wide), after = project(k * step + wide);
    if (!before || !after) continue;
    const auto center = circle_center(*before, *here, *after);
    if (!center) continue;
    Sector sector;
    sector.at = *here;
    const double rho = (*here - *center).norm();
    if (!(rho > 2) || (*here - *center).hasNaN()) continue;
    sector.outward = (*here - *center) / rho;
    sector.curvature_radius_px = rho;
    sector.length_px = (*stop - *from).norm();
    if (here->x() < low_limit || here->y() < low_limit || here->x() > picture.width_px - low_limit ||
        here->y() > picture.height_px - low_limit)
      continue;
    if (!ground.is_even(sector)) {
      ++band.over_squares;
      continue;
    }
    const double half_rad = 0.5 * sector.length_px / rho, inner = std::max(rho - reach_px, 0.3 * rho),
                 outer = rho + reach_px;
    const Eigen::Vector2d along(-sector.outward.y(), sector.outward.x());
    double x_lo = 1e9, x_hi = -1e9, y_lo = 1e9, y_hi = -1e9;
    for (const double r : {inner, outer})
      for (const double sign : {-1.0, 1.0}) {
        const Eigen::Vector2d corner = *center + r * sector.outward + sign * r * std::tan(half_rad) * along;
        x_lo = std::min(x_lo, corner.x()), x_hi = std::max(x_hi, corner.x());
        y_lo = std::min(y_lo, corner.y()), y_hi = std::max(y_hi, corner.y());
      }
    sector.begin = static_cast<int>(band.pixels.size());
    const double slope = std::tan(half_rad);
    for (int y = std::max(0, static_cast<int>(std::ceil(y_lo - 1)));
         y <= std::min(picture.height_px - 1, static_cast<int>(y_hi + 1)); ++y) {
      RowStretch row{std::max(0.0, x_lo - 1), std::min(picture.width_px - 1.0, x_hi + 1)};
      row.keep_where(along + slope * sector.outward, *center, y);
      row.keep_where(slope * sector.outward - along, *center, y);
      for (int x = static_cast<int>(std::ceil(row.from)), last = static_cast<int>(std::floor(row.to));
           x <= last; ++x) {
        const Eigen::Vector2d d(x - center->x(), y - center->y());
        const double radial = d.dot(sector.outward), sideways = d.dot(along);
        // Half open, so that each pixel belongs to one sector only.
        if (sideways < -slope * radial || sideways >= slope * radial) continue;
        const double r = d.norm();
        if (r < inner || r > outer) continue;
        const double sample = picture.at(x, y);
        band.pixels.push_back(
            {static_cast<float>(r - rho), light_table[static_cast<std::size_t>(sample)], sample >= clipped});
      }
    }
    sector.end = static_cast<int>(band.pixels.size());
    if (sector.end - sector.begin >= 6)
      band.sectors.push_back(sector);
    else
      band.pixels.resize(static_cast<std::size_t>(sector.begin));
  }
  return band;
}

}  // namespace rondure
