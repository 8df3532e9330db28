#include "board_lattice.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <deque>
#include <numbers>
#include <opencv2/imgproc.hpp>
#include <optional>
#include <set>

namespace rondure {
namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kSmoothing_px = 1.4;  // of the picture before its second derivatives
constexpr double kRing_px = 4.5;       // radius of the ring on which the quarters are counted
constexpr int kRingSamples = 32;
constexpr int kMaxSaddles = 6000;

double bilinear(const cv::Mat& image, double x, double y) {
  const int ix = static_cast<int>(x), iy = static_cast<int>(y);
  const double fx = x - ix, fy = y - iy;
  const float* a = image.ptr<float>(iy) + ix;
  const float* b = image.ptr<float>(iy + 1) + ix;
  return (a[0] * (1 - fx) + a[1] * fx) * (1 - fy) + (b[0] * (1 - fx) + b[1] * fx) * fy;
}

double wrapped(double angle, double period) { return angle - period * std::floor(angle / period); }
// Difference of two axes (mod pi), in [-pi/2, pi/2).
double axis_difference(double a, double b) { return wrapped(a - b + kPi / 2, kPi) - kPi / 2; }

// The four quarters round a saddle; empty when the ring does not alternate four times, evenly.
std::optional<Saddle> examine_ring(const cv::Mat& smooth, const Eigen::Vector2d& at) {
  const double margin = kRing_px + 2;
  if (at.x() < margin || at.y() < margin || at.x() > smooth.cols - 1 - margin ||
      at.y() > smooth.rows - 1 - margin)
    return {};
  std::array<double, kRingSamples> ring;
  double lo = 1e9, hi = -1e9;
  for (int i = 0; i < kRingSamples; ++i) {
    const double angle = 2 * kPi * i / kRingSamples;
    ring[i] = bilinear(smooth, at.x() + kRing_px * std::cos(angle), at.y() + kRing_px * std::sin(angle));
    lo = std::min(lo, ring[i]), hi = std::max(hi, ring[i]);
  }
  if (hi - lo < 12) return {};
  const double middle = (lo + hi) / 2;
  std::vector<double> crossings;
  bool first_rises = false;
  for (int i = 0; i < kRingSamples; ++i) {
    const double a = ring[i] - middle, b = ring[(i + 1) % kRingSamples] - middle;
    if ((a < 0) == (b < 0)) continue;
    if (crossings.empty()) first_rises = b > a;
    crossings.push_back(2 * kPi * (i + a / (a - b)) / kRingSamples);
  }
  if (crossings.size() != 4) return {};
  Saddle saddle{at, {0, 0}, first_rises, hi - lo};
  for (int k = 0; k < 2; ++k) {  // opposite crossings belong to one straight line
    if (std::abs(axis_difference(crossings[k], crossings[k + 2])) > 0.45) return {};
    saddle.line_rad[k] = crossings[k] + axis_difference(crossings[k + 2], crossings[k]) / 2;
  }
  const double opening = saddle.line_rad[1] - saddle.line_rad[0];
  if (opening < 0.5 || opening > kPi - 0.5) return {};
  return saddle;
}

// Newton step on the smoothed picture to the point without slope.
std::optional<Eigen::Vector2d> saddle_point(const cv::Mat& smooth, int x, int y) {
  const auto v = [&](int dx, int dy) { return static_cast<double>(smooth.at<float>(y + dy, x + dx)); };
  const double gx = (v(1, 0) - v(-1, 0)) / 2, gy = (v(0, 1) - v(0, -1)) / 2;
  const double xx = v(1, 0) + v(-1, 0) - 2 * v(0, 0), yy = v(0, 1) + v(0, -1) - 2 * v(0, 0);
  const double xy = (v(1, 1) + v(-1, -1) - v(1, -1) - v(-1, 1)) / 4;
  const double determinant = xx * yy - xy * xy;
  if (determinant >= 0) return {};
  const Eigen::Vector2d step(-(yy * gx - xy * gy) / determinant, -(xx * gy - xy * gx) / determinant);
  if (step.cwiseAbs().maxCoeff() > 1.5) return {};
  return Eigen::Vector2d(x + step.x(), y + step.y());
}

}  // namespace

