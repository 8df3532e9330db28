#include "photo/views/view_of_part.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "photo/edge/algebraic_circle.hpp"
#include "photo/solid/light_at.hpp"
#include "photo/solid/outline_edges.hpp"
#include "rondure/core/dense_solve.hpp"
#include "rondure/core/median.hpp"

namespace rondure {
namespace {

// Where no reason stands, limits were set looking at the sets of tests/bench/solid_scenes/study_views (see
// joint_wall.cpp).
constexpr double kPlacedAgain_ratio = 0.8;  // of the rays: else the first edges stay
// chi^2 of three degrees of freedom, and what is worth leaving a view out for.
constexpr double kDiffers = 30, kDiffers_mm = 0.02;
constexpr double kLeastCover = 0.45;  // of the outline: as part_search.hpp's kViewBears_score
constexpr double kChamfer_mm = 0.3, kUChamfer_mm = 0.3;  // the wall ends below the told height
constexpr double kRimReach_px = 3;
// Edges that light does not put on a wall's outline (a glossy fillet, a shadow that joins) move the size by about as much as
// they scatter about it: of the radius, standard; from 20 traced sets (tests/data/studies/one_part.txt).
constexpr double kOfMisfit = 0.7;
// Where the light falls towards the edge from within (the limb of a fillet, a narrow chamfer in shade) by more than so much
// of the edge's rise, the blur draws the edge outwards: it is unsure by as much of the camera's blur.
constexpr double kDip = 0.15, kDipCosts_blurs = 1, kDipWithin_blurs = 5, kDipBeyond_blurs = 2.2;
constexpr double kSecondHarmonic_px =
    0.05;  // standard uncertainty of each component: how light meets the rim

// In each used view the edges placed once more, across the outline.
std::vector<ViewOfWall> placed_across(const std::vector<SingleView>& singles,
                                      const std::vector<ViewOfWall>& views, const JointWall& joint) {
  std::vector<ViewOfWall> placed = views;
  for (std::size_t v = 0; v < views.size(); ++v) {
    if (!views[v].used) continue;
    WallFit fit;
    fit.wall = joint.wall;
    if (joint.shape.disc) fit.wall.foot_mm = fit.wall.top_mm;
    fit.wall = views[v].turn.wall_in_view(fit.wall);
    fit.chosen = joint.chosen[v];
    RayEdges rays = place_across(singles[v].view->picture, singles[v].view->board, singles[v].light_table,
                                 singles[v].camera, fit, views[v].rays)
                        .rays;
    std::size_t count = 0;
    for (const auto& ray : rays.rays) count += !ray.empty();
    if (static_cast<double>(count) >= kPlacedAgain_ratio * static_cast<double>(fit.chosen.size()))
      placed[v].rays = std::move(rays);
  }
  return placed;
}

std::string why_it_does_not_fit(const OwnAnswer& own, double joint_mm) {
  if (own.cover < kLeastCover)
    return fmt::format(
        "shows no edge on {:.0f} % of the outline that the others see: part moved, covered, or another",
        100 * (1 - own.cover));
  const double off_mm = own.diameter_mm - joint_mm;
  if (own.shift_mm.norm() >= std::abs(off_mm))
    return fmt::format("its part lies {:.3f} mm away from where the others see it: moved",
                       own.shift_mm.norm());
  return fmt::format("its part is {:.3f} mm {} than the others see it: another part", std::abs(off_mm),
                     off_mm > 0 ? "larger" : "smaller");
}

bool misfits(const OwnAnswer& own, double joint_mm) {
  if (own.cover < kLeastCover) return true;
  return own.differs > kDiffers &&
         std::max(own.shift_mm.norm(), std::abs(own.diameter_mm - joint_mm)) > kDiffers_mm;
}

// The view that fits least of those that do not; -1: all fit.
int worst_view(const AdjustedWall& all) {
  int worst = -1;
  double most = 0;
  for (std::size_t v = 0; v < all.views.size(); ++v) {
    if (!all.views[v].used) continue;
    const OwnAnswer& own = all.joint.own[v];
    const double badness = own.cover < kLeastCover ? 1e9 * (1 - own.cover) : own.differs;
    if (misfits(own, 2 * all.joint.wall.radius_mm) && badness > most)
      most = badness, worst = static_cast<int>(v);
  }
  return worst;
}

// Mean of five along the edge, `out_px` beyond it.
std::optional<double> light_beyond(const LightAt& light, const RayEdge& edge, const Eigen::Vector2d& out,
                                   double out_px) {
  double sum = 0;
  for (int k = -2; k <= 2; ++k) {
    const Eigen::Vector2d p = edge.pixel + out_px * out + k * Eigen::Vector2d(-out.y(), out.x());
    if (!light.holds(p.x(), p.y())) return {};
    sum += light.at(p.x(), p.y());
  }
  return sum / 5;
}

// How far the light falls towards a dark part's edge from within (rises, towards a bright one's), of its rise beyond.
std::optional<double> dip_at(const LightAt& light, const PartView& view, const RayEdge& edge,
                             const Eigen::Vector2d& normal, double blur_px) {
  constexpr double kProbe_mm = 0.05, kStep_px = 0.5;  // tells which way is out; half a pixel misses no dip
  const auto probe = pixel_from_part(view.board, PartPoint::from(edge.at + kProbe_mm * normal));
  const auto zero = pixel_from_part(view.board, PartPoint::from(edge.at));
  if (!probe || !zero) return {};
  const Eigen::Vector2d out =
      Eigen::Vector2d(probe->x_px - zero->x_px, probe->y_px - zero->y_px).normalized();
  const double sign = edge.dark_inside ? 1 : -1;
  const auto within = light_beyond(light, edge, out, -kDipWithin_blurs * blur_px),
             beyond = light_beyond(light, edge, out, kDipBeyond_blurs * blur_px);
  if (!within || !beyond) return {};
  double least = sign * *within;
  for (double t = -kDipWithin_blurs * blur_px; t < 0; t += kStep_px)
    if (const auto here = light_beyond(light, edge, out, t)) least = std::min(least, sign * *here);
  const double rise = sign * *beyond - least;
  return rise > 0 ? std::min(1.0, (sign * *within - least) / rise) : 1;
}

double u_of_dips_blurs(const std::vector<double>& dips) {
  double sum = 0;
  for (const double dip : dips) sum += std::max(0.0, dip - kDip);
  return dips.empty() ? 0 : kDipCosts_blurs * sum / static_cast<double>(dips.size());
}

}  // namespace

int AdjustedWall::used() const {
  return static_cast<int>(
      std::count_if(views.begin(), views.end(), [](const ViewOfWall& v) { return v.used; }));
}

AdjustedWall adjust_outside(const std::vector<SingleView>& singles, const PartStart& start,
                            const std::optional<Estimate>& height_mm) {
  AdjustedWall out;
  out.why_not.resize(singles.size());
  std::vector<ViewOfWall> rays = rays_round(singles, start.wall, 1);
  for (std::size_t v = 0; v < rays.size(); ++v) {
    rays[v].used = start.scores[v] > kViewBears_score;
    if (!rays[v].used)
      out.why_not[v] = "no round edge where the others see the part: part moved, or another part";
  }
  JointShape shape;
  shape.disc = start.disc;
  if (height_mm)
    shape.top_mm = start.disc ? *height_mm
                              : Estimate{std::max(0.1, height_mm->value - kChamfer_mm),
                                         std::hypot(kUChamfer_mm, height_mm->u)};
  RoundWall wall = start.wall;
  while (true) {
    JointWall joint = fit_joint_wall(rays, wall, shape);
    out.views = placed_across(singles, rays, joint);
    out.joint = adjust_joint_wall(out.views, joint);
    const int worst = out.joint.found ? worst_view(out) : -1;
    if (worst < 0 || out.used() <= 2) break;
    out.why_not[worst] = why_it_does_not_fit(out.joint.own[worst], 2 * out.joint.wall.radius_mm);
    rays[worst].used = false;
    wall = out.joint.wall;
  }
  if (out.joint.found && out.used() <= 2)
    if (const int worst = worst_view(out); worst >= 0)
      out.why_not[worst] = why_it_does_not_fit(out.joint.own[worst], 2 * out.joint.wall.radius_mm);
  return out;
}

AdjustedWall adjust_rim(const std::vector<SingleView>& singles, const PartStart& start,
                        const Estimate& height_mm) {
  AdjustedWall out;
  out.why_not.resize(singles.size());
  std::vector<ViewOfWall> rays = rays_round(singles, start.wall, kUChamfer_mm);
  JointWall joint;
  joint.wall = start.wall;
  joint.shape.disc = true, joint.shape.top_mm = height_mm;
  for (std::size_t v = 0; v < rays.size(); ++v) rays[v].used = start.scores[v] > kViewBears_score;
  while (true) {
    joint.chosen.assign(rays.size(), {});
    for (std::size_t v = 0; v < rays.size(); ++v)
      if (rays[v].used)
        joint.chosen[v] = edges_on_outline(rays[v].rays, rays[v].camera,
                                           rays[v].turn.wall_in_view(joint.wall), kRimReach_px, true);
    out.views = placed_across(singles, rays, joint);
    out.joint = adjust_joint_wall(out.views, joint);
    const int worst = out.joint.found ? worst_view(out) : -1;
    if (worst < 0 || out.used() <= 2) return out;
    out.why_not[worst] = why_it_does_not_fit(out.joint.own[worst], 2 * out.joint.wall.radius_mm);
    rays[worst].used = false;
  }
}

namespace {

// One edge of all views together: outline points by direction, levels, doubts.
class JointEdge {
public:
  JointEdge(const std::vector<SingleView>& singles, const AdjustedWall& adjusted)
      : singles_(singles), adjusted_(adjusted), joint_(adjusted.joint) {}

