#include "photo/views/joint_wall.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>

#include "photo/edge/shared_errors.hpp"

namespace rondure {
namespace {

// Where no reason is given, limits were set looking at the sets of tests/bench/solid_scenes/study_views,
// seeds 11 and 12 (tests/data/studies/one_part.txt); fresh sets, looked at once, stand in README.
constexpr double kLeastNoise_px = 0.03;  // of an edge: the straight wall is no truer a model than that
constexpr double kUFoot_mm = 0.12, kHighestFoot_mm = 0.6;   // a broken lower edge
constexpr double kUFillet_mm = 0.25, kMostFillet_mm = 1.0;  // a rounded rim: joint_wall.hpp
constexpr double kMostTop_ratio = 0.8;                      // of the camera's height
constexpr std::array kScales_px = {3.0, 2.0, 1.4, 1.0, 0.7, 0.5, 0.4};
constexpr double kPlacedReach_px = 4;    // about the outline once its edges are placed
constexpr std::size_t kLeastEdges = 24;  // of 360 rays, in the view with most: three to an unknown (7)

struct Row {
  JointVector slope = JointVector::Zero();
  double miss_mm = 0, sigma_mm = 1, top_share = 0;
};

class JointFitting {
public:
  JointFitting(const std::vector<ViewOfWall>& views, const JointShape& shape)
      : views_(views), shape_(shape) {}

  JointWall robust(RoundWall wall) const {
    JointWall fit;
    fit.shape = shape_;
    fit.chosen.resize(views_.size());
    for (const double scale_px : kScales_px) {
      std::size_t most = 0;
      for (std::size_t v = 0; v < views_.size(); ++v) {
        fit.chosen[v].clear();
        if (!views_[v].used) continue;
        fit.chosen[v] =
            edges_on_outline(views_[v].rays, views_[v].camera, in_view(v, wall), 4 * scale_px + 1, false);
        most = std::max(most, fit.chosen[v].size());
      }
      if (most < kLeastEdges) return fit;
      robust_step(wall, fit, scale_px);
    }
    for (std::size_t v = 0; v < views_.size(); ++v)
      if (views_[v].used)
        fit.chosen[v] = edges_on_outline(views_[v].rays, views_[v].camera, in_view(v, wall), 2.6, true);
    fit.wall = wall;
    finish(fit);
    return fit;
  }

  JointWall adjust(const JointWall& from) const {
    JointWall fit = from;
    fit.shape = shape_;
    for (std::size_t v = 0; v < views_.size(); ++v) {
      fit.chosen[v].clear();
      if (views_[v].used)
        fit.chosen[v] =
            edges_on_outline(views_[v].rays, views_[v].camera, in_view(v, fit.wall), kPlacedReach_px, false);
    }
    for (const double scale_px : {1.0, 0.5, 0.3}) robust_step(fit.wall, fit, scale_px);
    for (std::size_t v = 0; v < views_.size(); ++v)
      if (views_[v].used)
        fit.chosen[v] =
            edges_on_outline(views_[v].rays, views_[v].camera, in_view(v, fit.wall), kPlacedReach_px, true);
    finish(fit);
    if (!fit.found) return fit;
    for (int round = 0; round < 3; ++round) least_squares(fit);
    finish(fit);
    for (std::size_t v = 0; v < views_.size(); ++v) fit.own[v] = own_answer(fit, v);
    return fit;
  }

private:
  RoundWall in_view(std::size_t v, RoundWall wall) const {
    if (shape_.disc) wall.foot_mm = wall.top_mm;
    return views_[v].turn.wall_in_view(wall);
  }

  // How far a rim rounded by 1 mm moves the outline outwards, in the plane z = 0.
  double fillet_slope(std::size_t v, const RoundWall& seen, const OutlineDistance& d) const {
    if (shape_.disc || d.top_share <= 0) return 0;
    const CameraPlace& camera = views_[v].camera;
    const double reach = d.normal.dot(seen.center - camera.foot) + seen.radius_mm;
    const double tangent = reach / (camera.height_mm - seen.top_mm);
    return tangent > 0 ? d.top_share * d.scale * (std::hypot(1.0, tangent) - 1) : 0;
  }

