#include "rondure/photo/solid_part.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "photo/edge/algebraic_circle.hpp"
#include "photo/edge/edge_chains.hpp"
#include "photo/edge/round_candidates.hpp"
#include "photo/solid/wall_fit.hpp"
#include "photo/tone/tone_spread.hpp"
#include "rondure/core/median.hpp"

namespace rondure {
namespace {

constexpr double kChamfer_mm = 0.3, kUChamfer_mm = 0.3;  // the wall ends below the told height
constexpr double kUntold_mm = 4, kUUntold_mm = 30;
constexpr double kLeastScore = 0.62, kLeastCover = 0.80;
constexpr double kBetterBy = 0.02;  // of the score: a wall is seen instead of a disc

constexpr double kSameDisc_ratio = 0.02, kNearlyAsGood = 0.05, kLeastWeakCover = 0.7;
constexpr double kLeastDiameter_px = 16;
constexpr int kMostArcs = 8;
constexpr double kWeak_ratio =
    0.015;  // of the size: standard uncertainty where the outline may be another line
constexpr double kOneRing_ratio = 0.25, kLeastRingScore = 0.4;
constexpr std::size_t kMostStarts = 3;
constexpr double kEdgeOffset_px = 0.05, kOffsetInBlurs = 0.1;  // standard uncertainty, per edge

struct Group {
  std::vector<std::size_t> members;  // of the edges, largest first
};

Circle circle_of(const RoundEdge& edge) {
  std::vector<Eigen::Vector2d> points;
  for (const MeasuredPoint& p : edge.points) points.push_back(p.at.vec());
  if (const auto circle = algebraic_circle(points)) return *circle;
  return {};
}

class Weighing {
public:
  Weighing(const Picture& picture, const MeasuringPlane& plane, std::vector<RoundEdge>& edges,
           const SolidOptions& options)
      : picture_(picture), plane_(plane), edges_(edges), options_(options) {
    for (const RoundEdge& e : edges) circles_.push_back(circle_of(e));
  }

  bool prepare() {
    const auto camera = camera_place(plane_);
    auto board = at_height(plane_, 0, 0);
    if (!camera || !board) return false;
    camera_ = *camera;
    board_ = std::move(*board);
    tone_ = plane_.tone;
    if (options_.linear_light) tone_.linear = true;
    table_ = tone_.light_table(picture_.bits);
    return true;
  }

  SolidScene run() {
    SolidScene scene;
    for (const Group& group : groups()) judge(group, scene);
    if (edges_.empty()) from_arcs(scene);
    std::stable_sort(scene.edges.begin(), scene.edges.end(), [](const RoundEdge& a, const RoundEdge& b) {
      return circle_of(a).radius_mm > circle_of(b).radius_mm;
    });
    return scene;
  }

private:
  // Edges whose centre lies within a larger one's circle.
  std::vector<Group> groups() const {
    std::vector<std::size_t> order(edges_.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
      return circles_[a].radius_mm > circles_[b].radius_mm;
    });
    std::vector<Group> all;
    for (const std::size_t i : order) {
      const auto home = std::find_if(all.begin(), all.end(), [&](const Group& g) {
        const Circle& outer = circles_[g.members.front()];
        return (circles_[i].center.vec() - outer.center.vec()).norm() < outer.radius_mm;
      });
      if (home != all.end())
        home->members.push_back(i);
      else
        all.push_back({{i}});
    }
    return all;
  }

  double scale_at(double height_mm) const { return camera_.height_mm / (camera_.height_mm - height_mm); }
  Eigen::Vector2d seen_at(const Eigen::Vector2d& center, double height_mm) const {
    return camera_.foot + scale_at(height_mm) * (center - camera_.foot);
  }