  JointRim take() {
    for (std::size_t v = 0; v < adjusted_.views.size(); ++v)
      if (adjusted_.views[v].used && !joint_.chosen[v].empty()) add_view(v);
    put_points();
    put_levels();
    put_doubts();
    put_outlines();
    return std::move(out_);
  }

private:
  static constexpr int kBins = 360;  // a point a degree, as the rays are
  struct Sum {
    double out_mm = 0, weight = 0;
    Eigen::Vector2d normal = Eigen::Vector2d::Zero();
    PixelPoint pixel;
  };

  RoundWall wall() const {
    RoundWall wall = joint_.wall;
    if (joint_.shape.disc) wall.foot_mm = wall.top_mm;
    return wall;
  }
  double of_views() const { return std::max(1, views_); }

  void add_view(std::size_t v) {
    const ViewOfWall& view = adjusted_.views[v];
    ++views_;
    RoundWall round = view.turn.wall_in_view(wall());
    round.oval.setZero();
    const SeenOutline outline(view.camera, round);
    const Eigen::Matrix2d turn = view.turn.rotation();
    scales_.push_back(view.rays.px_per_mm * view.camera.scale_at(wall().top_mm));
    const LightAt light(singles_[v].view->picture, singles_[v].light_table);
    camera_blur_px_ += view.rays.camera_blur_px;
    for (std::size_t i = 0; i < joint_.chosen[v].size(); ++i) {
      const RayEdge& e = *joint_.chosen[v][i].edge;
      const OutlineDistance d = outline.nearest(e.at);
      add_edge(e, turn * d.normal, joint_.left_mm[v][i] / d.scale,
               e.weight / std::pow(joint_.noise_px[v] / view.rays.px_per_mm, 2));
      if (joint_.shape.disc) continue;
      if (const auto dip = dip_at(light, *singles_[v].view, e, d.normal, view.rays.camera_blur_px))
        dips_.push_back(*dip);
    }
  }

