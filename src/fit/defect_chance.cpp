#include "defect_chance.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "rondure/core/dense_solve.hpp"
#include "rondure/fit/distributions.hpp"
#include "rondure/fit/robust_circle.hpp"

namespace rondure {
namespace {

constexpr int kDense = 120;  // points from which on neighbours are near enough to show what makes them alike
constexpr double kDefectShare =
    0.8;  // of kFalseExclusion for the defects; the rest for the choice of the form

constexpr int kFewOnArc = 40;                              // readings by hand
constexpr int kTextureOrders = 30;                         // as in the belief of form (higher_orders.hpp)
constexpr double kLeastTexture = 0.3;                      // of the told noise, rms: less is not told from it
constexpr double kTextureStep = 1.35, kTextureSteps = 24;  // from there to 400 times the noise

// How many neighbouring points tell as much as one that stands alone: 1 plus twice the sum of the autocorrelation of the kept
// residuals, up to where it first falls to 0 (Sokal's windowed sum, from memory). Undulations that the model does not hold make
// neighbours alike. 1 for few points, which lie too far apart for it.
double points_alike(const Profile& p, const Description& d) {
  const int n = p.size();
  if (n < kDense) return 1;
  Eigen::VectorXd r = d.residual.cwiseQuotient(p.relative_sigma);
  for (int i = 0; i < n; ++i)
    if (!d.kept[static_cast<std::size_t>(i)]) r[i] = 0;
  const double square = r.squaredNorm();
  double alike = 1;
  for (int lag = 1; lag < n / 8 && square > 0; ++lag) {
    const double product =
        r.head(n - lag).dot(r.tail(n - lag)) + (p.closed ? r.head(lag).dot(r.tail(lag)) : 0.0);
    if (product <= 0) break;
    alike += 2 * product / square;
  }
  return alike;
}

Eigen::MatrixXd block_of(const Eigen::MatrixXd& m, const std::vector<int>& rows,
                         const std::vector<int>& columns) {
  Eigen::MatrixXd out(rows.size(), columns.size());
  for (std::size_t i = 0; i < rows.size(); ++i)
    for (std::size_t j = 0; j < columns.size(); ++j)
      out(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(j)) = m(rows[i], columns[j]);
  return out;
}

template <typename Matrix>
Matrix rows_of(const Matrix& m, const std::vector<int>& rows) {
  Matrix out(static_cast<Eigen::Index>(rows.size()), m.cols());
  for (std::size_t i = 0; i < rows.size(); ++i) out.row(static_cast<Eigen::Index>(i)) = m.row(rows[i]);
  return out;
}

// The chance that points as far off as those left out come from the part's own form: the kept points, whose noise is told (else
// their scatter about the model), say how much form there is beyond the model (amplitudes that fall as 1/k to order 30, of a size
// that is as likely in each decade), and where it leads the outline between them (best linear prediction; the predictive chance
// is averaged over the sizes by what the kept points say of each). Points near each other share their form: two beside each
// other are no sector by that alone.
double chance_by_form(const Profile& p, const Description& d) {
  const int n = p.size(), first = p.closed ? (d.columns + 1) / 2 : d.columns > 3 ? 3 : 2;
  const double noise_mm = p.told ? p.least_sigma_mm : d.sigma_mm;
  std::vector<int> in, out;
  for (int i = 0; i < n; ++i) (d.kept[static_cast<std::size_t>(i)] ? in : out).push_back(i);
  Eigen::MatrixXd form(n, n);
  for (int i = 0; i < n; ++i)
    for (int j = 0; j < n; ++j) {
      form(i, j) = 0;
      for (int k = first; k <= kTextureOrders; ++k)
        form(i, j) += std::cos(k * (p.angle_rad[i] - p.angle_rad[j])) / (k * k);
    }
  form /= form(0, 0);
  const Eigen::MatrixXd columns = p.basis.leftCols(d.columns), x = rows_of(columns, in),
                        x_out = rows_of(columns, out);
  const Eigen::VectorXd y = rows_of(p.deviation_mm, in), y_out = rows_of(p.deviation_mm, out);
  const Eigen::VectorXd noise = (noise_mm * p.relative_sigma).cwiseAbs2();
  const double freedom = static_cast<double>(in.size()) - d.columns + (p.told ? kToldFreedom : 0);
  double sum = 0, weights = 0, most = -std::numeric_limits<double>::infinity();
  double size = kLeastTexture * noise_mm;
  for (int step = 0; step < kTextureSteps; ++step, size *= kTextureStep) {
    Eigen::MatrixXd c = size * size * form;
    c.diagonal() += noise;
    const PositiveSolver kept(block_of(c, in, in));
    const Eigen::MatrixXd to_out = block_of(c, in, out), carried = kept.solve(x), across = kept.solve(to_out);
    const PositiveSolver normal(cross(x, carried));
    const Eigen::VectorXd at = normal.solve(cross(carried, y)), rest = y - x * at;
    const double likelihood = -kept.half_log_det() - normal.half_log_det() - 0.5 * rest.dot(kept.solve(rest));
    const Eigen::MatrixXd lever = x_out.transpose() - cross(x, across);  // a column for each point left out
    const Eigen::MatrixXd spread =
        block_of(c, out, out) - cross(to_out, across) + cross(lever, normal.solve(lever));
    const Eigen::VectorXd off = y_out - x_out * at - cross(across, rest);
    const double many = static_cast<double>(out.size());
    const double chance = f_upper_p(off.dot(PositiveSolver(spread).solve(off)) / many, many, freedom);
    if (likelihood > most) {
      const double less = std::exp(most - likelihood);
      sum *= less, weights *= less, most = likelihood;
    }
    const double weight = std::exp(likelihood - most);
    sum += weight * chance, weights += weight;
  }
  return sum / weights;
}

// beyond_chance() of the points that `whole` holds and the description does not.
bool beyond_chance(const Profile& p, const Description& d, const std::vector<char>& whole) {
  const int n = p.size();
  const auto kept = std::count(d.kept.begin(), d.kept.end(), 1),
             left_out = std::count(whole.begin(), whole.end(), 1) - kept;
  if (left_out <= 0) return true;
  const double alike = points_alike(p, d);
  const double out = static_cast<double>(left_out) / alike,
               dof = static_cast<double>(kept) / alike - static_cast<double>(d.columns);
  if (dof < 1) return false;
  const auto asked = [&](int i) {
    return whole[static_cast<std::size_t>(i)] && !d.kept[static_cast<std::size_t>(i)];
  };
  double ways = 0, slips = static_cast<double>(left_out);  // logarithm
  for (const Run& run : defect_runs(p, d.kept, d.residual))
    if (run.count > 2 && is_sector(p, run, d.residual)) {
      int own = 0;
      for (int k = 0; k < run.count; ++k) own += asked((run.first + k) % n);
      if (own > 0) ways += 2 * std::log(n);
      slips -= own;
    }
  ways += std::lgamma(n + 1.0) - std::lgamma(slips + 1) - std::lgamma(n - slips + 1);
  const auto squares = [&](const Description& about) {
    double sum = 0;
    for (int i = 0; i < n; ++i)
      if (about.kept[static_cast<std::size_t>(i)])
        sum += std::pow(about.residual[i] / p.relative_sigma[i], 2);
    return sum / alike;
  };
  const double rest = std::max(squares(d), dof * p.least_sigma_mm * p.least_sigma_mm);
  const double freedom = dof + freedom_told(p, rest / dof);
  for (std::size_t m = 0; m < p.models.size() && p.models[m] <= d.columns; ++m) {
    Description plain;
    plain.columns = p.models[m];
    plain.kept = whole;
    if (!refit(p, plain)) continue;
    const double more = out + d.columns - plain.columns;
    const double chance = f_upper_p((squares(plain) - rest) / more / (rest / dof), more, freedom);
    if (std::log(chance) + ways > std::log(kDefectShare * kFalseExclusion)) return false;
  }
  const bool few_on_arc = !p.closed && n <= kFewOnArc;  // too few columns for form that sways within the arc
  if ((p.told || few_on_arc) &&
      std::log(chance_by_form(p, d)) + ways > std::log(kDefectShare * kFalseExclusion))
    return false;
  return true;
}

}  // namespace

bool beyond_chance(const Profile& p, const Description& d) {
  return beyond_chance(p, d, std::vector<char>(d.kept.size(), 1));
}

void narrow_sectors(const Profile& p, Description& d) {
  constexpr int kHalvings = 3;  // to an eighth of what was found; by judgement
  const int n = p.size();
  if (n < kDense) return;
  const auto without = [&](const std::vector<char>& others, int first, int count) {
    Description tried = d;
    tried.kept = others;
    for (int k = 0; k < count; ++k) tried.kept[static_cast<std::size_t>((first + k) % n)] = 0;
    tried.sigma_mm = std::numeric_limits<double>::infinity();
    refit(p, tried);
    return tried;
  };
  const double sigma_before_mm = d.sigma_mm;
  for (const Run& run : defect_runs(p, d.kept, d.residual)) {
    if (run.count < 3 || !is_sector(p, run, d.residual)) continue;
    std::vector<char> others = d.kept;
    for (int k = 0; k < run.count; ++k) others[static_cast<std::size_t>((run.first + k) % n)] = 1;
    int first = run.first, count = run.count;
    for (int halving = 0; halving < kHalvings && count >= 6; ++halving) {
      const Description wide = without(others, first, count);
      Description best;
      best.sigma_mm = std::numeric_limits<double>::infinity();
      int best_first = first;
      for (const int at : {first, first + count / 4, first + count / 2})
        if (Description half = without(others, at, count / 2); half.sigma_mm < best.sigma_mm)
          best = std::move(half), best_first = at;
      if (!std::isfinite(best.sigma_mm) || beyond_chance(p, wide, best.kept)) break;
      first = best_first, count /= 2;
    }
    Description narrowed = without(others, first, count);
    if (!beyond_chance(p, narrowed, others)) narrowed = without(others, first, 0);
    if (std::isfinite(narrowed.sigma_mm)) d = std::move(narrowed);
  }
  if (d.believed_sigma_mm > 0 && sigma_before_mm > 0)
    d.believed_sigma_mm *= std::max(1.0, d.sigma_mm / sigma_before_mm);
}

}  // namespace rondure
