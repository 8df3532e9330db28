#include "photo/board/board_assembly.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <set>

#include "rondure/core/geometry.hpp"
#include "rondure/core/median.hpp"

namespace rondure {
namespace {

using Node = std::pair<int, int>;

// Where no reason stands, a limit is judgement; what comes of them all is checked by
// tests/bench/study_board_covered.
constexpr double kMostMisfit_squares =
    0.08;                                // of pieces joined: printed boards bend, lenses do more than the map
constexpr double kNextMisfit_ratio = 3;  // of the second best place to the best
constexpr std::size_t kLeastJoined = 4;  // corners of a piece that is counted on
constexpr double kSingle_squares = 0.12, kSingle_rad = 0.2;  // from the map, of a corner taken in alone
constexpr double kStray_squares = 0.04, kStrayMedians = 5;   // from the map; of the median corner's distance
constexpr std::size_t kLeastMapped = 9;                      // corners: as board_finder.cpp's kLeastCorners
constexpr std::size_t kMostPieces = 24,
                      kMostCounted = 80;  // pieces tried; corners of the lattice they are tried on

Eigen::Vector2d vec(Node n) { return {n.first, n.second}; }

struct Extent {
  int c0 = 1 << 20, c1 = -(1 << 20), r0 = 1 << 20, r1 = -(1 << 20);
  void add(Node n) {
    c0 = std::min(c0, n.first), c1 = std::max(c1, n.first);
    r0 = std::min(r0, n.second), r1 = std::max(r1, n.second);
  }
  int columns() const { return c1 - c0 + 1; }
  int rows() const { return r1 - r0 + 1; }
  bool within(const BoardSize& s) const {
    return (columns() <= s.columns && rows() <= s.rows) || (columns() <= s.rows && rows() <= s.columns);
  }
};

Extent extent_of(const Lattice& lattice) {
  Extent extent;
  for (const auto& [node, saddle] : lattice.nodes) extent.add(node);
  return extent;
}

class Assembler {
public:
  Assembler(const std::vector<Saddle>& saddles, const cv::Mat& grey8, const BoardSize& size)
      : saddles_(saddles), grey8_(grey8), size_(size) {}

  Assembly run(const std::vector<Lattice>& pieces) {
    Assembly out;
    lattice_ = pieces.front();
    std::vector<Lattice> apart;
    const bool whole = lattice_.nodes.size() >= static_cast<std::size_t>(size_.columns * size_.rows);
    for (std::size_t i = 1; i < pieces.size() && i <= kMostPieces && !whole; ++i)
      if (pieces[i].nodes.size() >= kLeastJoined) apart.push_back(pieces[i]);
    if (extent_of(lattice_).within(size_))
      for (bool again = true; again;) {  // what cannot be counted yet may be when others have been
        again = false;
        for (auto piece = apart.begin(); piece != apart.end();)
          if (join(*piece))
            piece = apart.erase(piece), again = true;
          else
            ++piece;
      }
    map_ = through(sightings(lattice_));
    if (map_ && !whole && lattice_.nodes.size() >= kLeastMapped &&
        map_->rms_squares() < kMostMisfit_squares) {
      drop_strays();
      while (take_in_singles()) {
      }
    }
    for (const Lattice& piece : apart) out.uncounted.push_back(static_cast<int>(piece.nodes.size()));
    const Extent extent = extent_of(lattice_);
    const Node origin{extent.c0, extent.r0};
    for (const auto& [node, saddle] : lattice_.nodes)
      out.lattice.nodes[{node.first - origin.first, node.second - origin.second}] = saddle;
    out.map = through(sightings(out.lattice));
    out.first_square_black = below_right_light(out.lattice) < 0;
    return out;
  }

private:
  const Saddle& saddle(int i) const { return saddles_[static_cast<std::size_t>(i)]; }

  std::vector<Sighting> sightings(const Lattice& lattice, Node offset = {0, 0}) const {
    std::vector<Sighting> corners;
    for (const auto& [node, i] : lattice.nodes)
      corners.push_back({vec({node.first + offset.first, node.second + offset.second}), saddle(i).at});
    return corners;
  }
  std::optional<LatticeMap> through(const std::vector<Sighting>& corners) const {
    return LatticeMap::through(corners, grey8_.cols, grey8_.rows);
  }
  // Enough of the lattice's corners, evenly, to try places for a piece on.
  std::vector<Sighting> some_sightings() const {
    const std::vector<Sighting> all = sightings(lattice_);
    const std::size_t stride = 1 + all.size() / kMostCounted;
    std::vector<Sighting> some;
    for (std::size_t i = 0; i < all.size(); i += stride) some.push_back(all[i]);
    return some;
  }

  // Votes for a light quarter after the column axis (below, right) at the corners whose column and row are
  // even in sum, less those against.
  int below_right_light(const Lattice& lattice) const {
    const Eigen::Vector2d column = column_step(lattice, saddles_);
    int votes = 0;
    for (const auto& [node, i] : lattice.nodes) {
      const auto next = lattice.nodes.find({node.first + 1, node.second});
      const Eigen::Vector2d along =
          next != lattice.nodes.end() ? Eigen::Vector2d(saddle(next->second).at - saddle(i).at) : column;
      const bool even = (node.first + node.second) % 2 == 0;
      votes += light_after(saddle(i), std::atan2(along.y(), along.x())) == even ? 1 : -1;
    }
    return votes;
  }

