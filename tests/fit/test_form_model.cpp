// The form model against dense linear algebra, exact cases and properties.
#include <Eigen/Dense>
#include <algorithm>
#include <catch2/catch.hpp>

#include "fit/simulated_part.hpp"
#include "rondure/fit/circle_fit.hpp"
#include "rondure/fit/distributions.hpp"
#include "rondure/fit/form_radius.hpp"
#include "rondure/fit/form_rows.hpp"

using namespace rondure;

namespace {
std::vector<PartPoint> readings(int n, double arc_deg, double form_ratio, unsigned seed) {
  simulated::Random random(seed);
  simulated::Part part;
  part.center = {3, -2};
  if (form_ratio > 0) simulated::add_form(part, form_ratio, 2, 8, random);
  simulated::Reading how;
  how.points = n, how.arc_deg = arc_deg;
  return simulated::read(part, how, random);
}
}  // namespace

TEST_CASE("form model: every node is generalised least squares with the form in the covariance",
          "[fit][form]") {
  const auto points = readings(12, 250, 1e-3, 3);
  const auto circle = fit_circle(points);
  REQUIRE(circle);
  const FormRows rows =
      circle_rows(points, {}, {circle->circle.center, circle->circle.radius_mm, 0.3}, 1, 2, 8);
  const auto share = form_shares(2, 8, [](int k) { return 1.0 / k; });
  const double s = 4e-4;
  const FormPrior prior = {{0.7, share, {3e-4}, {1.0}}, {0.3, share, {2e-3}, {1.0}}};
  const int targets[] = {0, 1, 2};
  const auto terms = form_posterior(std::span(&rows, 1), prior, {s, s}, targets);
  REQUIRE(terms.size() == 2);
  double log_weight[2];
  for (int i = 0; i < 2; ++i) {
    const double tau = i == 0 ? 3e-4 : 2e-3;
    const Eigen::VectorXd w = Eigen::Map<const Eigen::VectorXd>(share.data(), 14);
    const Eigen::MatrixXd v = s * s * Eigen::MatrixXd::Identity(12, 12) +
                              tau * tau * rows.form * w.asDiagonal() * rows.form.transpose();
    const Eigen::MatrixXd inverse = v.inverse();
    const Eigen::MatrixXd normal = rows.flat.transpose() * inverse * rows.flat;
    const Eigen::VectorXd beta = normal.inverse() * rows.flat.transpose() * inverse * rows.y;
    CHECK(terms[i].mean[0] == Approx(beta[0]).epsilon(1e-7).margin(1e-12));
    CHECK(terms[i].mean[2] == Approx(beta[2]).epsilon(1e-7).margin(1e-12));
    CHECK(terms[i].variance(0, 0) == Approx(normal.inverse()(0, 0)).epsilon(1e-7));
    CHECK(terms[i].variance(0, 1) == Approx(normal.inverse()(0, 1)).epsilon(1e-7));
    const Eigen::VectorXd r = rows.y - rows.flat * beta;
    log_weight[i] = std::log(prior[i].mass) - 0.5 * std::log(v.determinant()) -
                    0.5 * std::log(normal.determinant()) - 0.5 * r.dot(inverse * r);
  }
  CHECK(std::log(terms[1].weight / terms[0].weight) == Approx(log_weight[1] - log_weight[0]).margin(1e-6));
}