  Row row_of(const SeenOutline& outline, std::size_t v, const ChosenEdge& c, double noise_px,
             const RoundWall& seen, double fillet_mm) const {
    const ViewOfWall& view = views_[v];
    const OutlineDistance d = outline.nearest(c.edge->at);
    Row row;
    const Eigen::Vector2d center =
        view.turn.rotation() * Eigen::Vector2d(d.slope[kCenterX], d.slope[kCenterY]);
    const double turned = view.turn.quarters % 2 == 1 ? -1 : 1;
    row.slope << center.x(), center.y(), d.slope[kRadius], d.slope[kTop] + (shape_.disc ? d.slope[kFoot] : 0),
        turned * d.slope[kOvalCosine], turned * d.slope[kOvalSine], shape_.disc ? 0 : d.slope[kFoot],
        -fillet_slope(v, seen, d);
    row.miss_mm = d.distance_mm + fillet_mm * row.slope[kJointFillet], row.top_share = d.top_share;
    const double many = static_cast<double>(view.rays.rays.size()) / 360;
    row.sigma_mm =
        noise_px / view.rays.px_per_mm * std::sqrt(kNeighbours * many / std::max(0.05, c.edge->weight));
    return row;
  }

  static double highest_foot(const RoundWall& wall) { return std::min(kHighestFoot_mm, 0.5 * wall.top_mm); }

  static void hold(Eigen::Ref<Eigen::MatrixXd> n, Eigen::Ref<Eigen::VectorXd> r, int unknown) {
    n.row(unknown).setZero(), n.col(unknown).setZero();
    n(unknown, unknown) = 1, r(unknown) = 0;
  }

  void add_priors(const RoundWall& wall, double fillet_mm, Eigen::Ref<Eigen::MatrixXd> n,
                  Eigen::Ref<Eigen::VectorXd> r, bool height_held) const {
    if (height_held || (shape_.top_mm && shape_.top_mm->u == 0)) {
      hold(n, r, kJointTop);
    } else {
      const Estimate prior = shape_.top_mm.value_or(Estimate{5, 10});
      const double p = 1 / (prior.u * prior.u);
      n(kJointTop, kJointTop) += p, r(kJointTop) += p * (prior.value - wall.top_mm);
    }
    if (shape_.disc || height_held) {
      hold(n, r, kJointFillet);
    } else {
      const double p = 1 / (kUFillet_mm * kUFillet_mm);
      n(kJointFillet, kJointFillet) += p, r(kJointFillet) -= p * fillet_mm;
    }
    if (shape_.disc) {
      hold(n, r, kJointFoot);
    } else {
      const double p = 1 / (kUFoot_mm * kUFoot_mm);
      n(kJointFoot, kJointFoot) += p, r(kJointFoot) -= p * wall.foot_mm;
    }
    for (const int k : {kJointCos, kJointSin})
      if (shape_.oval) {
        const double p = std::pow(kOval_ratio * wall.radius_mm, -2);
        n(k, k) += p, r(k) -= p * wall.oval[k - kJointCos];
      } else {
        hold(n, r, k);
      }
  }

  void move(RoundWall& wall, const Eigen::VectorXd& x) const {
    const double limit = 0.05 * wall.radius_mm;
    wall.center += x.head<2>().cwiseMax(-limit).cwiseMin(limit);
    wall.radius_mm += std::clamp(x[kJointR], -limit, limit);
    double lowest = 1e9;
    for (const ViewOfWall& v : views_) lowest = std::min(lowest, v.camera.height_mm);
    wall.top_mm = std::clamp(wall.top_mm + std::clamp(x[kJointTop], -1.0, 1.0), shape_.disc ? -5.0 : 0.0,
                             kMostTop_ratio * lowest);
    wall.foot_mm = std::clamp(wall.foot_mm + x[kJointFoot], 0.0, highest_foot(wall));
    wall.oval += x.segment<2>(kJointCos).cwiseMax(-limit).cwiseMin(limit);
  }

