#include "trimmed_outline.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numeric>
#include <optional>
#include <random>
#include <utility>

#include "kept_equations.hpp"
#include "rondure/core/dense_solve.hpp"
#include "rondure/core/gauss_legendre.hpp"
#include "rondure/core/order_statistic.hpp"

namespace rondure {
namespace {

constexpr double kKeep = 0.6;             // share of the points that sets the scale of a concentration step
constexpr double kKeepSigma = 0.8416;     // that share of a unit Gaussian lies within this
constexpr double kClip = 3.0;             // a point farther than this many sigma is left out of the next step
constexpr double kClipVariance = 0.9733;  // variance of a unit Gaussian cut off at 3
// More than this is described by waves that close on themselves, less by Legendre polynomials over the arc that is seen. By
// judgement; study_readings_coverage has readings on either side of it (all round, and arcs of 60 to 240 degrees).
constexpr double kClosed_rad = 240 * kPi / 180;
constexpr double kLeastKept = 0.6;      // of the points
constexpr double kLeastFreedom = 0.35;  // degrees of freedom of the kept points, at least this share of all
constexpr double kLeastNoise_ratio = 1e-8;  // of the radius: points without any error
// A bound, by judgement, on a loop that ends by itself once no point changes sides; study_fit_robust checks what is found.
constexpr int kTrimSteps = 8;
constexpr int kFewPoints = 40;  // readings by hand
// Starts of the search: sectors of one width all round, and for each of these shares of the points the window
// of neighbours without which the others fit best.
constexpr int kCoarseSectors = 12;
constexpr double kCoarseWidth_rad = kPi / 4;
constexpr double kWindowShares[] = {0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.35};
constexpr double kNearly = 2;  // nats
constexpr double kPlace = 3;   // about what the place of one slip among many costs, nats

// Numbers of columns that n points can carry and still show a defect.
std::vector<int> models_for(int n, bool closed) {
  std::vector<int> models{3};
  for (const int columns : closed ? std::vector<int>{5, 7, 11, 17} : std::vector<int>{5, 7})
    if (n >= (columns == 5 ? 10 : 4 * columns)) models.push_back(columns);
  return models;
}

void fill_basis(Profile& p, double coverage_rad) {
  const int n = p.size();
  p.closed = coverage_rad > kClosed_rad;
  p.models = models_for(n, p.closed);
  p.basis.resize(n, p.models.back());
  const double middle = 0.5 * (p.angle_rad[0] + p.angle_rad[n - 1]);
  const double half = std::max(1e-12, 0.5 * (p.angle_rad[n - 1] - p.angle_rad[0]));
  for (int i = 0; i < n; ++i) {
    const double t = p.angle_rad[i];
    p.basis.row(i).head<3>() << 1, std::cos(t - middle), std::sin(t - middle);
    for (int c = 3; c < p.basis.cols(); ++c) {
      const int k = (c + 1) / 2;
      if (p.closed)
        p.basis(i, c) = c % 2 ? std::cos(k * t) : std::sin(k * t);
      else
        p.basis(i, c) = legendre(c, (t - middle) / half).value;
    }
  }
}

bool fit_kept(const Profile& p, Description& d, KeptEquations& equations) {
  if (!equations.solve(d.kept, d.coefficients)) return false;
  d.residual = p.deviation_mm;
  d.residual.noalias() -= p.basis.leftCols(d.columns) * d.coefficients;
  return true;
}

bool refit(const Profile& p, Description& d, KeptEquations& equations) {
  if (!fit_kept(p, d, equations)) return false;
  double sum = 0;
  int kept = 0;
  for (int i = 0; i < p.size(); ++i)
    if (d.kept[static_cast<std::size_t>(i)]) ++kept, sum += std::pow(d.residual[i] / p.relative_sigma[i], 2);
  d.sigma_mm = std::max(p.least_sigma_mm, std::sqrt(sum / (kept - d.columns)));
  return true;
}

double quantile_of_absolute(const Profile& p, const Eigen::VectorXd& residual, double share) {
  thread_local std::vector<double> size;
  size.resize(static_cast<std::size_t>(p.size()));
  for (int i = 0; i < p.size(); ++i)
    size[static_cast<std::size_t>(i)] = std::abs(residual[i]) / p.relative_sigma[i];
  return order_statistic(size, static_cast<std::size_t>(std::ceil(share * p.size())) - 1);
}

bool enough_kept(int n, long kept, int columns) {
  return static_cast<double>(kept) >= kLeastKept * n &&
         static_cast<double>(kept) >= columns + std::max(2.0, kLeastFreedom * n);
}

// Sets of kept points that the paths of one model have been through: what follows from them is known.
struct Seen {
  std::map<std::vector<char>, int> path_at;
  int path = 0;
  enum class Place { kNew, kOnThisPath, kOnAnother };
  Place visit(const std::vector<char>& kept) {
    const auto [at, fresh] = path_at.try_emplace(kept, path);
    return fresh ? Place::kNew : at->second == path ? Place::kOnThisPath : Place::kOnAnother;
  }
};

// Concentration: fit the kept points, keep those near the fit, until nothing changes.
bool concentrate(const Profile& p, Description& d, KeptEquations& equations, Seen& seen) {
  const int n = p.size();
  if (!fit_kept(p, d, equations)) return false;
  for (int step = 0; step < kTrimSteps; ++step) {
    const double small_sample = std::sqrt(static_cast<double>(n) / std::max(1, n - d.columns));
    const double sigma =
        std::max(p.least_sigma_mm, small_sample * quantile_of_absolute(p, d.residual, kKeep) / kKeepSigma);
    std::vector<char> kept(static_cast<std::size_t>(n));
    for (int i = 0; i < n; ++i)
      kept[static_cast<std::size_t>(i)] = std::abs(d.residual[i]) <= kClip * sigma * p.relative_sigma[i];
    if (kept == d.kept) break;
    d.kept = std::move(kept);
    const auto place = seen.visit(d.kept);
    if (place == Seen::Place::kOnAnother) return false;
    if (place == Seen::Place::kOnThisPath) break;  // round in a circle: as good as settled
    if (!fit_kept(p, d, equations)) return false;
  }
  return true;
}

// The same by the sigma of the kept points themselves, which low defects beside high ones do not widen: for
// kept points that are believed to be free of defects. Then sigma.
bool settle(const Profile& p, Description& d, KeptEquations& equations, Seen& seen) {
  const int n = p.size();
  if (seen.visit(d.kept) != Seen::Place::kNew) return false;
  for (int step = 0; step < kTrimSteps; ++step) {
    const auto kept = std::count(d.kept.begin(), d.kept.end(), 1);
    if (!enough_kept(n, kept, d.columns) || !refit(p, d, equations)) return false;
    if (kept < n) d.sigma_mm = std::max(p.least_sigma_mm, d.sigma_mm / std::sqrt(kClipVariance));
    std::vector<char> next(d.kept.size());
    for (int i = 0; i < n; ++i)
      next[static_cast<std::size_t>(i)] = std::abs(d.residual[i]) <= kClip * d.sigma_mm * p.relative_sigma[i];
    if (next == d.kept || !enough_kept(n, std::count(next.begin(), next.end(), 1), d.columns)) break;
    d.kept = std::move(next);
    const auto place = seen.visit(d.kept);
    if (place == Seen::Place::kOnAnother) return false;
    if (place == Seen::Place::kOnThisPath) break;
  }
  return refit(p, d, equations);
}

// Of all windows of `width` neighbours, leaves out the one without which the sum of squares is least; the
// normal equations slide along, a point in and a point out.
std::vector<char> without_best_window(const Profile& p, int columns, int width) {
  const int n = p.size();
  Normal normal = Normal::Zero(columns, columns);
  Side right = Side::Zero(columns);
  double square = 0;
  const auto add = [&](int k, double sign) {
    const double w = sign / (p.relative_sigma[k % n] * p.relative_sigma[k % n]), y = p.deviation_mm[k % n];
    const Side row = p.basis.row(k % n).head(columns).transpose();
    for (int j = 0; j < columns; ++j) normal.col(j).tail(columns - j) += w * row[j] * row.tail(columns - j);
    right += w * y * row;
    square += w * y * y;
  };
  for (int k = width; k < n; ++k) add(k, 1);
  int best_first = 0;
  double least = std::numeric_limits<double>::infinity();
  Side solution;
  const int positions = p.closed ? n : n - width + 1;
  for (int first = 0; first < positions; ++first) {
    if (const double rest = square - solve_normal(normal, right, solution); rest < least)
      least = rest, best_first = first;
    add(first, 1), add(first + width, -1);
  }
  std::vector<char> kept(static_cast<std::size_t>(n), 1);
  for (int k = best_first; k < best_first + width; ++k) kept[static_cast<std::size_t>(k % n)] = 0;
  return kept;
}

}  // namespace

Profile profile_about(std::span<const PartPoint> points, std::span<const double> sigma_mm,
                      const Circle& circle) {
  Profile p;
  const int n = static_cast<int>(points.size());
  std::vector<double> angle(points.size());
  for (std::size_t i = 0; i < points.size(); ++i)
    angle[i] = std::atan2(points[i].y_mm - circle.center.y_mm, points[i].x_mm - circle.center.x_mm);
  p.index.resize(points.size());
  std::iota(p.index.begin(), p.index.end(), 0);
  const auto key = [&](int i) { return angle[static_cast<std::size_t>(i)]; };
  const auto& at = points;
  std::sort(p.index.begin(), p.index.end(), [&](int i, int j) {
    if (key(i) != key(j)) return key(i) < key(j);
    const PartPoint &a = at[static_cast<std::size_t>(i)], &b = at[static_cast<std::size_t>(j)];
    return std::pair(a.x_mm, a.y_mm) < std::pair(b.x_mm, b.y_mm);
  });
  // Start behind the largest gap.
  int start = 0;
  double gap = 2 * kPi - (key(p.index.back()) - key(p.index.front()));
  for (int k = 1; k < n; ++k) {
    const double g =
        key(p.index[static_cast<std::size_t>(k)]) - key(p.index[static_cast<std::size_t>(k - 1)]);
    if (g > gap) gap = g, start = k;
  }
  std::rotate(p.index.begin(), p.index.begin() + start, p.index.end());
  p.angle_rad.resize(n), p.deviation_mm.resize(n), p.relative_sigma.resize(n);
  double smallest = std::numeric_limits<double>::infinity();
  for (const double s : sigma_mm) smallest = std::min(smallest, s);
  p.least_sigma_mm = sigma_mm.empty() ? 0 : smallest;
  p.told = !sigma_mm.empty() && n <= kFewPoints;
  for (int k = 0; k < n; ++k) {
    const auto i = static_cast<std::size_t>(p.index[static_cast<std::size_t>(k)]);
    p.angle_rad[k] = angle[i] + (k >= n - start ? 2 * kPi : 0);
    p.deviation_mm[k] = (points[i].vec() - circle.center.vec()).norm() - circle.radius_mm;
    p.relative_sigma[k] = sigma_mm.empty() ? 1 : sigma_mm[i] / smallest;
  }
  fill_basis(p, 2 * kPi - gap);
  // The model is linear in the form: what its squares leave is no defect.
  const double middle_mm = quantile_of_absolute(p, p.deviation_mm, kKeep);
  p.least_sigma_mm = std::max({p.least_sigma_mm, 0.3 * middle_mm * middle_mm / circle.radius_mm,
                               kLeastNoise_ratio * circle.radius_mm});
  return p;
}

Profile thinned(const Profile& full, int step) {
  Profile p;
  const int n = (full.size() + step - 1) / step;
  const auto rows = Eigen::seqN(0, n, step);
  for (int k = 0; k < n; ++k) p.index.push_back(full.index[static_cast<std::size_t>(k * step)]);
  p.angle_rad = full.angle_rad(rows);
  p.deviation_mm = full.deviation_mm(rows);
  p.relative_sigma = full.relative_sigma(rows);
  p.models = models_for(n, full.closed);
  p.basis = full.basis(rows, Eigen::seqN(0, std::min<Eigen::Index>(full.basis.cols(), p.models.back())));
  p.closed = full.closed;
  p.least_sigma_mm = full.least_sigma_mm;
  return p;
}

bool refit(const Profile& p, Description& d) {
  KeptEquations equations(p, d.columns);
  return refit(p, d, equations);
}

std::vector<Run> defect_runs(const Profile& p, const std::vector<char>& kept,
                             const Eigen::VectorXd& residual) {
  const int n = p.size();
  const auto out = [&](int i) { return !kept[static_cast<std::size_t>((i % n + n) % n)]; };
  const auto side = [&](int i) { return residual[(i % n + n) % n] > 0; };
  int begin = 0;  // closed outlines: begin where no run is cut in two
  if (p.closed)
    while (begin < n && (out(begin) || out(begin - 1))) ++begin;
  std::vector<Run> runs;
  for (int k = 0; k < n; ++k) {
    const int i = begin + k;
    if (!out(i)) continue;
    const bool joins = !runs.empty() && side(runs.back().first) == side(i) &&
                       i - (runs.back().first + runs.back().count) <= 1 && runs.back().count >= 1;
    if (joins)
      runs.back().count = i - runs.back().first + 1;
    else
      runs.push_back({i, 1});
  }
  for (Run& run : runs) run.first %= n;
  return runs;
}

bool is_sector(const Profile& p, const Run& run, const Eigen::VectorXd& residual) {
  if (run.count < 2) return false;
  double least = std::numeric_limits<double>::infinity(), most = 0;
  for (int k = 0; k < run.count; ++k) {
    const double size = std::abs(residual[(run.first + k) % p.size()]);
    least = std::min(least, size), most = std::max(most, size);
  }
  return run.count >= 3 || most <= 3 * least;
}

double description_length(const Profile& p, const Description& d) {
  const double range_mm = p.deviation_mm.maxCoeff() - p.deviation_mm.minCoeff();
  const int n = p.size();
  const double log_n = std::log(static_cast<double>(n));
  const double floor_mm = 1e-12 * range_mm + std::numeric_limits<double>::min();
  const double log_sigma = std::log(d.sigma_mm + floor_mm), log_range = std::log(range_mm + floor_mm);
  int defects = 0, slips = 0;
  double length = 0.5 * d.columns * log_n;
  for (const Run& run : defect_runs(p, d.kept, d.residual)) {
    defects += run.count;
    double sum = 0, square = 0;
    for (int k = 0; k < run.count; ++k) {
      const double r = d.residual[(run.first + k) % n];
      sum += r, square += r * r;
    }
    // Together: the two ends and a height, then the scatter about it. Singly: a height each (the places:
    // below).
    const double singly = run.count * (kPlace + log_range);
    double together = std::numeric_limits<double>::infinity();
    if (run.count > 1) {
      const double spread = std::sqrt(std::max(0.0, (square - sum * sum / run.count) / (run.count - 1)));
      together = 2 * log_n + log_range + run.count * std::log(std::max(spread, d.sigma_mm) + floor_mm);
    }
    if (together < singly)
      length += together;
    else
      slips += run.count, length += run.count * log_range;
  }
  // Which of the n points are slips: the logarithm of the number of ways.
  length += std::lgamma(n + 1.0) - std::lgamma(slips + 1.0) - std::lgamma(n - slips + 1.0);
  return length + (n - defects) * log_sigma;
}

Description describe(const Profile& p) {
  const int n = p.size();
  Description best;
  best.length = std::numeric_limits<double>::infinity();
  std::optional<KeptEquations> equations;
  Seen concentrated, settled;
  double length_here = 0;  // of the best by the model in hand
  const auto offer = [&](std::vector<char> kept, int columns, bool believed = false) {
    Description d;
    d.columns = columns;
    d.kept = std::move(kept);
    ++concentrated.path, ++settled.path;
    if ((!believed && !concentrate(p, d, *equations, concentrated)) || !settle(p, d, *equations, settled))
      return;
    d.length = description_length(p, d);
    length_here = std::min(length_here, d.length);
    if (d.length < best.length - 1e-9) best = std::move(d);
  };
  std::mt19937 random(20100);  // fixed: the same points give the same answer
  for (const int columns : p.models) {
    const double length_before = best.length;
    length_here = std::numeric_limits<double>::infinity();
    equations.emplace(p, columns);
    concentrated = {}, settled = {};
    const std::vector<char> all(static_cast<std::size_t>(n), 1);
    offer(all, columns);
    for (int k = 0; k < kCoarseSectors; ++k) {
      auto kept = all;
      const double from = p.angle_rad[0] + 2 * kPi * k / kCoarseSectors;
      for (int i = 0; i < n; ++i)
        if (wrap_direction_rad(p.angle_rad[i] - from) < kCoarseWidth_rad)
          kept[static_cast<std::size_t>(i)] = 0;
      offer(std::move(kept), columns);
    }
    // A larger model that the plain starts do not bring near the best so far is not worth the rest.
    if (length_here > length_before + kNearly) continue;
    int before = 0;
    for (const double share : kWindowShares)
      if (const int width = static_cast<int>(std::lround(share * n)); width > before)
        offer(without_best_window(p, columns, before = width), columns, true);
    if (n <= 40)
      for (int i = 0; i < n; ++i) {
        auto kept = all;
        kept[static_cast<std::size_t>(i)] = 0;
        offer(std::move(kept), columns);
      }
    for (int k = 0; k < 20; ++k) {
      std::vector<char> kept(static_cast<std::size_t>(n), 0);
      for (int chosen = 0; chosen < columns + 2;) {
        auto& c = kept[random() % static_cast<unsigned>(n)];
        chosen += !c, c = 1;
      }
      offer(std::move(kept), columns);
    }
  }
  best.believed_sigma_mm = best.sigma_mm;
  return best;
}

Description describe_without_defects(const Profile& p) {
  Description best;
  best.length = std::numeric_limits<double>::infinity();
  for (const int columns : p.models) {
    Description d;
    d.columns = columns;
    d.kept.assign(static_cast<std::size_t>(p.size()), 1);
    if (!refit(p, d)) continue;
    d.length = description_length(p, d);
    if (d.length < best.length - 1e-9) best = std::move(d);
  }
  return best;
}

double freedom_told(const Profile& p, double variance_mm2) {
  if (!p.told) return 0;
  return kToldFreedom * std::min(1.0, p.least_sigma_mm * p.least_sigma_mm / variance_mm2);
}

Eigen::VectorXd studentised(const Profile& p, const Description& d, double& dof) {
  const int n = p.size(), c = d.columns;
  Eigen::MatrixXd normal = Eigen::MatrixXd::Zero(c, c);
  double sum = 0;
  int kept = 0;
  for (int i = 0; i < n; ++i) {
    if (!d.kept[static_cast<std::size_t>(i)]) continue;
    const double w = 1 / (p.relative_sigma[i] * p.relative_sigma[i]);
    normal.selfadjointView<Eigen::Lower>().rankUpdate(p.basis.row(i).head(c).transpose(), w);
    sum += w * d.residual[i] * d.residual[i];
    ++kept;
  }
  normal.diagonal().array() += 1e-12 * normal.trace();
  const Eigen::MatrixXd inverse = inverse_positive(normal);
  dof = std::max(1, kept - c - 1);
  const double least = p.least_sigma_mm * p.least_sigma_mm;
  Eigen::VectorXd t(n);
  for (int i = 0; i < n; ++i) {
    const double s2 = p.relative_sigma[i] * p.relative_sigma[i];
    const double leverage =
        (p.basis.row(i).head(c) * inverse * p.basis.row(i).head(c).transpose()).value() / s2;
    const double r2 = d.residual[i] * d.residual[i] / s2;
    const bool in = d.kept[static_cast<std::size_t>(i)];
    // kept: as if it were left out (deletion formula); left out: prediction
    const double spread = in ? std::max(1e-9, 1 - leverage) : 1 + leverage;
    const double variance = in ? (sum - r2 / spread) / dof : sum / std::max(1, kept - c);
    t[i] = std::sqrt(r2 / spread / std::max({variance, least, 1e-300})) * (d.residual[i] < 0 ? -1 : 1);
  }
  dof += freedom_told(p, std::max(sum / std::max(1, kept - c), 1e-300));
  return t;
}

}  // namespace rondure
