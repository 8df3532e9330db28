#include "photo/side/side_band.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <optional>
#include <unordered_map>

namespace rondure {
namespace {

// Where no reason stands, a limit is judgement, or was set looking at tests/bench/side_scenes (figures in
// tests/data/studies/side_scenes.txt); what comes of them all is checked by tests/bench/study_side_view.
constexpr double kStep_px = 2;           // along the outline: as edge_band.cpp's sectors
constexpr double kTangentHalf_px = 9;    // of the outline on either side of a step, for its direction
constexpr double kClear_px = 4;          // pixels so near to a stretch of other direction are left out
constexpr double kOtherDirection = 0.8;  // cosine between normals
constexpr double kClippedFrom = 0.994;   // of full scale: as for round edges
constexpr double kMiddleBetter = 0.6;    // the stretch about a step is the better unless a corner is near
// Radius of a bend. Sharper than kTangentHalf_px, which tells it, it is a corner; the flattest rises by 0.014
// px over that length (9^2 / 2 / 3000), and is straight.
constexpr double kLeastBend_px = 8, kMostBend_px = 3000;
constexpr double kFineMisfit_px2 = 0.0025;  // of a step's square: finer ones are none
constexpr double kRounded = 4;              // times: a parabola so much better than a line
constexpr double kLeastTurn = 0.1;          // rad within half a stretch, of a rounded edge

using Line = std::vector<Eigen::Vector2d>;

double light_at(const Picture& picture, const std::vector<float>& table, const Eigen::Vector2d& p) {
  const int x = std::clamp(static_cast<int>(std::floor(p.x())), 0, picture.width_px - 2);
  const int y = std::clamp(static_cast<int>(std::floor(p.y())), 0, picture.height_px - 2);
  const double fx = std::clamp(p.x() - x, 0.0, 1.0), fy = std::clamp(p.y() - y, 0.0, 1.0);
  const auto at = [&](int i, int j) {
    return static_cast<double>(table[static_cast<std::size_t>(picture.at(x + i, y + j))]);
  };
  return (1 - fy) * ((1 - fx) * at(0, 0) + fx * at(1, 0)) + fy * ((1 - fx) * at(0, 1) + fx * at(1, 1));
}

// Mean over a few neighbours, then equal steps.
Line even_steps(const Line& traced) {
  const int n = static_cast<int>(traced.size());
  Line smooth(traced.size());
  for (int i = 0; i < n; ++i) {
    Eigen::Vector2d sum = Eigen::Vector2d::Zero();
    for (int k = -2; k <= 2; ++k) sum += traced[(i + k + n) % n];
    smooth[i] = sum / 5;
  }
  double around = 0;
  for (int i = 0; i < n; ++i) around += (smooth[(i + 1) % n] - smooth[i]).norm();
  const int count = std::max(8, static_cast<int>(around / kStep_px));
  Line out;
  double step = around / count, passed = 0;
  for (int i = 0; i < n && static_cast<int>(out.size()) < count; ++i) {
    const Eigen::Vector2d &a = smooth[i], &b = smooth[(i + 1) % n];
    const double length = (b - a).norm();
    while (static_cast<int>(out.size()) < count &&
           static_cast<double>(out.size()) * step <= passed + length && length > 0)
      out.push_back(a + (b - a) * ((static_cast<double>(out.size()) * step - passed) / length));
    passed += length;
  }
  return out;
}

struct Direction {
  Eigen::Vector2d outward = {1, 0};
  double misfit = 1e9;
};

// The straight line through points from..to of the outline.
Direction direction_of(const Line& line, int from, int to) {
  const int n = static_cast<int>(line.size());
  Eigen::Vector2d mean = Eigen::Vector2d::Zero();
  for (int i = from; i <= to; ++i) mean += line[(i + n) % n];
  mean /= to - from + 1;
  Eigen::Matrix2d m = Eigen::Matrix2d::Zero();
  for (int i = from; i <= to; ++i) {
    const Eigen::Vector2d d = line[(i + n) % n] - mean;
    m += d * d.transpose();
  }
  const double axis = 0.5 * std::atan2(2 * m(0, 1), m(0, 0) - m(1, 1));
  Eigen::Vector2d along(std::cos(axis), std::sin(axis));
  if (along.dot(line[(to + n) % n] - line[(from + n) % n]) < 0) along = -along;
  // Counter-clockwise as seen: ahead, with y down, the outside lies to the right, (-y, x) turned.
  const Eigen::Vector2d outward(-along.y(), along.x());
  return {outward, outward.dot(m * outward) / (to - from + 1)};
}

struct Bend {
  double per_px = 0;  // second derivative, negative where the part is convex
  double slope = 0;   // at the step, to the frame
  double misfit = 1e9;
};

// The least-squares parabola v = a + b u + c u^2 through points from..to, in the frame of step i.
Bend bend_of(const Line& line, const Eigen::Vector2d& outward, int i, int from, int to) {
  const int n = static_cast<int>(line.size());
  const Eigen::Vector2d along(-outward.y(), outward.x());
  Eigen::Matrix3d normal = Eigen::Matrix3d::Zero();
  Eigen::Vector3d right = Eigen::Vector3d::Zero();
  double squares = 0;
  for (int k = from; k <= to; ++k) {
    const Eigen::Vector2d d = (line[(k + n) % n] - line[i]) / kTangentHalf_px;
    const double u = d.dot(along), v = d.dot(outward);
    const Eigen::Vector3d row(1, u, u * u);
    normal += row * row.transpose(), right += v * row, squares += v * v;
  }
  const Eigen::Vector3d terms = normal.ldlt().solve(right);
  return {2 * terms[2] / kTangentHalf_px, terms[1],
          std::max(0.0, squares - terms.dot(right)) * kTangentHalf_px * kTangentHalf_px / (to - from + 1)};
}

// Of the stretches before, about and after a step the one that a line fits best tells its direction, or a parabola where
// the outline is rounded: at a corner that is the one on the step's own side.
std::vector<Eigen::Vector2d> directions(const Line& line, bool rounded) {
  const int half = static_cast<int>(kTangentHalf_px / kStep_px);
  std::vector<Eigen::Vector2d> out;
  for (int i = 0; i < static_cast<int>(line.size()); ++i) {
    Direction best;
    Bend bend;
    double least = 1e9;
    for (const int shift : {0, -half, half}) {
      const int from = i + shift - half, to = i + shift + half;
      const Direction d = direction_of(line, from, to);
      const Bend b = rounded ? bend_of(line, d.outward, i, from, to) : Bend{0, 0, d.misfit};
      const double misfit = (shift == 0 ? kMiddleBetter : 1) * (b.misfit + kFineMisfit_px2);
      if (misfit < least) least = misfit, best = d, bend = b;
    }
    const double turn = bend.per_px * kTangentHalf_px;
    if (rounded && best.misfit > kRounded * (bend.misfit + kFineMisfit_px2) &&
        std::abs(bend.per_px) < 1 / kLeastBend_px && std::abs(turn) > kLeastTurn)
      best.outward =
          (best.outward - bend.slope * Eigen::Vector2d(-best.outward.y(), best.outward.x())).normalized();
    out.push_back(best.outward);
  }
  return out;
}

// Onto the half-level of light across the outline.
void to_half_level(const Picture& picture, const std::vector<float>& table, const Silhouette& silhouette,
                   const std::vector<Eigen::Vector2d>& outward, Line& line) {
  const double sign = silhouette.dark ? 1 : -1;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const Eigen::Vector2d along(-outward[i].y(), outward[i].x());
    const auto level = [&](double s) {
      double sum = 0;
      for (const double t : {-1.0, 0.0, 1.0})
        sum += light_at(picture, table, line[i] + s * outward[i] + t * along);
      return sign * (sum / 3 - silhouette.half_light);
    };
    double before = level(-3);
    for (double s = -2.5; s <= 3; s += 0.5) {
      const double here = level(s);
      if (before < 0 && here >= 0) {
        line[i] += (s - 0.5 * here / (here - before)) * outward[i];
        break;
      }
      before = here;
    }
  }
}

// Radius of the outline's bend at each step, px; positive where the part is convex. As for the direction: of the stretches
// before, about and after, the one that a parabola fits best.
std::vector<double> bends(const Line& line, const std::vector<Eigen::Vector2d>& outward) {
  const int half = static_cast<int>(kTangentHalf_px / kStep_px);
  std::vector<double> out;
  for (int i = 0; i < static_cast<int>(line.size()); ++i) {
    Bend best = bend_of(line, outward[i], i, i - half, i + half);
    best.misfit *= kMiddleBetter;
    for (const int shift : {-half, half})
      if (const Bend b = bend_of(line, outward[i], i, i + shift - half, i + shift + half);
          b.misfit < best.misfit)
        best = b;
    const double rho = std::abs(best.per_px) > 1e-12 ? -1 / best.per_px : kMostBend_px;
    out.push_back(std::abs(rho) >= kMostBend_px || std::abs(rho) < kLeastBend_px ? kMostBend_px : rho);
  }
  return out;
}

// Finds stretches of the outline near a pixel.
class Neighbours {
public:
  Neighbours(const Line& line, const std::vector<Eigen::Vector2d>& outward) : line_(line), outward_(outward) {
    for (std::size_t i = 0; i < line.size(); ++i)
      cells_[key(cell(line[i].x()), cell(line[i].y()))].push_back(i);
  }
  bool is_clear(const Eigen::Vector2d& pixel, const Eigen::Vector2d& own) const {
    const int cx = cell(pixel.x()), cy = cell(pixel.y());
    for (int x = cx - 1; x <= cx + 1; ++x)
      for (int y = cy - 1; y <= cy + 1; ++y)
        if (const auto at = cells_.find(key(x, y)); at != cells_.end())
          for (const std::size_t i : at->second)
            if (outward_[i].dot(own) < kOtherDirection && (line_[i] - pixel).norm() < kClear_px) return false;
    return true;
  }

private:
  static int cell(double v) { return static_cast<int>(std::floor(v / kClear_px)); }
  static std::int64_t key(int x, int y) { return (static_cast<std::int64_t>(x) << 24) ^ y; }
  const Line& line_;
  const std::vector<Eigen::Vector2d>& outward_;
  std::unordered_map<std::int64_t, std::vector<std::size_t>> cells_;
};

}  // namespace

