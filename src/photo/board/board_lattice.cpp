#include "photo/board/board_lattice.hpp"

#include <algorithm>
#include <cmath>
#include <deque>
#include <optional>
#include <set>

#include "rondure/core/geometry.hpp"

namespace rondure {
namespace {

using LatticeNode = std::pair<int, int>;

// Saddles by position, for "which is nearest to here".
class SaddleIndex {
public:
  explicit SaddleIndex(const std::vector<Saddle>& saddles) : saddles_(saddles) {
    for (std::size_t i = 0; i < saddles.size(); ++i)
      cells_[cell(saddles[i].at)].push_back(static_cast<int>(i));
  }
  template <class Visit>
  void near(const Eigen::Vector2d& at, double reach, Visit visit) const {
    const int n = static_cast<int>(reach / kCell) + 1;
    const LatticeNode middle = cell(at);
    for (int dy = -n; dy <= n; ++dy)
      for (int dx = -n; dx <= n; ++dx)
        if (const auto found = cells_.find({middle.first + dx, middle.second + dy}); found != cells_.end())
          for (const int i : found->second)
            if ((saddles_[static_cast<std::size_t>(i)].at - at).norm() <= reach) visit(i);
  }

private:
  static constexpr double kCell = 32;  // px of the reduced picture; for speed, changes no answer
  static LatticeNode cell(const Eigen::Vector2d& at) {
    return {static_cast<int>(std::floor(at.x() / kCell)), static_cast<int>(std::floor(at.y() / kCell))};
  }
  const std::vector<Saddle>& saddles_;
  std::map<LatticeNode, std::vector<int>> cells_;
};

double angle_of(const Eigen::Vector2d& v) { return std::atan2(v.y(), v.x()); }

// Do light and dark lie on the two sides all along from a to b? None of seven places may show the contrary,
// as the middle one of three squares would, and five must show it: with that square covered, four could.
bool edge_between(const cv::Mat& grey8, const Saddle& a, const Saddle& b) {
  constexpr double kAside = 0.18, kLeastAside_px = 2, kTold = 0.25;  // of the side; of the contrast
  const Eigen::Vector2d along = b.at - a.at;
  const double length = along.norm();
  const Eigen::Vector2d aside =
      Eigen::Vector2d(-along.y(), along.x()) * (std::max(kLeastAside_px, kAside * length) / length);
  const double sign = light_after(a, angle_of(along)) ? 1 : -1, contrast = std::min(a.contrast, b.contrast);
  int told = 0;
  for (int tenth = 2; tenth <= 8; ++tenth) {
    const Eigen::Vector2d at = a.at + tenth / 10.0 * along;
    const auto after = mean_3x3(grey8, at + aside), before = mean_3x3(grey8, at - aside);
    if (!after || !before) continue;
    const double step = sign * (*after - *before);
    if (step < -kTold * contrast) return false;
    told += step > kTold * contrast;
  }
  return told >= 5;
}

// Two saddles joined by a side: both have a line along it and see the same colours on its two sides, which it
// has all along.
bool joined(const cv::Mat& grey8, const Saddle& a, const Saddle& b) {
  const double there = angle_of(b.at - a.at);
  if (misalignment(a, there) > 0.30 || misalignment(b, there) > 0.30) return false;
  if (std::min(a.contrast, b.contrast) < 0.3 * std::max(a.contrast, b.contrast)) return false;
  // Looking from a to b, the side of growing angles; from b back to a, that same side is the other one.
  return light_after(a, there) != light_after(b, there + kPi) && edge_between(grey8, a, b);
}

class Grower {
public:
  Grower(const cv::Mat& grey8, const std::vector<Saddle>& saddles, const SaddleIndex& index)
      : grey8_(grey8), saddles_(saddles), index_(index) {}

