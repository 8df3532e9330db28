#include "photo/edge/short_arcs.hpp"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <optional>

#include "photo/edge/algebraic_circle.hpp"

namespace rondure {
namespace {

// In px of the reduced picture, in which a point is right to about 0.1 px.
constexpr double kCut_px = 0.6;          // an arc ends where its circle misses by more
constexpr double kJoined_rms_px = 0.25;  // of a whole arc about its circle
constexpr double kLeastSagitta_px = 4;   // out of its chord, 40 times a point's error
constexpr double kLeastLength_px = 60, kLeastRadius_px = 40;
constexpr double kLeastTurn_rad = 0.30;   // 17 degrees: some of 20 is lost beside the corners
constexpr int kCornerPoints = 4;          // before and after a point, for its turn
constexpr double kCornerTurn_rad = 0.35;  // over so many: a bend of 23 px or less, the blur of a corner
constexpr double kBridge_px = 4, kGoesOn = 0.95;  // from one chain's end to the next one's start
constexpr int kLeastPoints = 12;                  // four to each of three unknowns
constexpr std::size_t kMostArcs = 20;             // the longest; bounds the time

struct ArcPoint {
  Eigen::Vector2d at, bright;
};

struct Stretch {
  int begin = 0, end = 0;  // points[begin, end)
  Circle circle;
};

class ArcSearch {
public:
  ArcSearch(const EdgeChains& chains, const MeasuringPlane& plane) : chains_(chains), plane_(plane) {
    const auto j = part_per_pixel(plane, {0.5 * plane.width_px, 0.5 * plane.height_px});
    unit_mm_ = j ? chains.reduction * std::sqrt(std::abs(j->determinant())) : 1.0;
    largest_px_ = 2.0 * std::hypot(plane.width_px, plane.height_px) / chains.reduction;
  }

  std::vector<ShortArc> run() {
    std::vector<ShortArc> arcs;
    for (const std::vector<int>& line : lines()) {
      points_.clear();
      for (const int c : line) map_chain(chains_.starts[c], chains_.starts[c + 1]);
      for (const auto& [begin, end] : between_corners()) {
        std::vector<Stretch> pieces;
        cut(begin, end, pieces);
        join(pieces);
        for (const Stretch& s : pieces)
          if (const auto arc = judged(s)) arcs.push_back(*arc);
      }
    }
    std::sort(arcs.begin(), arcs.end(), [](const ShortArc& a, const ShortArc& b) {
      return (a.to_rad - a.from_rad) * a.candidate.circle.radius_mm >
             (b.to_rad - b.from_rad) * b.candidate.circle.radius_mm;
    });
    if (arcs.size() > kMostArcs) arcs.resize(kMostArcs);
    return arcs;
  }

private:
  // Chains end to end: an edge that runs almost along the rows breaks where it steps from one row to the next.
  std::vector<std::vector<int>> lines() const {
    const int count = static_cast<int>(chains_.starts.size()) - 1;
    std::vector<int> next(count, -1), before(count, -1);
    for (int a = 0; a < count; ++a) {
      const Edgel& end = chains_.edgels[chains_.starts[a + 1] - 1];
      double nearest = kBridge_px * chains_.reduction;
      for (int b = 0; b < count; ++b) {
        const Edgel& start = chains_.edgels[chains_.starts[b]];
        const double dx = start.at.x_px - end.at.x_px, dy = start.at.y_px - end.at.y_px;
        if (b == a || before[b] >= 0 || std::hypot(dx, dy) > nearest ||
            start.bright_x * end.bright_x + start.bright_y * end.bright_y < kGoesOn)
          continue;
        nearest = std::hypot(dx, dy), next[a] = b;
      }
      if (next[a] >= 0) before[next[a]] = a;
    }
    std::vector<std::vector<int>> all;
    std::vector<char> seen(static_cast<std::size_t>(count), 0);
    const auto follow = [&](int first) {
      std::vector<int> line;
      for (int c = first; c >= 0 && !seen[c]; c = next[c]) seen[c] = 1, line.push_back(c);
      if (!line.empty()) all.push_back(std::move(line));
    };
    for (int c = 0; c < count; ++c)
      if (before[c] < 0) follow(c);
    for (int c = 0; c < count; ++c) follow(c);  // closed
    return all;
  }

  // In the part plane, in units of one reduced pixel at the picture's middle.
  void map_chain(int begin, int end) {
    for (int i = begin; i < end; ++i) {
      const Edgel& e = chains_.edgels[static_cast<std::size_t>(i)];
      const auto at = part_from_pixel(plane_, e.at);
      const auto j = part_per_pixel(plane_, e.at);
      if (!at || !j) continue;
      const Eigen::Vector2d bright = j->inverse().transpose() * Eigen::Vector2d(e.bright_x, e.bright_y);
      points_.push_back({at->vec() / unit_mm_, bright.normalized()});
    }
  }