TEST_CASE("form model: many points, every node as with dense matrices", "[fit][form]") {
  for (const double arc_deg : {360.0, 300.0, 90.0}) {
    const auto points = readings(160, arc_deg, 1e-3, 5);
    const auto circle = fit_circle(points);
    REQUIRE(circle);
    const FormRows rows =
        circle_rows(points, {}, {circle->circle.center, circle->circle.radius_mm, 0.3}, 1, 2, 30);
    const auto share = form_shares(2, 30, [](int k) { return 1.0 / k; });
    const auto low = form_shares(2, 8, [](int) { return 1.0; });
    const FormPrior prior = {{0.7, share, {3e-4, 1e-3}, {0.5, 0.5}}, {0.3, low, {5e-4}, {1.0}}};
    const int targets[] = {0, 1, 2};
    const double s = 4e-4;
    const auto terms = form_posterior(std::span(&rows, 1), prior, {s, s}, targets);
    CAPTURE(arc_deg);
    REQUIRE(!terms.empty());
    double reference = 0;
    for (std::size_t i = 0; i < terms.size(); ++i) {
      const FormTerm& term = terms[i];
      const bool of_low = term.tau == 5e-4;
      const auto& used = of_low ? low : share;
      const Eigen::VectorXd w = Eigen::Map<const Eigen::VectorXd>(used.data(), std::ssize(used));
      const auto form = rows.form.leftCols(w.size());
      const Eigen::MatrixXd v = Eigen::MatrixXd::Identity(160, 160) * s * s +
                                term.tau * term.tau * form * w.asDiagonal() * form.transpose();
      const Eigen::LDLT<Eigen::MatrixXd> ldlt(v);
      const Eigen::MatrixXd normal = rows.flat.transpose() * ldlt.solve(rows.flat);
      const Eigen::VectorXd beta = normal.ldlt().solve(rows.flat.transpose() * ldlt.solve(rows.y));
      CHECK(term.mean[0] == Approx(beta[0]).epsilon(1e-6).margin(1e-11));
      CHECK(term.mean[1] == Approx(beta[1]).epsilon(1e-6).margin(1e-11));
      CHECK(term.variance(0, 0) == Approx(normal.inverse()(0, 0)).epsilon(1e-6));
      const Eigen::VectorXd r = rows.y - rows.flat * beta;
      const double mass = of_low ? 0.3 : 0.35;
      const double log_weight = std::log(mass) - 0.5 * ldlt.vectorD().array().log().sum() -
                                0.5 * std::log(normal.determinant()) - 0.5 * r.dot(ldlt.solve(r));
      if (i == 0) reference = log_weight;
      CHECK(std::log(term.weight / terms[0].weight) == Approx(log_weight - reference).margin(1e-5));
    }
  }
}

TEST_CASE("form model: a perfectly round part is ordinary least squares", "[fit][form]") {
  const auto points = readings(10, 120, 0, 4);
  const auto circle = fit_circle(points);
  REQUIRE(circle);
  FormRadiusOptions options;
  options.form = FormKind::kNone;
  const RadiusEstimate estimate = estimate_radius(points, {}, circle->circle, options);
  CHECK(estimate.radius_mm == Approx(circle->circle.radius_mm).epsilon(1e-9));
  CHECK(estimate.u_noise_mm == Approx(circle->sigma_mm * std::sqrt(circle->cofactor(2, 2))).epsilon(5e-3));
  // Student's t, in curvature.
  const double half = student_quantile_two_sided(0.05, 7) * estimate.u_noise_mm / circle->circle.radius_mm;
  const auto interval = estimate.radius95_mm();
  REQUIRE(interval);
  CHECK(interval->hi == Approx(circle->circle.radius_mm / (1 - half)).epsilon(1e-7));
  CHECK(interval->hi - estimate.radius_mm > estimate.radius_mm - interval->lo);  // skew
}

TEST_CASE("form model: the answer does not depend on place, turn or order", "[fit][form]") {
  const auto points = readings(16, 200, 2e-3, 5);
  const auto estimate_of = [](const std::vector<PartPoint>& p) {
    FormRadiusOptions options;
    options.sigma_mm = 0.005;
    return estimate_radius(p, {}, fit_circle(p)->circle, options);
  };
  std::vector<PartPoint> moved;
  for (const PartPoint& p : points) moved.push_back({-p.y_mm + 400, p.x_mm - 70});
  std::reverse(moved.begin(), moved.end());
  const auto a = estimate_of(points), b = estimate_of(moved);
  CHECK(a.radius_mm == Approx(b.radius_mm).epsilon(1e-7));
  CHECK(a.u_mm() == Approx(b.u_mm()).epsilon(1e-4));
}

TEST_CASE("form model: unseen form widens an arc, and nothing is claimed of three points", "[fit][form]") {
  const auto arc = readings(24, 60, 0, 6);
  FormRadiusOptions options;
  options.sigma_mm = 0.0002 * 25.4;
  const Circle circle = fit_circle(arc)->circle;
  const auto with_form = estimate_radius(arc, {}, circle, options);
  options.form = FormKind::kNone;
  const auto without = estimate_radius(arc, {}, circle, options);
  CHECK(with_form.u_mm() > 1.5 * without.u_mm());
  CHECK(with_form.u_form_prior_mm > 0);
  const std::vector<PartPoint> three = {{0, 0}, {1, 0}, {0, 1}};
  CHECK_FALSE(estimate_radius(three, {}, fit_circle(three)->circle, {}).radius95_mm());
  CHECK(estimate_radius(three, {}, fit_circle(three)->circle, {}).u_mm() == 0);
}