  void robust_step(RoundWall& wall, const JointWall& fit, double scale_px) const {
    Eigen::MatrixXd n = Eigen::MatrixXd::Zero(kJointUnknowns, kJointUnknowns);
    Eigen::VectorXd r = Eigen::VectorXd::Zero(kJointUnknowns);
    for (std::size_t v = 0; v < views_.size(); ++v) {
      const RoundWall seen = in_view(v, wall);
      const SeenOutline outline(views_[v].camera, seen);
      for (const ChosenEdge& c : fit.chosen[v]) {
        const Row row = row_of(outline, v, c, 0.1, seen, 0);
        const double z = row.miss_mm * views_[v].rays.px_per_mm / scale_px;
        const double w = 1 / (1 + z * z) / (row.sigma_mm * row.sigma_mm);
        n.noalias() += w * row.slope * row.slope.transpose();
        r -= w * row.miss_mm * row.slope;
      }
    }
    add_priors(wall, 0, n, r, false);
    hold(n, r, kJointFillet);
    n.diagonal().array() += 1e-9 * n.diagonal().maxCoeff();
    const Eigen::VectorXd x = n.ldlt().solve(r);
    if (x.allFinite()) move(wall, x);
  }

  // Unknowns: six, one offset of all, then for each view its own offset and steps, then the lens steps of all.
  struct Layout {
    std::vector<int> first;  // of each view's own
    int lens = 0, count = kJointUnknowns + 1;
  };
  Layout layout() const {
    Layout l;
    int lens_steps = 0;
    for (const ViewOfWall& view : views_) {
      l.first.push_back(l.count);
      if (!view.used) continue;
      l.count += 1;
      for (const CameraStep& s : view.steps) {
        if (s.lens_step < 0) ++l.count;
        lens_steps = std::max(lens_steps, s.lens_step + 1);
      }
    }
    l.lens = l.count;
    l.count += lens_steps;
    return l;
  }

  // The whole row of an edge, over its noise.
  Eigen::VectorXd full_row(const Layout& l, std::size_t v, const Row& row, const ChosenEdge& c,
                           const RoundWall& seen) const {
    const ViewOfWall& view = views_[v];
    Eigen::VectorXd full = Eigen::VectorXd::Zero(l.count);
    full.head<kJointUnknowns>() = row.slope;
    full[kJointUnknowns] = shape_.u_offset_px / view.rays.px_per_mm;
    int next = l.first[v];
    full[next++] = shape_.u_own_offset_px / view.rays.px_per_mm;
    for (const CameraStep& s : view.steps) {
      const double slope = step_slope(s, seen, c.edge->pixel);
      if (s.lens_step < 0)
        full[next++] = slope;
      else
        full[l.lens + s.lens_step] = slope;
    }
    return full / row.sigma_mm;
  }

  // A foot or fillet that would come out below nothing is held at its bound, and the others are solved for with it there:
  // moved back alone it would leave all edges to one side of the wall.
  void keep_within_bounds(const JointWall& fit, Eigen::MatrixXd n, Eigen::VectorXd r,
                          Eigen::VectorXd& x) const {
    const std::array<std::array<double, 3>, 2> bounds = {
        {{fit.wall.foot_mm, 0.0, highest_foot(fit.wall)},
         {fit.fillet_mm, 0.0, std::min(kMostFillet_mm, 0.6 * fit.wall.top_mm)}}};
    constexpr std::array kBounded = {kJointFoot, kJointFillet};
    for (std::size_t round = 0; round < kBounded.size(); ++round) {
      bool held_one = false;
      for (std::size_t i = 0; i < kBounded.size(); ++i) {
        const auto& [now, least, most] = bounds[i];
        const double step = std::clamp(now + x[kBounded[i]], least, most) - now;
        if (std::abs(step - x[kBounded[i]]) < 1e-12) continue;
        r -= step * n.col(kBounded[i]);
        hold(n, r, kBounded[i]);
        r(kBounded[i]) = step, held_one = true;
      }
      if (!held_one) return;
      x = n.ldlt().solve(r);
    }
  }