std::vector<Saddle> find_saddles(const cv::Mat& grey8) {
  cv::Mat smooth, gentle, xx, yy, xy;
  grey8.convertTo(gentle, CV_32F);
  cv::GaussianBlur(gentle, smooth, {}, kSmoothing_px);
  cv::GaussianBlur(gentle, gentle, {}, 0.6);
  cv::Sobel(smooth, xx, CV_32F, 2, 0);
  cv::Sobel(smooth, yy, CV_32F, 0, 2);
  cv::Sobel(smooth, xy, CV_32F, 1, 1);
  cv::Mat response = xy.mul(xy) - xx.mul(yy);
  struct Candidate {
    float response;
    int x, y;
  };
  std::vector<Candidate> candidates;
  constexpr int kReach = 3, kMargin = 7;
  for (int y = kMargin; y < response.rows - kMargin; ++y)
    for (int x = kMargin; x < response.cols - kMargin; ++x) {
      const float r = response.at<float>(y, x);
      if (r < 40) continue;
      bool highest = true;
      for (int dy = -kReach; dy <= kReach && highest; ++dy)
        for (int dx = -kReach; dx <= kReach && highest; ++dx) {
          const float other = response.at<float>(y + dy, x + dx);
          highest = other < r || (other == r && (dy > 0 || (dy == 0 && dx >= 0)));
        }
      if (highest) candidates.push_back({r, x, y});
    }
  std::sort(candidates.begin(), candidates.end(),
            [](const auto& a, const auto& b) { return a.response > b.response; });
  if (candidates.size() > 4 * kMaxSaddles) candidates.resize(4 * kMaxSaddles);
  std::vector<Saddle> saddles;
  for (const Candidate& c : candidates) {
    const auto at = saddle_point(smooth, c.x, c.y);
    if (!at) continue;
    if (const auto saddle = examine_ring(gentle, *at)) saddles.push_back(*saddle);
    if (saddles.size() >= kMaxSaddles) break;
  }
  return saddles;
}

namespace {

using Node = std::pair<int, int>;

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
    const Node middle = cell(at);
    for (int dy = -n; dy <= n; ++dy)
      for (int dx = -n; dx <= n; ++dx)
        if (const auto found = cells_.find({middle.first + dx, middle.second + dy}); found != cells_.end())
          for (const int i : found->second)
            if ((saddles_[static_cast<std::size_t>(i)].at - at).norm() <= reach) visit(i);
  }

private:
  static constexpr double kCell = 32;
  static Node cell(const Eigen::Vector2d& at) {
    return {static_cast<int>(std::floor(at.x() / kCell)), static_cast<int>(std::floor(at.y() / kCell))};
  }
  const std::vector<Saddle>& saddles_;
  std::map<Node, std::vector<int>> cells_;
};

// Is the side of `direction` towards growing angles light at this saddle?
bool light_after(const Saddle& s, double direction_rad) {
  // The line may lie a little on either side of `direction`: take the nearer line, then the quarter after it.
  const double to_first = std::abs(axis_difference(direction_rad, s.line_rad[0]));
  const double to_second = std::abs(axis_difference(direction_rad, s.line_rad[1]));
  return to_first < to_second ? s.light_between : !s.light_between;
}
double angle_of(const Eigen::Vector2d& v) { return std::atan2(v.y(), v.x()); }
double misalignment(const Saddle& s, double direction_rad) {
  return std::min(std::abs(axis_difference(direction_rad, s.line_rad[0])),
                  std::abs(axis_difference(direction_rad, s.line_rad[1])));
}

// Two saddles joined by a side: both have a line along it and see the same colours on its two sides.
bool joined(const Saddle& a, const Saddle& b) {
  const double there = angle_of(b.at - a.at);
  if (misalignment(a, there) > 0.30 || misalignment(b, there) > 0.30) return false;
  if (std::min(a.contrast, b.contrast) < 0.3 * std::max(a.contrast, b.contrast)) return false;
  // Looking from a to b, the side of growing angles; from b back to a, that same side is the other one.
  return light_after(a, there) != light_after(b, there + kPi);
}

class Grower {
public:
  Grower(const std::vector<Saddle>& saddles, const SaddleIndex& index) : saddles_(saddles), index_(index) {}

