#include "rondure/interpret/running_fit.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "rondure/core/dense_solve.hpp"
#include "rondure/core/largest_gap.hpp"
#include "rondure/fit/circle_fit.hpp"

namespace rondure {
namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr double kPriorReadings = 2, kPriorScatter_ratio = 0.001;  // nu0, s0 of running_fit.hpp; by judgement

// Wallace, Ann. Math. Statist. 30 (1959) 1124 (from memory): the normal deviate as unlikely as t.
double normal_for_t(double t, double nu) {
  return (8 * nu + 1) / (8 * nu + 3) * std::sqrt(nu * std::log1p(t * t / nu));
}

VectorXd design_row(double t, Eigen::Index unknowns) {
  VectorXd w(unknowns);
  w.head<3>() << std::cos(t), std::sin(t), 1;
  if (unknowns == 5) w.tail<2>() << std::cos(2 * t), std::sin(2 * t);
  return w;
}

// The model of the readings that carry it: circle, and the oval where there is enough of it.
struct Model {
  Circle circle;
  double p = 0, q = 0;
  double ssq = 0, dof = 0, s0 = 0;
  MatrixXd cofactor;
  DirectionGap gap_deg;
  int used = 0;

  Eigen::Index unknowns() const { return cofactor.rows(); }
  double direction(PartPoint x) const {
    return std::atan2(x.y_mm - circle.center.y_mm, x.x_mm - circle.center.x_mm);
  }
  double radius_at(double t) const { return circle.radius_mm + p * std::cos(2 * t) + q * std::sin(2 * t); }
  double deviation(PartPoint x) const {
    return std::hypot(x.x_mm - circle.center.x_mm, x.y_mm - circle.center.y_mm) - radius_at(direction(x));
  }
  double leverage(PartPoint x) const {
    const VectorXd w = design_row(direction(x), unknowns());
    return w.dot(cofactor * w);
  }
  double variance() const { return (kPriorReadings * s0 * s0 + ssq) / (kPriorReadings + dof); }
  // How unlikely the reading is for the others, in standard deviations.
  double doubt_of(PartPoint x, bool carries) const {
    const double r = deviation(x), h = std::min(leverage(x), carries ? 0.999999 : 1e12);
    const double nu = kPriorReadings + dof - (carries ? 1 : 0);
    const double others = carries ? std::max(ssq - r * r / (1 - h), 0.0) : ssq;
    const double s2 = (kPriorReadings * s0 * s0 + others) / std::max(nu, kPriorReadings);
    const double t = std::abs(r) / std::sqrt(s2 * (carries ? 1 - h : 1 + h));
    return normal_for_t(t, std::max(nu, kPriorReadings));
  }
};

std::optional<Model> fit_model(const std::vector<PartPoint>& points, double resolution_mm) {
  if (points.size() < 3) return std::nullopt;
  const auto circle = fit_circle(points);
  if (!circle || !(circle->circle.radius_mm < 1e9)) return std::nullopt;
  Model m;
  m.circle = circle->circle;
  m.used = int(points.size());
  m.s0 = std::max(kPriorScatter_ratio * m.circle.radius_mm, resolution_mm);
  std::vector<double> directions_deg;
  for (const auto& x : points) directions_deg.push_back(deg(wrap_direction_rad(m.direction(x))));
  m.gap_deg = largest_gap(directions_deg, 360);
  const bool oval = m.used >= kOvalReadings && 360 - m.gap_deg.width >= kOvalCoverage_deg;
  const Eigen::Index unknowns = oval ? 5 : 3;
  MatrixXd W(m.used, unknowns);
  VectorXd r(m.used);
  for (int i = 0; i < m.used; ++i) {
    W.row(i) = design_row(m.direction(points[std::size_t(i)]), unknowns);
    r[i] = m.deviation(points[std::size_t(i)]);
  }
  const LeastSquares linear = least_squares(W, r);
  if (linear.rank < unknowns) return std::nullopt;
  m.cofactor = inverse_symmetric(gram(W));
  if (oval) {
    const VectorXd& step = linear.x;
    m.circle.center.x_mm += step[0];
    m.circle.center.y_mm += step[1];
    m.circle.radius_mm += step[2];
    m.p = step[3], m.q = step[4];
  }
  for (const auto& x : points) m.ssq += m.deviation(x) * m.deviation(x);
  m.dof = double(m.used - int(unknowns));
  return m;
}

// Where one reading more lowers u(R) most, of the directions that can be seen.
NextReading best_next(const Model& m, bool arc) {
  const double from = m.gap_deg.from + m.gap_deg.width, seen = 360 - m.gap_deg.width;
  NextReading next{0, deg(wrap_direction_rad(rad(m.gap_deg.from))), deg(wrap_direction_rad(rad(from))), 1};
  const MatrixXd c = m.cofactor.topLeftCorner(m.unknowns(), m.unknowns());
  const auto u_ratio = [&](double at_deg) {
    const VectorXd w = design_row(rad(at_deg), m.unknowns()), cw = c * w;
    return std::sqrt(std::max(0.0, 1 - cw[2] * cw[2] / (1 + w.dot(cw)) / c(2, 2)));
  };
  double best_deg = m.gap_deg.from + m.gap_deg.width / 2;
  if (arc)
    for (double best = 2, part = 0; part <= 1.0001; part += 0.05)
      if (const double ratio = u_ratio(from + part * seen); ratio < best - 1e-9)
        best = ratio, best_deg = from + part * seen;
  next.at_deg = deg(wrap_direction_rad(rad(best_deg)));
  next.radius_u_ratio = u_ratio(best_deg);
  return next;
}

}  // namespace