  std::vector<std::pair<int, int>> between_corners() const {
    std::vector<std::pair<int, int>> stretches;
    const int n = static_cast<int>(points_.size());
    int begin = 0;
    for (int i = 0; i <= n; ++i) {
      const bool inside = i >= kCornerPoints && i + kCornerPoints < n;
      const bool corner = inside && points_[i - kCornerPoints].bright.dot(points_[i + kCornerPoints].bright) <
                                        std::cos(kCornerTurn_rad);
      if (i < n && !corner) continue;
      if (i - begin >= kLeastPoints) stretches.emplace_back(begin, i);
      begin = i + 1;
    }
    return stretches;
  }

  std::optional<Circle> fit(int begin, int end) const {
    std::vector<Eigen::Vector2d> p;
    for (int i = begin; i < end; ++i) p.push_back(points_[i].at);
    return algebraic_circle(p);
  }
  double miss(const Circle& c, int i) const {
    return std::abs((points_[i].at - c.center.vec()).norm() - c.radius_mm);
  }

  // In two at the worst point until one circle fits each piece.
  void cut(int begin, int end, std::vector<Stretch>& pieces) const {
    if (end - begin < kLeastPoints) return;
    const auto circle = fit(begin, end);
    int worst = begin;
    if (circle)
      for (int i = begin; i < end; ++i)
        if (miss(*circle, i) > miss(*circle, worst)) worst = i;
    if (circle && miss(*circle, worst) <= kCut_px) {
      pieces.push_back({begin, end, *circle});
      return;
    }
    const int eighth = std::max(1, (end - begin) / 8);
    const int at = circle ? std::clamp(worst, begin + eighth, end - eighth) : (begin + end) / 2;
    cut(begin, at, pieces);
    cut(at, end, pieces);
  }

  void join(std::vector<Stretch>& pieces) const {
    for (std::size_t k = 0; k + 1 < pieces.size();) {
      Stretch both{pieces[k].begin, pieces[k + 1].end, {}};
      const auto circle = fit(both.begin, both.end);
      bool fits = circle.has_value();
      for (int i = both.begin; fits && i < both.end; ++i) fits = miss(*circle, i) <= kCut_px;
      if (!fits) {
        ++k;
        continue;
      }
      both.circle = *circle, pieces[k] = both;
      pieces.erase(pieces.begin() + static_cast<std::ptrdiff_t>(k) + 1);
      if (k > 0) --k;
    }
  }

  std::optional<ShortArc> judged(const Stretch& s) const {
    const Eigen::Vector2d centre = s.circle.center.vec(), first = points_[s.begin].at - centre;
    double lo = 0, hi = 0, square = 0;
    int outward = 0;
    for (int i = s.begin; i < s.end; ++i) {
      const Eigen::Vector2d d = points_[i].at - centre;
      const double turn = std::atan2(first.x() * d.y() - first.y() * d.x(), first.dot(d));
      lo = std::min(lo, turn), hi = std::max(hi, turn);
      square += std::pow(miss(s.circle, i), 2), outward += d.dot(points_[i].bright) > 0 ? 1 : -1;
    }
    const double turn = hi - lo, r = s.circle.radius_mm;
    const double rms = std::sqrt(square / (s.end - s.begin));
    const bool stands_out = turn >= kLeastTurn_rad && r * turn >= kLeastLength_px &&
                            r * (1 - std::cos(0.5 * turn)) >= kLeastSagitta_px;
    const bool one_side = std::abs(outward) == s.end - s.begin;
    if (!stands_out || !one_side || rms > kJoined_rms_px || r < kLeastRadius_px || r > largest_px_)
      return std::nullopt;
    ShortArc arc;
    arc.candidate = {{PartPoint::from(centre * unit_mm_), r * unit_mm_},
                     outward > 0,
                     deg(turn),
                     rms * chains_.reduction,
                     chains_.reduction / unit_mm_,
                     chains_.reduction,
                     {}};
    arc.from_rad = std::atan2(first.y(), first.x()) + lo;
    arc.to_rad = arc.from_rad + turn;
    return arc;
  }

  const EdgeChains& chains_;
  const MeasuringPlane& plane_;
  double unit_mm_ = 1, largest_px_ = 1e9;
  std::vector<ArcPoint> points_;
};

}  // namespace

std::vector<ShortArc> find_short_arcs(const EdgeChains& chains, const MeasuringPlane& plane) {
  return ArcSearch(chains, plane).run();
}

}  // namespace rondure