EdgeBand cut_side_band(const Picture& picture, const std::vector<float>& light_table,
                       const Silhouette& silhouette, double reach_px) {
  EdgeBand band;
  band.reach_px = reach_px;
  const std::size_t middle = light_table.size() / 2;
  band.quantum_light = light_table[middle + 1] - light_table[middle];
  Line line = even_steps(silhouette.line);
  std::vector<Eigen::Vector2d> outward = directions(line, false);
  to_half_level(picture, light_table, silhouette, outward, line);
  outward = directions(line, true);
  const std::vector<double> bend_px = bends(line, outward);
  band.sectors_around = static_cast<int>(line.size());
  const Neighbours neighbours(line, outward);
  const double clipped = kClippedFrom * picture.full_scale(), half = 0.5 * kStep_px;
  for (std::size_t k = 0; k < line.size(); ++k) {
    Sector sector;
    sector.at = line[k], sector.outward = outward[k];
    sector.length_px = kStep_px, sector.curvature_radius_px = bend_px[k];
    sector.begin = static_cast<int>(band.pixels.size());
    const Eigen::Vector2d along(-outward[k].y(), outward[k].x());
    const double span_x = reach_px * std::abs(outward[k].x()) + std::abs(along.x()) + 1,
                 span_y = reach_px * std::abs(outward[k].y()) + std::abs(along.y()) + 1;
    for (int y = std::max(0, static_cast<int>(line[k].y() - span_y));
         y <= std::min(picture.height_px - 1, static_cast<int>(line[k].y() + span_y)); ++y)
      for (int x = std::max(0, static_cast<int>(line[k].x() - span_x));
           x <= std::min(picture.width_px - 1, static_cast<int>(line[k].x() + span_x)); ++x) {
        const Eigen::Vector2d d = Eigen::Vector2d(x, y) - line[k];
        const double sideways = d.dot(along);
        if (sideways < -half || sideways >= half) continue;
        const double s = d.dot(outward[k]) + 0.5 * sideways * sideways / bend_px[k];
        if (std::abs(s) > reach_px || !neighbours.is_clear({x, y}, outward[k])) continue;
        const double sample = picture.at(x, y);
        band.pixels.push_back(
            {static_cast<float>(s), light_table[static_cast<std::size_t>(sample)], sample >= clipped});
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