  // The piece as it lies to the lattice, when one place for it stands out.
  bool join(const Lattice& piece) {
    const Eigen::Vector2d here = column_step(lattice_, saddles_), there = column_step(piece, saddles_);
    const double turn = std::atan2(here.x() * there.y() - here.y() * there.x(), here.dot(there));
    const Lattice other = turned(piece, static_cast<int>(std::lround(turn / (kPi / 2))));
    const std::vector<Sighting> known = some_sightings();
    const auto now = through(known);
    if (!now) return false;
    const Node first = other.nodes.begin()->first;
    const Eigen::Vector2d expected =
        now->node(saddle(other.nodes.begin()->second).at) - vec(first);  // of the offset
    if (!expected.allFinite() || expected.norm() > 400) return false;
    const int reach = 2 + static_cast<int>(0.5 * gap_squares(expected + vec(first)));
    const bool same_colours = (below_right_light(lattice_) > 0) == (below_right_light(other) > 0);
    double best = 1e9, next = 1e9;
    Node best_offset{0, 0};
    const int c = static_cast<int>(std::lround(expected.x())),
              r = static_cast<int>(std::lround(expected.y()));
    for (int dr = r - reach; dr <= r + reach; ++dr)
      for (int dc = c - reach; dc <= c + reach; ++dc) {
        if (((dc + dr) % 2 == 0) != same_colours || !has_room(other, {dc, dr})) continue;
        std::vector<Sighting> corners = known;
        for (const Sighting& more : sightings(other, {dc, dr})) corners.push_back(more);
        const auto both = through(corners);
        const double misfit = both ? both->rms_squares() : 1e9;
        if (misfit < best)
          next = best, best = misfit, best_offset = {dc, dr};
        else
          next = std::min(next, misfit);
      }
    if (best > kMostMisfit_squares || next < kNextMisfit_ratio * best + kMostMisfit_squares) return false;
    for (const auto& [node, i] : other.nodes)
      lattice_.nodes[{node.first + best_offset.first, node.second + best_offset.second}] = i;
    return true;
  }

  // From this place to the nearest corner of the lattice.
  double gap_squares(const Eigen::Vector2d& place) const {
    double gap = 1e9;
    for (const auto& [node, i] : lattice_.nodes) gap = std::min(gap, (vec(node) - place).norm());
    return gap;
  }

  bool has_room(const Lattice& other, Node offset) const {
    Extent extent = extent_of(lattice_);
    for (const auto& [node, i] : other.nodes) {
      const Node n{node.first + offset.first, node.second + offset.second};
      if (lattice_.nodes.count(n)) return false;
      extent.add(n);
    }
    return extent.within(size_);
  }

  // Corners off the map the others make: chance saddles, or where the outline of what covers the board
  // crosses a side.
  void drop_strays() {
    for (bool again = true; again && map_;) {
      const auto miss = [&](const auto& n) {
        return (map_->pixel(vec(n.first)) - saddle(n.second).at).norm() / map_->step_px(vec(n.first));
      };
      std::vector<double> misses;
      for (const auto& n : lattice_.nodes) misses.push_back(miss(n));
      const double limit = std::max(kStray_squares, kStrayMedians * median(misses));
      again = std::erase_if(lattice_.nodes, [&](const auto& n) { return miss(n) > limit; }) > 0;
      if (again) map_ = through(sightings(lattice_));
    }
  }

  bool take_in_singles() {
    if (!map_) return false;
    std::set<int> taken;
    std::vector<double> contrasts;
    for (const auto& [node, i] : lattice_.nodes) taken.insert(i), contrasts.push_back(saddle(i).contrast);
    const double contrast = median(contrasts);
    const bool light_at_even = below_right_light(lattice_) > 0;
    std::map<Node, int> more;
    std::map<Node, double> miss_of;
    Extent extent = extent_of(lattice_);
    for (int i = 0; i < static_cast<int>(saddles_.size()); ++i) {
      if (taken.count(i) || saddle(i).contrast < 0.3 * contrast) continue;
      const Eigen::Vector2d place = map_->node(saddle(i).at);
      if (!place.allFinite() || place.cwiseAbs().maxCoeff() > 1000) continue;
      const Node node{static_cast<int>(std::lround(place.x())), static_cast<int>(std::lround(place.y()))};
      Extent wider = extent;
      wider.add(node);
      if (lattice_.nodes.count(node) || !wider.within(size_)) continue;
      const double miss = (place - vec(node)).norm();
      if (miss > kSingle_squares || (map_->pixel(vec(node)) - saddle(i).at).norm() > map_->step_px(vec(node)))
        continue;
      const Eigen::Vector2d column = map_->pixel(vec({node.first + 1, node.second})) - map_->pixel(vec(node));
      const double along = std::atan2(column.y(), column.x());
      const bool even = (node.first + node.second) % 2 == 0;
      if (misalignment(saddle(i), along) > kSingle_rad ||
          light_after(saddle(i), along) != (light_at_even == even))
        continue;
      if (const auto other = miss_of.find(node); other != miss_of.end() && other->second < miss) continue;
      more[node] = i, miss_of[node] = miss;
    }
    bool any = false;
    for (const auto& [node, i] : more) {
      extent.add(node);
      if (!extent.within(size_)) break;
      lattice_.nodes[node] = i, any = true;
    }
    if (any) map_ = through(sightings(lattice_));
    return any;
  }

  const std::vector<Saddle>& saddles_;
  const cv::Mat& grey8_;
  const BoardSize& size_;
  Lattice lattice_;
  std::optional<LatticeMap> map_;
};

}  // namespace

Assembly assemble(const std::vector<Lattice>& pieces, const std::vector<Saddle>& saddles,
                  const cv::Mat& grey8, const BoardSize& size) {
  if (pieces.empty()) return {};
  return Assembler(saddles, grey8, size).run(pieces);
}

}  // namespace rondure