  Lattice grow(int seed) {
    nodes_.clear();
    owner_.clear();
    queue_.clear();
    place({0, 0}, seed);
    const Saddle& s = saddles_[static_cast<std::size_t>(seed)];
    for (int k = 0; k < 4; ++k) {  // the seed's four neighbours by direction alone
      static constexpr LatticeNode kStep[4] = {{1, 0}, {0, 1}, {-1, 0}, {0, -1}};
      const double direction = s.line_rad[k % 2] + (k >= 2 ? kPi : 0);
      if (const int neighbour = nearest_along(seed, direction); neighbour >= 0) place(kStep[k], neighbour);
    }
    if (nodes_.size() < 3) return {};
    while (!queue_.empty()) {
      const LatticeNode node = queue_.front();
      queue_.pop_front();
      for (const LatticeNode& step :
           {LatticeNode{1, 0}, LatticeNode{-1, 0}, LatticeNode{0, 1}, LatticeNode{0, -1}})
        extend(node, step);
    }
    return {nodes_};
  }

private:
  void place(LatticeNode node, int saddle) {
    if (nodes_.count(node) || owner_.count(saddle)) return;
    nodes_[node] = saddle;
    owner_.insert(saddle);
    queue_.push_back(node);
  }
  const Eigen::Vector2d* position(LatticeNode node) const {
    const auto found = nodes_.find(node);
    return found == nodes_.end() ? nullptr : &saddles_[static_cast<std::size_t>(found->second)].at;
  }
  int nearest_along(int from, double direction) const {
    const Saddle& s = saddles_[static_cast<std::size_t>(from)];
    int best = -1;
    double best_distance = 1e9;
    for (const double reach : {40.0, 100.0, 250.0}) {
      index_.near(s.at, reach, [&](int i) {
        const Saddle& other = saddles_[static_cast<std::size_t>(i)];
        const Eigen::Vector2d d = other.at - s.at;
        const double distance = d.norm();
        if (i == from || distance < 7 || distance >= best_distance) return;
        if (std::abs(std::remainder(angle_of(d) - direction, 2 * kPi)) > 0.2) return;
        if (joined(grey8_, s, other)) best = i, best_distance = distance;
      });
      if (best >= 0) break;
    }
    return best;
  }
  // In a chain of corners alone: along the saddle's own other line, where no step beside it tells.
  int across_chain(LatticeNode node, LatticeNode step) const {
    const LatticeNode along{step.second, -step.first};  // turning along towards growing angles gives step
    const Eigen::Vector2d& at = *position(node);
    const auto* ahead = position({node.first + along.first, node.second + along.second});
    const auto* behind = position({node.first - along.first, node.second - along.second});
    if (!ahead && !behind) return -1;
    const Eigen::Vector2d d = ahead ? Eigen::Vector2d(*ahead - at) : Eigen::Vector2d(at - *behind);
    const int from = nodes_.at(node);
    const Saddle& s = saddles_[static_cast<std::size_t>(from)];
    const double chain = angle_of(d);
    const double line =
        std::abs(axis_difference(s.line_rad[0], chain)) < std::abs(axis_difference(s.line_rad[1], chain))
            ? s.line_rad[1]
            : s.line_rad[0];
    const int next = nearest_along(from, std::sin(line - chain) > 0 ? line : line + kPi);
    if (next < 0) return -1;
    const double ratio = (saddles_[static_cast<std::size_t>(next)].at - at).norm() / d.norm();
    return ratio > 0.6 && ratio < 1.6 ? next : -1;
  }
  // Where the neighbour should be: from the step on the other side, or from the parallel steps of the
  // neighbouring rows.
  std::optional<Eigen::Vector2d> expected(LatticeNode node, LatticeNode step) const {
    const Eigen::Vector2d at = *position(node);
    Eigen::Vector2d sum(0, 0);
    double weight = 0;
    if (const auto* behind = position({node.first - step.first, node.second - step.second}))
      sum += at - *behind, weight += 1;
    for (const int side : {-1, 1}) {
      const LatticeNode row{node.first + side * step.second, node.second + side * step.first};
      const auto* a = position(row);
      const auto* b = position({row.first + step.first, row.second + step.second});
      if (a && b) sum += *b - *a, weight += 1;
    }
    if (weight == 0) return {};
    return Eigen::Vector2d(at + sum / weight);
  }
  void extend(LatticeNode node, LatticeNode step) {
    const LatticeNode next{node.first + step.first, node.second + step.second};
    if (nodes_.count(next)) return;
    const auto target = expected(node, step);
    if (!target) {
      if (const int found = across_chain(node, step); found >= 0) place(next, found);
      return;
    }
    const int from = nodes_.at(node);
    const Saddle& s = saddles_[static_cast<std::size_t>(from)];
    const double length = (*target - s.at).norm();
    int best = -1;
    double best_distance = 0.30 * length;
    index_.near(*target, best_distance, [&](int i) {
      if (owner_.count(i)) return;
      const Saddle& other = saddles_[static_cast<std::size_t>(i)];
      const double distance = (other.at - *target).norm();
      if (distance < best_distance && joined(grey8_, s, other)) best = i, best_distance = distance;
    });
    if (best >= 0) place(next, best);
  }