  void least_squares(JointWall& fit) const {
    const Layout l = layout();
    Eigen::MatrixXd n = Eigen::MatrixXd::Zero(l.count, l.count);
    Eigen::VectorXd r = Eigen::VectorXd::Zero(l.count);
    std::vector<std::vector<Eigen::VectorXd>> rows(views_.size());
    for (std::size_t v = 0; v < views_.size(); ++v) {
      const RoundWall seen = in_view(v, fit.wall);
      const SeenOutline outline(views_[v].camera, seen);
      for (const ChosenEdge& c : fit.chosen[v]) {
        const Row row = row_of(outline, v, c, fit.noise_px[v], seen, fit.fillet_mm);
        rows[v].push_back(full_row(l, v, row, c, seen));
        n.selfadjointView<Eigen::Lower>().rankUpdate(rows[v].back());
        r -= row.miss_mm / row.sigma_mm * rows[v].back();
      }
    }
    n = Eigen::MatrixXd(n.selfadjointView<Eigen::Lower>());
    Eigen::MatrixXd part = n.topLeftCorner<kJointUnknowns, kJointUnknowns>();
    Eigen::VectorXd part_r = r.head<kJointUnknowns>();
    Eigen::MatrixXd held = part;
    Eigen::VectorXd held_r = part_r;
    add_priors(fit.wall, fit.fillet_mm, part, part_r, false);
    add_priors(fit.wall, fit.fillet_mm, held, held_r, true);
    fit.cameras_right = part.inverse(), fit.height_right = held.inverse();
    add_priors(fit.wall, fit.fillet_mm, n, r, false);
    n.diagonal().tail(l.count - kJointUnknowns).array() += 1;
    const Eigen::MatrixXd inverse = n.ldlt().solve(Eigen::MatrixXd::Identity(l.count, l.count));
    Eigen::VectorXd x = inverse * r;
    if (!x.allFinite()) return;
    fit.covariance = inverse.topLeftCorner<kJointUnknowns, kJointUnknowns>();
    if (!shape_.disc) keep_within_bounds(fit, n, r, x);
    if (!x.allFinite()) return;
    move(fit.wall, x);
    if (!shape_.disc) fit.fillet_mm += x[kJointFillet];
    // What is left with the cameras moved.
    fit.left_mm.assign(views_.size(), {});
    for (std::size_t v = 0; v < views_.size(); ++v) {
      const RoundWall seen = in_view(v, fit.wall);
      const SeenOutline outline(views_[v].camera, seen);
      for (std::size_t i = 0; i < rows[v].size(); ++i) {
        const Row row = row_of(outline, v, fit.chosen[v][i], fit.noise_px[v], seen, fit.fillet_mm);
        const int others = l.count - kJointUnknowns;
        fit.left_mm[v].push_back(row.miss_mm + row.sigma_mm * rows[v][i].tail(others).dot(x.tail(others)));
      }
    }
  }

