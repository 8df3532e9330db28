#include "rondure/interpret/compare.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "compare_shape.hpp"
#include "rondure/core/dense_solve.hpp"
#include "rondure/fit/distributions.hpp"

namespace rondure {
namespace {

// Whether an error of this source is one and the same in both sizes.
bool is_shared(UncertaintySource source, const Feature& a, const Feature& b) {
  const auto same = [](const std::string& x, const std::string& y) { return !x.empty() && x == y; };
  switch (shared_by(source)) {
    case SharedBy::kNothing:
      return false;
    case SharedBy::kCalibration:
      return same(a.source.calibration_sha256, b.source.calibration_sha256);
    case SharedBy::kPicture:
      return same(a.source.sha256, b.source.sha256);
  }
  return false;
}

// Covariance of two measured diameters, mm^2, and what they share.
double covariance(const Feature& a, const Feature& b, std::vector<UncertaintySource>* shared = nullptr) {
  double sum = 0;
  for (const BudgetLine& line : a.budget)
    for (const BudgetLine& other : b.budget)
      if (line.source == other.source && line.u_mm > 0 && other.u_mm > 0 && is_shared(line.source, a, b)) {
        sum += line.u_mm * other.u_mm;
        if (shared) shared->push_back(line.source);
      }
  return sum;
}

std::optional<double> u_of(const Feature& f) { return f.circle ? f.circle->u_diameter_mm : std::nullopt; }

// 95 % interval of B - A: each side from the sides of the two intervals that make it.
std::optional<Interval> difference_interval(const Feature& a, const Feature& b, double difference, double u,
                                            double shared) {
  const double least = kNormal95 * u;
  if (!a.circle->diameter95_mm || !b.circle->diameter95_mm)
    return Interval{difference - least, difference + least};
  const auto side = [&](double from_a, double from_b) {
    const double squared = from_a * from_a + from_b * from_b - 2 * kNormal95 * kNormal95 * shared;
    return std::max(least, std::sqrt(std::max(0.0, squared)));
  };
  const Interval &ia = *a.circle->diameter95_mm, &ib = *b.circle->diameter95_mm;
  return Interval{difference - side(ia.hi - a.circle->diameter_mm, b.circle->diameter_mm - ib.lo),
                  difference + side(a.circle->diameter_mm - ia.lo, ib.hi - b.circle->diameter_mm)};
}

void compare_sizes(const Feature& a, const Feature& b, bool another_piece, FeatureComparison& out) {
  out.a_mm = a.circle->diameter_mm;
  out.u_a_mm = u_of(a);
  out.difference_mm = out.b_mm - *out.a_mm;
  if (!out.u_a_mm || !out.u_b_mm) return;
  const double shared = covariance(a, b, &out.shared);
  const double ua = *out.u_a_mm, ub = *out.u_b_mm;
  // shared parts larger than the whole would be a contradiction in the budgets: then nothing cancels
  const double variance = shared <= ua * ub ? ua * ua + ub * ub - 2 * shared : ua * ua + ub * ub;
  out.u_difference_mm = std::sqrt(std::max(0.0, variance));
  out.difference95_mm = difference_interval(a, b, out.difference_mm, *out.u_difference_mm, shared);
  out.change = out.difference95_mm->lo > 0   ? SizeChange::kLarger
               : out.difference95_mm->hi < 0 ? SizeChange::kSmaller
                                             : SizeChange::kNotShown;
  if (!another_piece && b.kind.shrinks_with_the_plastic() && *out.a_mm > 0)
    out.shrinkage_ratio = Estimate{-out.difference_mm / *out.a_mm, *out.u_difference_mm / *out.a_mm};
}

void compare_with_target(FeatureComparison& out, const Feature& b) {
  out.difference_mm = out.b_mm - out.planned->target_mm;
  out.u_difference_mm = out.u_b_mm;
  if (b.circle->diameter95_mm)
    out.difference95_mm = Interval{b.circle->diameter95_mm->lo - out.planned->target_mm,
                                   b.circle->diameter95_mm->hi - out.planned->target_mm};
}

FeatureComparison compare_pair(const Feature* a, const Feature& b, const CompareOptions& options,
                               double turn_rad) {
  FeatureComparison out;
  out.name = b.name;
  out.kind = !b.kind.is_stated() && a ? a->kind : b.kind;
  out.b_mm = b.circle->diameter_mm;
  out.u_b_mm = u_of(b);
  if (const auto planned = options.planned.find(b.name); planned != options.planned.end())
    out.planned = planned->second;
  if (a) {
    compare_sizes(*a, b, options.another_piece || out.planned, out);
    out.harmonics = compare_harmonics(a->harmonics, b.harmonics, turn_rad);
    if (a->ellipse) out.ovality_a_mm = a->ellipse->ovality_mm;
    if (a->roundness && a->roundness->lsci) out.ront_a_mm = a->roundness->lsci->ront_mm;
  } else if (out.planned) {
    compare_with_target(out, b);
  }
  if (b.ellipse) out.ovality_b_mm = b.ellipse->ovality_mm;
  if (b.roundness && b.roundness->lsci) out.ront_b_mm = b.roundness->lsci->ront_mm;
  if (out.planned && (out.planned->limits.lower_mm || out.planned->limits.upper_mm))
    out.decision = decide(out.b_mm, out.u_b_mm, b.circle->diameter95_mm, out.planned->limits);
  else if (options.tolerance_mm)
    out.decision = decide(out.difference_mm, out.u_difference_mm, out.difference95_mm,
                          {-*options.tolerance_mm, *options.tolerance_mm});
  return out;
}

struct Pair {
  const Feature *a, *b;
};

// One shrinkage for the part. Covariances of all sizes with all others, since one calibration serves many
// features.
std::optional<CommonShrinkage> common_shrinkage(std::span<const Pair> pairs) {
  const auto n = static_cast<Eigen::Index>(pairs.size());
  if (n == 0) return std::nullopt;
  Eigen::VectorXd s(n);
  Eigen::MatrixXd c(n, n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const auto& [ai, bi] = pairs[static_cast<std::size_t>(i)];
    const double di = ai->circle->diameter_mm;
    s[i] = (di - bi->circle->diameter_mm) / di;
    for (Eigen::Index j = 0; j < n; ++j) {
      const auto& [aj, bj] = pairs[static_cast<std::size_t>(j)];
      const double between =
          i == j ? std::pow(*u_of(*ai), 2) + std::pow(*u_of(*bi), 2) - 2 * covariance(*ai, *bi)
                 : covariance(*ai, *aj) + covariance(*bi, *bj) - covariance(*ai, *bj) - covariance(*bi, *aj);
      c(i, j) = between / (di * aj->circle->diameter_mm);
    }
  }
  const SymmetricSolver solver(c);
  if (!solver.ok() || !(solver.pivots().array() > 0).all()) return std::nullopt;
  const Eigen::VectorXd weights = solver.solve(Eigen::VectorXd(Eigen::VectorXd::Ones(n)));
  const double total = weights.sum();
  if (!(total > 0)) return std::nullopt;
  CommonShrinkage out;
  out.features = static_cast<int>(n);
  out.ratio = {weights.dot(s) / total, 1 / std::sqrt(total)};
  out.ratio95 = {out.ratio.value - kNormal95 * out.ratio.u, out.ratio.value + kNormal95 * out.ratio.u};
  const Eigen::VectorXd left = s.array() - out.ratio.value;
  if (n > 1) out.p_alike = chi2_upper_p(left.dot(solver.solve(left)), static_cast<double>(n - 1));
  return out;
}

std::vector<OutlinePair> outlines_of(std::span<const Pair> pairs) {
  std::vector<OutlinePair> outlines;
  for (const Pair& pair : pairs) outlines.push_back({pair.a->harmonics, pair.b->harmonics});
  return outlines;
}

void add_warnings(Comparison& out, std::span<const Pair> pairs, const CompareOptions& options) {
  for (const Pair& pair : pairs)
    if (pair.a->kind.is_stated() && pair.b->kind.is_stated() && pair.a->kind != pair.b->kind)
      out.warnings.push_back(
          {"kinds-differ", "'" + pair.b->name + "' is " + std::string(pair.a->kind.word()) + " in A and " +
                               std::string(pair.b->kind.word()) + " in B: are these the same surface?"});
  for (const FeatureComparison& f : out.features)
    if (!options.another_piece && !f.planned && !f.kind.shrinks_with_the_plastic() && f.change &&
        *f.change != SizeChange::kNotShown)
      out.warnings.push_back(
          {"metal-changed", "'" + f.name +
                                "' sits on metal and is not expected to change, yet it does: "
                                "compare the scales of the two measurements first"});
  for (const FeatureComparison& f : out.features)
    if (f.a_mm && !f.u_difference_mm)
      out.warnings.push_back(
          {"no-uncertainty", "'" + f.name +
                                 "' has no uncertainty in one of the records: its difference "
                                 "proves nothing"});
  if (!options.turn_rad && !options.find_turn && looks_turned(outlines_of(pairs)))
    out.warnings.push_back(
        {"turned",
         "the shapes agree better when B is turned: if the part did not lie the same way round, "
         "compare with --turn auto"});
}

// By name; two records of one feature each are meant for each other.
std::vector<Pair> match(std::span<const Feature> a, std::span<const Feature> b, Comparison& out) {
  std::vector<Pair> pairs;
  const auto sized = [](const Feature& f) { return f.circle.has_value(); };
  for (const Feature& fb : b) {
    if (!sized(fb)) continue;
    const auto at =
        std::ranges::find_if(a, [&](const Feature& fa) { return sized(fa) && fa.name == fb.name; });
    if (at != a.end()) pairs.push_back({&*at, &fb});
  }
  if (pairs.empty() && a.size() == 1 && b.size() == 1 && sized(a[0]) && sized(b[0])) {
    pairs.push_back({&a[0], &b[0]});
    if (a[0].name != b[0].name)
      out.warnings.push_back(
          {"names-differ", "'" + a[0].name + "' in A is compared with '" + b[0].name + "' in B"});
  }
  const auto used = [&](const Feature& f) {
    return std::ranges::any_of(pairs, [&](const Pair& p) { return p.a == &f || p.b == &f; });
  };
  for (const Feature& f : a)
    if (!used(f)) out.only_in_a.push_back(f.name);
  for (const Feature& f : b)
    if (!used(f)) out.only_in_b.push_back(f.name);
  return pairs;
}

}  // namespace

std::string_view name(SizeChange change) {
  return change == SizeChange::kLarger ? "larger" : change == SizeChange::kSmaller ? "smaller" : "not shown";
}

Result<Comparison> compare_features(std::span<const Feature> a, std::span<const Feature> b,
                                    const CompareOptions& options) {
  Comparison out;
  const std::vector<Pair> pairs = match(a, b, out);
  double turn_rad = options.turn_rad.value_or(0);
  if (options.find_turn) turn_rad = find_turn(outlines_of(pairs));
  if (options.turn_rad || options.find_turn) out.turn_rad = turn_rad;

  std::vector<Pair> shrinking;
  for (const Feature& fb : b) {
    const auto pair = std::ranges::find_if(pairs, [&](const Pair& p) { return p.b == &fb; });
    const bool planned = fb.circle && options.planned.contains(fb.name);
    if (pair == pairs.end() && !planned) continue;
    out.features.push_back(compare_pair(pair == pairs.end() ? nullptr : pair->a, fb, options, turn_rad));
    if (out.features.back().shrinkage_ratio && *out.features.back().u_difference_mm > 0)
      shrinking.push_back(*pair);
  }
  if (out.features.empty())
    return Error{ErrorCode::kNoAnswer,
                 "found no feature with a size in both records, needed the same name in both"};
  out.shrinkage = common_shrinkage(shrinking);
  if (!pairs.empty()) add_warnings(out, pairs, options);
  return out;
}

}  // namespace rondure