  const cv::Mat& grey8_;
  const std::vector<Saddle>& saddles_;
  const SaddleIndex& index_;
  std::map<LatticeNode, int> nodes_;
  std::set<int> owner_;
  std::deque<LatticeNode> queue_;
};

}  // namespace

Lattice turned(const Lattice& lattice, int quarters) {
  Lattice out;
  for (const auto& [node, saddle] : lattice.nodes) {
    LatticeNode n = node;
    for (int q = 0; q < ((quarters % 4) + 4) % 4; ++q) n = {-n.second, n.first};
    out.nodes[n] = saddle;
  }
  return out;
}

Eigen::Vector2d column_step(const Lattice& lattice, const std::vector<Saddle>& saddles) {
  Eigen::Vector2d column(0, 0);
  const auto at = [&](int saddle) { return saddles[static_cast<std::size_t>(saddle)].at; };
  for (const auto& [node, saddle] : lattice.nodes) {
    if (const auto next = lattice.nodes.find({node.first + 1, node.second}); next != lattice.nodes.end())
      column += at(next->second) - at(saddle);
    if (const auto next = lattice.nodes.find({node.first, node.second + 1}); next != lattice.nodes.end()) {
      const Eigen::Vector2d row = at(next->second) - at(saddle);
      column += Eigen::Vector2d(row.y(), -row.x());  // a quarter back from it: enough to tell quarters
    }
  }
  return column;
}

std::vector<Lattice> grow_lattices(const cv::Mat& grey8, const std::vector<Saddle>& saddles) {
  const SaddleIndex index(saddles);
  Grower grower(grey8, saddles, index);
  std::vector<Lattice> grown;
  std::set<int> used;
  int tries = 0;
  for (std::size_t seed = 0; seed < saddles.size() && tries < 400; ++seed) {
    if (used.count(static_cast<int>(seed))) continue;
    ++tries;
    Lattice lattice = grower.grow(static_cast<int>(seed));
    for (const auto& [node, saddle] : lattice.nodes) used.insert(saddle);
    if (!lattice.nodes.empty()) grown.push_back(std::move(lattice));
  }
  std::stable_sort(grown.begin(), grown.end(),
                   [](const Lattice& a, const Lattice& b) { return a.nodes.size() > b.nodes.size(); });
  std::vector<Lattice> apart;
  std::set<int> taken;
  for (Lattice& lattice : grown) {
    if (std::any_of(lattice.nodes.begin(), lattice.nodes.end(),
                    [&](const auto& node) { return taken.count(node.second) > 0; }))
      continue;
    for (const auto& [node, saddle] : lattice.nodes) taken.insert(saddle);
    apart.push_back(
        turned(lattice, static_cast<int>(std::lround(angle_of(column_step(lattice, saddles)) / (kPi / 2)))));
  }
  return apart;
}

}  // namespace rondure