  // One view's rows alone. Its noise is that about its own answer: about the joint one it holds what they differ by.
  OwnAnswer own_answer(const JointWall& fit, std::size_t v) const {
    OwnAnswer own = fit.own[v];
    if (fit.chosen[v].size() < kLeastEdges) return own;
    const Layout l = layout();
    const RoundWall seen = in_view(v, fit.wall);
    const SeenOutline outline(views_[v].camera, seen);
    double noise_px = fit.noise_px[v];
    for (int round = 0; round < 2; ++round) {
      Eigen::MatrixXd n = Eigen::MatrixXd::Zero(l.count, l.count);
      Eigen::VectorXd r = Eigen::VectorXd::Zero(l.count);
      std::vector<std::pair<double, Eigen::VectorXd>> rows;
      for (const ChosenEdge& c : fit.chosen[v]) {
        const Row row = row_of(outline, v, c, noise_px, seen, fit.fillet_mm);
        rows.emplace_back(row.miss_mm / row.sigma_mm, full_row(l, v, row, c, seen));
        n.selfadjointView<Eigen::Lower>().rankUpdate(rows.back().second);
        r -= rows.back().first * rows.back().second;
      }
      n = Eigen::MatrixXd(n.selfadjointView<Eigen::Lower>());
      // The height as all have it.
      const double p = 1 / std::max(1e-8, fit.covariance(kJointTop, kJointTop));
      n(kJointTop, kJointTop) += p;
      for (const int k : {kJointCos, kJointSin, kJointFoot, kJointFillet}) hold(n, r, k);
      n.diagonal().tail(l.count - kJointUnknowns).array() += 1;
      const Eigen::MatrixXd inverse = n.ldlt().solve(Eigen::MatrixXd::Identity(l.count, l.count));
      const Eigen::VectorXd x = inverse * r;
      if (!x.allFinite()) return own;
      own.shift_mm = x.head<2>();
      own.diameter_mm = 2 * (fit.wall.radius_mm + x[kJointR]);
      own.u_diameter_mm = 2 * std::sqrt(inverse(kJointR, kJointR));
      const Eigen::Matrix3d c = inverse.topLeftCorner<3, 3>();
      own.differs = x.head<3>().dot(c.ldlt().solve(x.head<3>()));
      double before = 0, after = 0;
      for (const auto& [miss, row] : rows) before += miss * miss, after += std::pow(miss + row.dot(x), 2);
      noise_px = std::max(kLeastNoise_px, noise_px * std::sqrt(after / std::max(before, 1e-12)));
    }
    return own;
  }

  void finish(JointWall& fit) const {
    fit.noise_px.assign(views_.size(), kLeastNoise_px);
    fit.own.resize(views_.size());
    double sum = 0, count = 0;
    for (std::size_t v = 0; v < views_.size(); ++v) {
      OwnAnswer& own = fit.own[v];
      own.cover = views_[v].rays.rays.empty() ? 0
                                              : static_cast<double>(fit.chosen[v].size()) /
                                                    static_cast<double>(views_[v].rays.rays.size());
      if (fit.chosen[v].empty()) continue;
      const RoundWall seen = in_view(v, fit.wall);
      const SeenOutline outline(views_[v].camera, seen);
      double chi2 = 0;
      for (ChosenEdge& c : fit.chosen[v]) {
        const OutlineDistance d = outline.nearest(c.edge->at);
        c.miss_px = views_[v].rays.px_per_mm * (d.distance_mm - fit.fillet_mm * fillet_slope(v, seen, d));
        chi2 += c.miss_px * c.miss_px;
      }
      own.rms_px = std::sqrt(chi2 / static_cast<double>(fit.chosen[v].size()));
      fit.noise_px[v] = std::max(kLeastNoise_px, own.rms_px);
      if (fit.chosen[v].size() >= kLeastEdges) fit.found = true;
      sum += chi2, count += static_cast<double>(fit.chosen[v].size());
    }
    fit.rms_px = count > 0 ? std::sqrt(sum / count) : 0;
  }

  const std::vector<ViewOfWall>& views_;
  const JointShape shape_;
};

}  // namespace

JointWall fit_joint_wall(const std::vector<ViewOfWall>& views, const RoundWall& start,
                         const JointShape& shape) {
  return JointFitting(views, shape).robust(start);
}

JointWall adjust_joint_wall(const std::vector<ViewOfWall>& placed, const JointWall& from) {
  return JointFitting(placed, from.shape).adjust(from);
}

}  // namespace rondure
