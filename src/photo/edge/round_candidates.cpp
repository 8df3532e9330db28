#include "photo/edge/round_candidates.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <optional>

#include "photo/edge/algebraic_circle.hpp"

namespace rondure {
namespace {

constexpr double kArcFit_px = 0.9;         // reduced px: an arc ends where its circle misses by more
constexpr double kShortestArc_rad = 0.30;  // an arc must turn by so much to propose a circle
// Of a circle, all pieces together: an arc of less proposes nothing (once placed, 35 will do). By judgement,
// no study of its own.
constexpr double kLeastCandidateCoverage_deg = 42;
constexpr double kLeastRun_deg = 28;         // in one piece
constexpr std::size_t kMostCandidates = 60;  // bounds the time a texture takes; parts have a few

// An edge point in the part plane, in units of one reduced pixel at the picture's middle.
struct Point {
  Eigen::Vector2d at, bright;  // bright: unit vector towards the bright side
  PixelPoint px;
  bool used = false;
};

struct Arc {
  int begin = 0, end = 0;  // points[begin, end)
  Circle circle;           // in the same units
  double length = 0;
};

class Search {
public:
  Search(const EdgeChains& chains, const MeasuringPlane& plane, double min_diameter_px) : plane_(plane) {
    reduction_ = chains.reduction;
    unit_mm_ = middle_scale_mm();
    min_radius_ = std::max(0.5 * min_diameter_px / reduction_, 4.0);
    largest_ = 2.0 * std::hypot(plane.width_px, plane.height_px) / reduction_;
    map_points(chains);
  }

  RoundSearch run() {
    RoundSearch search;
    for (const auto& [begin, end] : chains_) cut_arcs(begin, end, 0);
    search.chains = static_cast<int>(chains_.size());
    search.arcs = static_cast<int>(arcs_.size());
    std::sort(arcs_.begin(), arcs_.end(), [](const Arc& a, const Arc& b) { return a.length > b.length; });
    for (const Arc& arc : arcs_)
      search.arc_circles.push_back(
          {PartPoint::from(arc.circle.center.vec() * unit_mm_), arc.circle.radius_mm * unit_mm_});
    for (const Arc& arc : arcs_) {
      if (search.found.size() >= kMostCandidates) break;
      const auto unused = std::count_if(points_.begin() + arc.begin, points_.begin() + arc.end,
                                        [](const Point& p) { return !p.used; });
      if (unused < (arc.end - arc.begin) / 2) continue;
      if (const auto candidate = grow(arc)) search.found.push_back(*candidate);
    }
    std::sort(search.found.begin(), search.found.end(), [](const RoundCandidate& a, const RoundCandidate& b) {
      return a.circle.radius_mm > b.circle.radius_mm;
    });
    return search;
  }

private:
  double middle_scale_mm() const {
    const PixelPoint middle{0.5 * plane_.width_px, 0.5 * plane_.height_px};
    const auto j = part_per_pixel(plane_, middle);
    return j ? reduction_ * std::sqrt(std::abs(j->determinant())) : 1.0;
  }

  void map_points(const EdgeChains& chains) {
    points_.reserve(chains.edgels.size());
    for (std::size_t c = 0; c + 1 < chains.starts.size(); ++c) {
      const int begin = static_cast<int>(points_.size());
      for (int i = chains.starts[c]; i < chains.starts[c + 1]; ++i) {
        const Edgel& e = chains.edgels[i];
        const auto at = part_from_pixel(plane_, e.at);
        const auto j = part_per_pixel(plane_, e.at);
        if (!at || !j) continue;
        // A normal goes over by the inverse transpose.
        const Eigen::Vector2d bright = j->inverse().transpose() * Eigen::Vector2d(e.bright_x, e.bright_y);
        points_.push_back({at->vec() / unit_mm_, bright.normalized(), e.at});
      }
      if (static_cast<int>(points_.size()) > begin)
        chains_.emplace_back(begin, static_cast<int>(points_.size()));
    }
  }

  std::optional<Circle> fit(int begin, int end) const {
    std::vector<Eigen::Vector2d> p;
    for (int i = begin; i < end; ++i) p.push_back(points_[i].at);
    return algebraic_circle(p);
  }

  // Halves the stretch at its worst point until one circle fits each piece.
  void cut_arcs(int begin, int end, int depth) {
    if (end - begin < 8 || depth > 40) return;
    const auto circle = fit(begin, end);
    if (!circle) return;
    int worst = begin;
    double miss = 0;
    for (int i = begin; i < end; ++i) {
      const double r = std::abs((points_[i].at - circle->center.vec()).norm() - circle->radius_mm);
      if (r > miss) miss = r, worst = i;
    }
    if (miss > std::max(kArcFit_px, 0.006 * circle->radius_mm) && miss < 1e6) {
      const int cut = std::clamp(worst, begin + (end - begin) / 8, end - (end - begin) / 8);
      cut_arcs(begin, cut, depth + 1);
      cut_arcs(cut, end, depth + 1);
      return;
    }
    double length = 0;
    for (int i = begin + 1; i < end; ++i) length += (points_[i].at - points_[i - 1].at).norm();
    const bool turns = length / circle->radius_mm > kShortestArc_rad;
    if (turns && circle->radius_mm >= min_radius_ && circle->radius_mm < largest_ && length > 10)
      arcs_.push_back({begin, end, *circle, length});
  }