  std::vector<WallStart> starts(const Group& group) const {
    std::vector<WallStart> all;
    const double largest = circles_[group.members.front()].radius_mm;
    std::vector<std::size_t> order = group.members;
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
      return edges_[a].coverage_deg * circles_[a].radius_mm > edges_[b].coverage_deg * circles_[b].radius_mm;
    });
    for (const std::size_t i : order) {
      const Circle& c = circles_[i];
      if (c.radius_mm < 0.6 * largest || all.size() >= kMostStarts) continue;
      const bool near = std::any_of(all.begin(), all.end(), [&](const WallStart& s) {
        return (s.center - c.center.vec()).norm() + std::abs(s.radius_mm - c.radius_mm) < 0.08 * c.radius_mm;
      });
      if (!near) all.push_back({c.center.vec(), c.radius_mm, 0.18});
    }
    return all;
  }

  // The edges as placed; where the disc's own fit does not bear the outermost out, that one may be another line.
  void keep_as_placed(const Group& group, const WallFit& disc, SolidScene& scene) {
    const Circle& outer = circles_[group.members.front()];
    const bool weak = disc.score < kLeastScore || disc.cover < kLeastCover ||
                      differs_mm(group, disc) > kSameDisc_ratio * outer.radius_mm;
    for (const std::size_t i : group.members) {
      scene.edges.push_back(edges_[i]);
      if (i != group.members.front() || !weak || edges_[i].over_squares_share > 0) continue;
      RoundEdge& edge = scene.edges.back();
      edge.u_edge_offset_mm =
          std::hypot(edge.u_edge_offset_mm, kWeak_ratio * outer.radius_mm, differs_mm(group, disc));
      edge.warnings.push_back(weak_outline());
    }
  }

  double differs_mm(const Group& group, const WallFit& disc) const {
    const Circle& outer = circles_[group.members.front()];
    return (disc.wall.center - outer.center.vec()).norm() + std::abs(disc.wall.radius_mm - outer.radius_mm);
  }

  static Warning weak_outline() {
    return {"weak-outline",
            "the part hardly stands out from its ground or its shadow: its outline may be another line; take "
            "other "
            "paper, clearly darker or lighter than the part, and light from all sides"};
  }

  void judge(const Group& group, SolidScene& scene) {
    const std::vector<WallStart> from = starts(group);
    const double told = options_.height_mm ? options_.height_mm->value : 0;
    const Eigen::Vector2d middle = seen_at(from.front().center, told);
    double least = 1e9, most = 0;
    for (const WallStart& s : from) {
      const double apart = (seen_at(s.center, told) - middle).norm(), r = s.radius_mm * scale_at(told);
      least = std::min(least, r - apart), most = std::max(most, r + apart);
    }
    const double radius_px = most * edges_[group.members.front()].px_per_mm;
    const RayEdges rays = find_ray_edges(picture_, board_, table_, middle, 0.55 * std::max(least, 0.4 * most),
                                         1.45 * most, radius_px > 300 ? 720 : 360);
    const WallFit disc = fit_wall(rays, camera_, from, {told, told, 0, true, false});
    const WallFit wall = fit_wall(rays, camera_, from, wall_shape());
    // A disc's edge as placed that is not the disc the edges support is a shadow's or a foot's: then the better fit.
    const bool unsure = differs_mm(group, disc) > kSameDisc_ratio * disc.wall.radius_mm;
    const bool wall_seen = wall.score > kLeastScore && wall.cover > kLeastWeakCover;
    if (wall.score < disc.score + (unsure && wall_seen ? -kNearlyAsGood : kBetterBy))
      return keep_as_placed(group, disc, scene);
    // Where the outline is weak it may as well be one of the other lines the search began with.
    double others_mm = 0;
    for (const WallStart& s : from)
      others_mm = std::max(others_mm, std::abs(s.radius_mm - wall.wall.radius_mm));
    scene.edges.push_back(outside_of(wall, rays, others_mm));
    sort_the_rest(group, wall, scene);
  }

  // The outside with what is doubtful of it.
  RoundEdge outside_of(const WallFit& fit, const RayEdges& rays, double others_mm) const {
    RoundEdge edge = edge_of(fit, rays);
    edge.wall = seen_wall(fit);
    edge.height_mm = fit.wall.top_mm;
    if (fit.score < kLeastScore || fit.cover < kLeastCover) {
      edge.wall->u_fit_mm = std::hypot(edge.wall->u_fit_mm, kWeak_ratio * 2 * fit.wall.radius_mm, others_mm);
      edge.warnings.push_back(weak_outline());
    } else if (!edge.wall->height_seen && !options_.height_mm) {
      edge.warnings.push_back({"height-unknown", "seen from straight above the height cannot be told"});
    }
    return edge;
  }

  WallShape wall_shape() const {
    if (!options_.height_mm) return {0, kUntold_mm, kUUntold_mm, false, false};
    return {0, std::max(0.1, options_.height_mm->value - kChamfer_mm),
            std::hypot(kUChamfer_mm, options_.height_mm->u), false, false};
  }

  // No round edge was found: the outline of a high part seen obliquely is none. Single arcs propose walls.
  void from_arcs(SolidScene& scene) {
    const EdgeChains chains = find_edge_chains(picture_);
    const RoundSearch search = find_round_candidates(chains, plane_, kLeastDiameter_px);
    int tried = 0;
    for (const Circle& arc : search.arc_circles) {
      const bool known = std::any_of(scene.edges.begin(), scene.edges.end(), [&](const RoundEdge& e) {
        return (e.wall->center.vec() - arc.center.vec()).norm() < e.wall->radius_mm;
      });
      if (known || tried >= kMostArcs) continue;
      ++tried;
      const WallStart start{arc.center.vec(), arc.radius_mm, 0.24};
      const double top = wall_shape().top_mm;
      const Eigen::Vector2d middle = seen_at(start.center, 0.5 * top);
      const double reach = arc.radius_mm * scale_at(top);
      const RayEdges rays = find_ray_edges(picture_, board_, table_, middle, 0.5 * reach, 1.6 * reach, 360);
      const WallFit wall = fit_wall(rays, camera_, {start}, wall_shape());
      if (wall.score > kLeastScore && wall.cover > kLeastCover)
        scene.edges.push_back(outside_of(wall, rays, 0));
    }
  }

  // Inner edges stay; what lies on or outside the wall's outline is foot or shadow.
  void sort_the_rest(const Group& group, const WallFit& fit, SolidScene& scene) const {
    std::vector<std::size_t> inner;
    for (const std::size_t i : group.members) {
      const double apart = (circles_[i].center.vec() - fit.wall.center).norm();
      if (apart + circles_[i].radius_mm < 0.93 * fit.wall.radius_mm)
        inner.push_back(i);
      else if (apart + std::abs(circles_[i].radius_mm - fit.wall.radius_mm) > 0.05 * fit.wall.radius_mm)
        scene.others.push_back({"shadow", circles_[i]});
    }
    std::vector<RoundEdge> rings;
    // The upper rim of a bore hides what of its wall and far rim lies outside it: rings about alike are one, and its
    // outermost edge is the rim.
    while (!inner.empty()) {
      std::vector<std::size_t> ring;
      const Circle first = circles_[inner.front()];
      std::erase_if(inner, [&](std::size_t i) {
        const double apart = (circles_[i].center.vec() - first.center.vec()).norm();
        const bool alike = apart + first.radius_mm - circles_[i].radius_mm < kOneRing_ratio * first.radius_mm;
        if (alike) ring.push_back(i);
        return alike;
      });
      rings.push_back(ring_of(ring, fit));
    }
    for (RoundEdge& ring : rings) {
      const Circle c = circle_of(ring);
      const bool twin = std::any_of(scene.edges.begin(), scene.edges.end(), [&](const RoundEdge& other) {
        const Circle o = circle_of(other);
        return ((c.center.vec() - o.center.vec()).norm() + std::abs(c.radius_mm - o.radius_mm)) *
                   ring.px_per_mm <
               3;
      });
      if (!twin) scene.edges.push_back(std::move(ring));
    }
  }

  // The circle in the top's plane that a ring's edges support.
  RoundEdge ring_of(const std::vector<std::size_t>& ring, const WallFit& outside) const {
    const double top = options_.height_mm ? options_.height_mm->value : outside.wall.top_mm + kChamfer_mm;
    std::vector<WallStart> from;
    for (const std::size_t i : ring) from.push_back({circles_[i].center.vec(), circles_[i].radius_mm, 0.18});
    if (from.size() > kMostStarts) from.resize(kMostStarts);
    const Circle& largest = circles_[ring.front()];
    const Eigen::Vector2d middle = seen_at(from.front().center, top);
    const double to_rim = outside.wall.radius_mm - (largest.center.vec() - outside.wall.center).norm();
    const RayEdges rays =
        find_ray_edges(picture_, board_, table_, middle, 0.5 * largest.radius_mm,
                       std::min(1.4 * largest.radius_mm, 0.9 * to_rim) * scale_at(top), 360);
    WallFit rim = fit_wall(rays, camera_, from, {top, top, 0, true, false});
    WallFit through = fit_wall(rays, camera_, from, {0, top, 0, false, true});
    if (through.score > rim.score) rim = std::move(through);
    if (rim.score < kLeastRingScore || rim.cover < kLeastCover) return edges_[ring.front()];
    return edge_of(rim, rays);
  }

  RoundEdge edge_of(const WallFit& fit, const RayEdges& rays) const {
    RoundEdge edge;
    const SeenOutline outline(camera_, fit.wall);
    edge.px_per_mm = rays.px_per_mm * scale_at(fit.wall.top_mm);
    // By direction of the outline's normal: a limb has one direction, its points one place.
    struct Sum {
      double miss_mm = 0, weight = 0;
      Eigen::Vector2d normal = Eigen::Vector2d::Zero(), pixel = Eigen::Vector2d::Zero();
    };
    std::map<int, Sum> by_direction;
    std::vector<double> blurs, inside, outside;
    int dark = 0;
    for (const ChosenEdge& c : fit.chosen) {
      const OutlineDistance d = outline.nearest(c.edge->at);
      const double direction = wrap_direction_rad(std::atan2(d.normal.y(), d.normal.x()));
      Sum& sum =
          by_direction[static_cast<int>(direction / (2 * kPi) * static_cast<double>(rays.rays.size()))];
      sum.miss_mm += d.distance_mm / d.scale;
      sum.normal += d.normal, sum.pixel += c.edge->pixel, sum.weight += 1;
      blurs.push_back(c.edge->blur_px), inside.push_back(c.edge->inside), outside.push_back(c.edge->outside);
      dark += c.edge->dark_inside ? 1 : -1;
    }
    const double sigma_mm = std::max(0.02, fit.rms_px) / edge.px_per_mm;
    std::vector<Eigen::Vector2d> pixels;
    for (const auto& [bin, sum] : by_direction) {
      const Eigen::Vector2d normal = sum.normal.normalized();
      const double r = fit.wall.radius_mm + sum.miss_mm / sum.weight;
      edge.points.push_back({PartPoint::from(fit.wall.center + r * normal), sigma_mm, 0});
      pixels.push_back(sum.pixel / sum.weight);
      edge.pixels.push_back({pixels.back().x(), pixels.back().y()});
    }
    if (const auto rough = algebraic_circle(pixels)) edge.rough_px = *rough;
    edge.dark_inside = dark > 0;
    edge.hole = fit.shape.hole;
    edge.blur_px = median(blurs);
    edge.light_inside = median(inside), edge.light_outside = median(outside);
    edge.noise_px = fit.rms_px;
    edge.coverage_deg = 360 * fit.cover;
    const auto [lo, hi] = std::minmax(edge.light_inside, edge.light_outside);
    const double tone_px =
        plane_.tone_known || tone_.linear ? 0 : tone_spread_px(tone_, lo, hi, edge.blur_px);
    edge.u_edge_offset_mm =
        std::hypot(kEdgeOffset_px, kOffsetInBlurs * edge.blur_px, tone_px) / edge.px_per_mm;
    edge.u_second_harmonic_mm = 0.05 / edge.px_per_mm;
    return edge;
  }

  SeenWall seen_wall(const WallFit& fit) const {
    const SeenOutline outline(camera_, fit.wall);
    SeenWall wall;
    wall.center = PartPoint::from(fit.wall.center);
    wall.radius_mm = fit.wall.radius_mm;
    wall.foot_mm = fit.wall.foot_mm, wall.top_mm = fit.wall.top_mm;
    wall.u_top_mm = fit.u_top_mm;
    wall.height_seen = outline.foot_is_seen();
    wall.u_fit_mm = 2 * fit.u_radius_mm;
    for (int k = 0; k < 360; ++k)
      if (const auto px = pixel_from_part(board_, PartPoint::from(outline.point(rad(k)))))
        wall.outline.push_back(*px);
    return wall;
  }

  const Picture& picture_;
  const MeasuringPlane& plane_;
  std::vector<RoundEdge>& edges_;
  const SolidOptions& options_;
  std::vector<Circle> circles_;
  CameraPlace camera_;
  MeasuringPlane board_;
  ToneCurve tone_;
  std::vector<float> table_;
};

}  // namespace

SolidScene weigh_solid_parts(const Picture& picture, const MeasuringPlane& plane,
                             std::vector<RoundEdge> edges, const SolidOptions& options) {
  SolidScene as_they_are;
  const bool flat = options.height_mm && options.height_mm->value == 0 && options.height_mm->u == 0;
  if (!flat) {
    Weighing weighing(picture, plane, edges, options);
    if (weighing.prepare()) return weighing.run();
  }
  as_they_are.edges = std::move(edges);
  return as_they_are;
}

}  // namespace rondure