  void add_edge(const RayEdge& e, const Eigen::Vector2d& normal, double left_mm, double weight) {
    const double direction = wrap_direction_rad(std::atan2(normal.y(), normal.x()));
    const Eigen::Vector2d doubled(std::cos(2 * direction), std::sin(2 * direction));
    Sum& sum = by_direction_[static_cast<int>(direction / (2 * kPi) * kBins)];
    sum.out_mm += weight * (left_mm + doubled.dot(joint_.wall.oval));
    sum.normal += weight * normal, sum.weight += weight, sum.pixel = {e.pixel.x(), e.pixel.y()};
    weights_ += weight, misses_ += weight * left_mm * left_mm;
    blurs_.push_back(e.blur_px), inside_.push_back(e.inside), outside_.push_back(e.outside);
    dark_ += e.dark_inside ? 1 : -1;
  }

  void put_points() {
    const double bins = static_cast<double>(by_direction_.size());
    const double typical_weight = weights_ / std::max(1.0, bins);
    const double sigma_mm = std::sqrt(misses_ / std::max(weights_, 1e-9)) / std::sqrt(of_views());
    for (const auto& [bin, sum] : by_direction_) {
      const Eigen::Vector2d normal = sum.normal.normalized();
      const Eigen::Vector2d doubled(normal.x() * normal.x() - normal.y() * normal.y(),
                                    2 * normal.x() * normal.y());
      misfit2_mm2_ += std::pow(sum.out_mm / sum.weight - doubled.dot(joint_.wall.oval), 2) / bins;
      edge_.points.push_back(
          {PartPoint::from(joint_.wall.center + (joint_.wall.radius_mm + sum.out_mm / sum.weight) * normal),
           std::max(1e-5, sigma_mm * std::sqrt(std::clamp(typical_weight / sum.weight, 0.2, 5.0))), 0});
      edge_.pixels.push_back(sum.pixel);
    }
    edge_.coverage_deg = static_cast<double>(edge_.points.size());
  }