  // Points within `tolerance` of the circle whose bright side looks along (or against) the radius.
  std::vector<int> support(const Circle& circle, bool dark_inside, double tolerance) const {
    std::vector<int> found;
    const double sign = dark_inside ? 1 : -1, outer = circle.radius_mm + tolerance,
                 inner = std::max(0.0, circle.radius_mm - tolerance);
    for (std::size_t i = 0; i < points_.size(); ++i) {
      const Eigen::Vector2d d = points_[i].at - circle.center.vec();
      const double r2 = d.squaredNorm();
      if (r2 > outer * outer || r2 < inner * inner || points_[i].used) continue;
      if (sign * d.dot(points_[i].bright) > 0.94 * std::sqrt(r2)) found.push_back(static_cast<int>(i));
    }
    return found;
  }

  std::optional<RoundCandidate> grow(const Arc& arc) {
    Circle circle = arc.circle;
    int outward = 0;
    for (int i = arc.begin; i < arc.end; ++i)
      outward += (points_[i].at - circle.center.vec()).dot(points_[i].bright) > 0 ? 1 : -1;
    const bool dark_inside = outward > 0;
    std::vector<int> members;
    for (int round = 0; round < 6; ++round) {
      const double wide =
          round < 2 ? std::max(2.0, 0.03 * circle.radius_mm) : std::max(1.3, 0.012 * circle.radius_mm);
      members = support(circle, dark_inside, wide);
      std::vector<Eigen::Vector2d> p;
      for (const int i : members) p.push_back(points_[i].at);
      const auto better = algebraic_circle(p);
      if (!better || !(better->radius_mm < largest_)) return std::nullopt;
      circle = *better;
    }
    if (circle.radius_mm < min_radius_) return std::nullopt;
    double square = 0;
    for (const int i : members) {
      const double r = (points_[i].at - circle.center.vec()).norm() - circle.radius_mm;
      square += r * r;
    }
    const double rms = std::sqrt(square / static_cast<double>(members.size()));
    const auto [coverage_deg, run_deg] = coverage(circle, members);
    const double seen_px = rad(coverage_deg) * circle.radius_mm;
    const bool enough = coverage_deg >= kLeastCandidateCoverage_deg && run_deg >= kLeastRun_deg &&
                        seen_px >= 20 && (coverage_deg > 150 || circle.radius_mm > 12 || run_deg > 100);
    const bool close = rms < std::max(coverage_deg > 120 ? 0.8 : 0.45, 0.006 * circle.radius_mm);
    if (!enough || !close) return std::nullopt;
    for (const int i : members) points_[i].used = true;
    retire_neighbours(circle, dark_inside);
    const Circle in_mm{PartPoint::from(circle.center.vec() * unit_mm_), circle.radius_mm * unit_mm_};
    RoundCandidate out{in_mm,      dark_inside, coverage_deg, rms * reduction_, reduction_ / unit_mm_,
                       reduction_, {}};
    for (const int i : members) out.seen.push_back(points_[i].px);
    return out;
  }

  // Points just beside an accepted edge (nibs, chips) shall not propose the same circle again.
  void retire_neighbours(const Circle& circle, bool dark_inside) {
    for (const int i : support(circle, dark_inside, std::max(2.5, 0.02 * circle.radius_mm)))
      points_[i].used = true;
  }

  std::pair<double, double> coverage(const Circle& circle, const std::vector<int>& members) const {
    const int bins = std::clamp(static_cast<int>(kPi * circle.radius_mm), 24, 360);
    std::vector<char> seen(static_cast<std::size_t>(bins), 0);
    for (const int i : members) {
      const Eigen::Vector2d d = points_[i].at - circle.center.vec();
      const int k = static_cast<int>(wrap_direction_rad(std::atan2(d.y(), d.x())) / (2 * kPi) * bins);
      seen[std::min(k, bins - 1)] = 1;
    }
    int count = 0, run = 0, longest = 0;
    for (int k = 0; k < 2 * bins; ++k) {
      run = seen[k % bins] ? run + 1 : 0;
      longest = std::max(longest, std::min(run, bins));
      if (k < bins) count += seen[k];
    }
    return {360.0 * count / bins, 360.0 * longest / bins};
  }

  const MeasuringPlane& plane_;
  int reduction_ = 1;
  double unit_mm_ = 1, min_radius_ = 4, largest_ = 1e9;
  std::vector<Point> points_;
  std::vector<std::pair<int, int>> chains_;
  std::vector<Arc> arcs_;
};

}  // namespace

RoundSearch find_round_candidates(const EdgeChains& chains, const MeasuringPlane& plane,
                                  double min_diameter_px) {
  return Search(chains, plane, min_diameter_px).run();
}

}  // namespace rondure