TEST_CASE("form model: the mixture's quantile", "[fit][form]") {
  FormTerm one, two;
  one.weight = 0.5, one.mean[0] = -1, one.variance(0, 0) = 0.01;
  two.weight = 0.5, two.mean[0] = 1, two.variance(0, 0) = 0.04;
  const FormTerm terms[] = {one, two};
  CHECK(mixture_quantile(terms, 0.25) == Approx(-1).margin(1e-6));
  CHECK(mixture_quantile(terms, 0.75) == Approx(1).margin(1e-6));
  CHECK(mixture_mean(terms) == Approx(0).margin(1e-12));
}

TEST_CASE(
    "interval over kinds of part: ends where the density has fallen to that of who knows the kind, in the "
    "mean",
    "[fit][form]") {
  const auto kind = [](int which, double weight, double sd) {
    FormTerm term;
    term.kind = which, term.weight = weight, term.variance(0, 0) = sd * sd;
    return term;
  };
  const FormTerm alone[] = {kind(0, 1, 2)};
  // Densities of the normal law, from a table of it: 0.0584 at 1.96, three quarters of it at 2.1016.
  CHECK(mixture_interval95(alone).hi == Approx(2.1016 * 2).epsilon(1e-3));
  const FormTerm two[] = {kind(0, 0.85, 1), kind(1, 0.15, 8)};
  const double end = mixture_interval95(two).hi;
  const auto density = [](double z) { return std::exp(-z * z / 2) / std::sqrt(2 * 3.14159265358979); };
  CHECK(0.85 * density(end) + 0.15 / 8 * density(end / 8) ==
        Approx(0.75 * 0.0584 * (0.85 + 0.15 / 8)).epsilon(2e-3));
  CHECK(mixture_interval95(two).lo == Approx(-end).epsilon(1e-4));
  CHECK(end < 0.3 * mixture_quantile(two, 0.975));
  // A kind that must be allowed for ends later; the middle 80 % is never left out.
  FormTerm allowed[] = {two[0], two[1]};
  allowed[0].ends_at = allowed[1].ends_at = 0.5;
  CHECK(mixture_interval95(allowed).hi > end);
  const FormTerm half[] = {kind(0, 0.5, 1), kind(1, 0.5, 8)};
  CHECK(mixture_interval95(half).hi == Approx(mixture_quantile(half, 0.9)).epsilon(1e-4));
}

TEST_CASE("form model: directions found among few rows and among many give one answer", "[fit][form]") {
  // 40 readings over 120 degrees, orders 2 to 30 (58 columns); rows of nothing behind them say nothing.
  std::vector<PartPoint> points;
  for (int i = 0; i < 40; ++i) {
    const double t = rad(3.0 * i + 0.7 * std::sin(5.0 * i));
    const double r = 10 * (1 + 4e-4 * std::cos(2 * t + 1) + 2e-4 * std::cos(7 * t) + 1e-4 * std::sin(13 * t));
    points.push_back({r * std::cos(t), r * std::sin(t)});
  }
  const FormRows few = circle_rows(points, {}, {{0, 0}, 10, rad(60)}, 1, 2, 30);
  FormRows many = few;
  many.flat.conservativeResize(80, Eigen::NoChange), many.flat.bottomRows(40).setZero();
  many.form.conservativeResize(80, Eigen::NoChange), many.form.bottomRows(40).setZero();
  many.y.conservativeResize(80), many.y.tail(40).setZero();
  const FormPrior prior = {
      form_family(1, form_shares(2, 30, [](int k) { return 1.0 / (k * k); }), 6, 2e-4, 4e-3, 0)};
  const SigmaRange sigma{1e-4, 1e-4};
  constexpr int kTargets[] = {0, 1, 2};
  const auto a = form_posterior(std::span(&few, 1), prior, sigma, kTargets);
  const auto b = form_posterior(std::span(&many, 1), prior, sigma, kTargets);
  REQUIRE(a.size() == b.size());
  REQUIRE_FALSE(a.empty());
  for (std::size_t i = 0; i < a.size(); ++i) {
    CHECK(a[i].weight == Approx(b[i].weight).epsilon(1e-6));
    CHECK(a[i].mean[0] == Approx(b[i].mean[0]).epsilon(1e-6));
    CHECK(a[i].variance(0, 0) == Approx(b[i].variance(0, 0)).epsilon(1e-6));
    CHECK(a[i].prior_variance > 0);  // a smooth form is hardly seen on an arc
  }
}