  void put_levels() {
    edge_.px_per_mm = scales_.empty() ? 1 : median(scales_);
    edge_.dark_inside = dark_ > 0;
    edge_.blur_px = median(blurs_), edge_.light_inside = median(inside_),
    edge_.light_outside = median(outside_);
    edge_.noise_px = joint_.rms_px;
    edge_.height_mm = joint_.wall.top_mm;
    edge_.u_height_mm = std::sqrt(std::max(0.0, joint_.covariance(kJointTop, kJointTop)));
  }

  void put_doubts() {
    const auto more = [](double whole, double part) { return std::sqrt(std::max(0.0, whole - part)); };
    const double offset_mm =
        std::hypot(joint_.shape.u_offset_px, joint_.shape.u_own_offset_px / std::sqrt(of_views())) /
        edge_.px_per_mm;
    out_.u_place_mm = 2 * more(joint_.covariance(kJointR, kJointR),
                               joint_.cameras_right(kJointR, kJointR) + offset_mm * offset_mm);
    edge_.u_edge_offset_mm =
        std::hypot(std::hypot(offset_mm, kOfMisfit * std::sqrt(misfit2_mm2_)),
                   u_of_dips_blurs(dips_) * camera_blur_px_ / of_views() / edge_.px_per_mm);
    out_.u_height_mm =
        2 * more(joint_.cameras_right(kJointR, kJointR), joint_.height_right(kJointR, kJointR));
    const Eigen::Matrix2d bend = joint_.covariance.block<2, 2>(kJointCos, kJointCos) -
                                 joint_.height_right.block<2, 2>(kJointCos, kJointCos);
    const SymmetricEigen axes = symmetric_eigen(bend);
    out_.second_harmonic_mm2 =
        Eigen::Matrix2d(axes.vectors * axes.values.cwiseMax(0.0).asDiagonal() * axes.vectors.transpose()) +
        std::pow(kSecondHarmonic_px / edge_.px_per_mm, 2) * Eigen::Matrix2d::Identity();
  }

  void put_outlines() {
    for (std::size_t v = 0; v < adjusted_.views.size(); ++v) {
      out_.outlines.emplace_back();
      if (!adjusted_.views[v].used) continue;
      out_.outlines.back() = pixels_of(SeenOutline(singles_[v].camera, singles_[v].turn.wall_in_view(wall())),
                                       singles_[v].view->board);
    }
  }

  const std::vector<SingleView>& singles_;
  const AdjustedWall& adjusted_;
  const JointWall& joint_;
  JointRim out_;
  RoundEdge& edge_ = out_.edge;
  std::map<int, Sum> by_direction_;
  std::vector<double> scales_, blurs_, inside_, outside_, dips_;
  double camera_blur_px_ = 0, weights_ = 0, misses_ = 0, misfit2_mm2_ = 0;
  int dark_ = 0, views_ = 0;
};

}  // namespace

JointRim edge_of(const std::vector<SingleView>& singles, const AdjustedWall& adjusted) {
  return JointEdge(singles, adjusted).take();
}

}  // namespace rondure