  Lattice grow(int seed) {
    nodes_.clear();
    owner_.clear();
    queue_.clear();
    place({0, 0}, seed);
    const Saddle& s = saddles_[static_cast<std::size_t>(seed)];
    for (int k = 0; k < 4; ++k) {  // the seed's four neighbours by direction alone
      static constexpr Node kStep[4] = {{1, 0}, {0, 1}, {-1, 0}, {0, -1}};
      const double direction = s.line_rad[k % 2] + (k >= 2 ? kPi : 0);
      if (const int neighbour = nearest_along(seed, direction); neighbour >= 0) place(kStep[k], neighbour);
    }
    if (nodes_.size() < 3) return {};
    while (!queue_.empty()) {
      const Node node = queue_.front();
      queue_.pop_front();
      for (const Node& step : {Node{1, 0}, Node{-1, 0}, Node{0, 1}, Node{0, -1}}) extend(node, step);
    }
    return {nodes_};
  }

private:
  void place(Node node, int saddle) {
    if (nodes_.count(node) || owner_.count(saddle)) return;
    nodes_[node] = saddle;
    owner_.insert(saddle);
    queue_.push_back(node);
  }
  const Eigen::Vector2d* position(Node node) const {
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
        if (std::abs(wrapped(angle_of(d) - direction + kPi, 2 * kPi) - kPi) > 0.2) return;
        if (joined(s, other)) best = i, best_distance = distance;
      });
      if (best >= 0) break;
    }
    return best;
  }
  // Where the neighbour should be: from the step on the other side, or from the parallel steps of the
  // neighbouring rows.
  std::optional<Eigen::Vector2d> expected(Node node, Node step) const {
    const Eigen::Vector2d at = *position(node);
    Eigen::Vector2d sum(0, 0);
    double weight = 0;
    if (const auto* behind = position({node.first - step.first, node.second - step.second}))
      sum += at - *behind, weight += 1;
    for (const int side : {-1, 1}) {
      const Node row{node.first + side * step.second, node.second + side * step.first};
      const auto* a = position(row);
      const auto* b = position({row.first + step.first, row.second + step.second});
      if (a && b) sum += *b - *a, weight += 1;
    }
    if (weight == 0) return {};
    return Eigen::Vector2d(at + sum / weight);
  }
  void extend(Node node, Node step) {
    const Node next{node.first + step.first, node.second + step.second};
    if (nodes_.count(next)) return;
    const auto target = expected(node, step);
    if (!target) return;
    const int from = nodes_.at(node);
    const Saddle& s = saddles_[static_cast<std::size_t>(from)];
    const double length = (*target - s.at).norm();
    int best = -1;
    double best_distance = 0.30 * length;
    index_.near(*target, best_distance, [&](int i) {
      if (owner_.count(i)) return;
      const Saddle& other = saddles_[static_cast<std::size_t>(i)];
      const double distance = (other.at - *target).norm();
      if (distance < best_distance && joined(s, other)) best = i, best_distance = distance;
    });
    if (best >= 0) place(next, best);
  }

  const std::vector<Saddle>& saddles_;
  const SaddleIndex& index_;
  std::map<Node, int> nodes_;
  std::set<int> owner_;
  std::deque<Node> queue_;
};

// Drops nodes with fewer than two neighbours, again and again: tails that are no board.
void trim(Lattice& lattice) {
  for (bool again = true; again;) {
    again = false;
    for (auto it = lattice.nodes.begin(); it != lattice.nodes.end();) {
      int neighbours = 0;
      for (const Node& step : {Node{1, 0}, Node{-1, 0}, Node{0, 1}, Node{0, -1}})
        neighbours += static_cast<int>(
            lattice.nodes.count({it->first.first + step.first, it->first.second + step.second}));
      if (neighbours < 2) {
        it = lattice.nodes.erase(it);
        again = true;
      } else {
        ++it;
      }
    }
  }
}

// Quarter turns until columns run to the right (the seed's lines already run x towards y), then from (0, 0).
Lattice upright(const Lattice& lattice, const std::vector<Saddle>& saddles) {
  Eigen::Vector2d column(0, 0);
  for (const auto& [node, saddle] : lattice.nodes)
    if (const auto next = lattice.nodes.find({node.first + 1, node.second}); next != lattice.nodes.end())
      column +=
          saddles[static_cast<std::size_t>(next->second)].at - saddles[static_cast<std::size_t>(saddle)].at;
  const int quarters =
      static_cast<int>(std::lround(angle_of(column) / (kPi / 2)));  // column axis as found, in quarters
  Lattice turned;
  int low_column = 1 << 20, low_row = 1 << 20;
  for (const auto& [node, saddle] : lattice.nodes) {
    Node n = node;
    for (int q = 0; q < ((quarters % 4) + 4) % 4; ++q) n = {-n.second, n.first};
    turned.nodes[n] = saddle;
    low_column = std::min(low_column, n.first), low_row = std::min(low_row, n.second);
  }
  Lattice moved;
  for (const auto& [node, saddle] : turned.nodes)
    moved.nodes[{node.first - low_column, node.second - low_row}] = saddle;
  return moved;
}

}  // namespace

Lattice grow_lattice(const std::vector<Saddle>& saddles) {
  const SaddleIndex index(saddles);
  Grower grower(saddles, index);
  Lattice best;
  std::set<int> used;
  int tries = 0;
  for (std::size_t seed = 0; seed < saddles.size() && tries < 400; ++seed) {
    if (used.count(static_cast<int>(seed))) continue;
    ++tries;
    Lattice lattice = grower.grow(static_cast<int>(seed));
    trim(lattice);
    for (const auto& [node, saddle] : lattice.nodes) used.insert(saddle);
    if (lattice.nodes.size() > best.nodes.size()) best = std::move(lattice);
  }
  if (best.nodes.empty()) return best;
  return upright(best, saddles);
}

}  // namespace rondure