double RunningAnswer::radius_at_mm(double angle_rad) const {
  return circle->radius_mm + p_mm * std::cos(2 * angle_rad) + q_mm * std::sin(2 * angle_rad);
}

double RunningAnswer::deviation_of_mm(PartPoint p) const {
  const double dx = p.x_mm - circle->center.x_mm, dy = p.y_mm - circle->center.y_mm;
  return std::hypot(dx, dy) - radius_at_mm(std::atan2(dy, dx));
}

void RunningFit::add(PartPoint at, bool confirmed) {
  points_.push_back(at);
  confirmed_.push_back(confirmed);
  doubted_.push_back(0);
  look_again();
}

void RunningFit::look_again() {
  const auto carrying = [&] {
    std::vector<PartPoint> some;
    for (std::size_t i = 0; i < points_.size(); ++i)
      if (!doubted_[i]) some.push_back(points_[i]);
    return some;
  };
  // The newest is judged by the others, so that it cannot pull them over.
  auto model = std::optional<Model>();
  const std::size_t last = points_.size() - 1;
  if (!confirmed_[last]) {
    doubted_[last] = 1;
    model = fit_model(carrying(), options_.resolution_mm);
    doubted_[last] = model && model->doubt_of(points_[last], false) > kDoubt;
  }
  model = fit_model(carrying(), options_.resolution_mm);
  for (std::size_t round = 0; model && round <= points_.size() / 3; ++round) {
    bool changed = false;
    // back in, where the readings since then speak for it
    for (std::size_t i = 0; i < points_.size() && model->used >= 5; ++i)
      if (doubted_[i] && model->doubt_of(points_[i], false) < kDoubt - 1) doubted_[i] = 0, changed = true;
    if (changed) model = fit_model(carrying(), options_.resolution_mm);
    // out, the one that the others contradict most
    std::optional<std::size_t> worst;
    double largest = kDoubt;
    for (std::size_t i = 0; model && model->used >= 5 && model->dof >= 1 && i < points_.size(); ++i)
      if (!doubted_[i] && !confirmed_[i])
        if (const double z = model->doubt_of(points_[i], true); z > largest) largest = z, worst = i;
    if (!worst) break;
    doubted_[*worst] = 1;
    model = fit_model(carrying(), options_.resolution_mm);
  }
  // More than a third doubted: the first readings were the wrong ones, start from all of them.
  if (const auto out = std::count(doubted_.begin(), doubted_.end(), 1);
      out > 1 && 3 * std::size_t(out) > points_.size()) {
    std::fill(doubted_.begin(), doubted_.end(), 0);
    model = fit_model(points_, options_.resolution_mm);
  }
  answer_from_the_rest();
}

void RunningFit::judge(std::vector<char> doubted) {
  if (doubted == doubted_) return;
  doubted_ = std::move(doubted);
  answer_from_the_rest();
}

void RunningFit::answer_from_the_rest() {
  std::vector<PartPoint> carrying;
  for (std::size_t i = 0; i < points_.size(); ++i)
    if (!doubted_[i]) carrying.push_back(points_[i]);
  const auto model = fit_model(carrying, options_.resolution_mm);
  answer_ = {};
  answer_.used = int(carrying.size());
  if (!model) return;
  answer_.circle = model->circle;
  answer_.p_mm = model->p, answer_.q_mm = model->q;
  answer_.scatter_mm = std::sqrt(model->variance());
  answer_.coverage_deg = 360 - model->gap_deg.width;
  // of the readings alone, without the prior; not less than the rounding of the dial
  const double s =
      std::max(std::sqrt(model->ssq / std::max(model->dof, 1.0)), options_.resolution_mm / std::sqrt(12.0));
  if (model->dof >= 2) answer_.u_radius_mm = s * std::sqrt(model->cofactor(2, 2));
  if (model->unknowns() == 5 && model->dof >= 2) {
    answer_.ovality_mm = Estimate{4 * std::hypot(model->p, model->q),
                                  4 * s * std::sqrt(std::max(model->cofactor(3, 3), model->cofactor(4, 4)))};
    answer_.ovality_axis_deg = deg(wrap_axis_rad(std::atan2(model->q, model->p) / 2));
  }
  for (std::size_t i = 0; i < points_.size(); ++i) {
    answer_.deviation_mm.push_back(model->deviation(points_[i]));
    answer_.prediction_u_mm.push_back(answer_.scatter_mm *
                                      std::sqrt(1 + (doubted_[i] ? model->leverage(points_[i]) : 0)));
  }
  answer_.next = best_next(*model, options_.arc);
}

}  // namespace rondure
