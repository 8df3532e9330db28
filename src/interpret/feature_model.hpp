// The likelihood of one feature's drawn sizes at a given shrinkage: see the model in rondure/interpret/original.hpp.
#pragma once
#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <vector>

#include "designer_habits.hpp"
#include "grid_sums.hpp"
#include "rondure/interpret/materials.hpp"
#include "rondure/interpret/shape_hypotheses.hpp"
#include "rondure/interpret/size_grids.hpp"

namespace rondure {

// One feature, ready for the integral.
struct FeatureModel {
  double share = 1;                    // g
  std::vector<double> sd_mm;           // making and measuring together, per level of care
  std::vector<ShapeReading> readings;  // at least one
  std::optional<OvalSize> oval;
  std::optional<Estimate> evidence_mm;              // of the original size; u > 0
  std::array<std::vector<GridSize>, 2> candidates;  // per system, ascending
  std::array<std::vector<SizeGrid>, 2>
      grids;  // that the candidates come from; empty: sum over the candidates

  // Fills the candidates: every grid size that any s of the law could lead to, and one more at each end.
  void find_candidates(const SizeGrids& all_grids, const ShrinkageLaw& law);
  double largest_sd_mm() const;
  double smallest_sd_mm() const;

  // Calls visit(index of the candidate, value) for the terms of one reading that matter; the likelihood term
  // is value * exp(returned). -infinity when there is none.
  template <class Visit>
  double visit_terms(std::size_t system, double sd_mm, double s_ratio, const ShapeReading& reading,
                     Visit visit) const;
  // ln sum of all terms of one reading, and of all readings.
  double log_reading(std::size_t system, double sd_mm, double s_ratio, const ShapeReading& reading) const;
  double log_likelihood(std::size_t system, std::size_t level, double s_ratio) const;
  // The likelihood summed grid by grid, before the weights of the grids: for each grid of the system the sum over its
  // sizes of step * likelihood, times exp(-returned). `members`: of the candidates. -infinity: ruled out.
  double grid_evidence(std::size_t system, std::size_t level, double s_ratio, const GridMembers& members,
                       std::vector<double>& per_grid) const;
  // ln of the likelihood of each drawn size, evidence included, without its prior.
  void log_likelihoods_of(const std::vector<GridSize>& drawn, double sd_mm, double s_ratio,
                          std::vector<double>& logs) const;

private:
  // A reading without wear and the evidence are together one normal law of the candidate's size.
  struct NormalLaw {
    double log_base, centre_mm, precision;
  };
  // log_base -infinity: the reading is ruled out.
  NormalLaw combined_law(double sd_mm, double s_ratio, const ShapeReading& reading) const;
};

// --- template bodies

template <class Visit>
double FeatureModel::visit_terms(std::size_t system, double sd, double s, const ShapeReading& reading,
                                 Visit visit) const {
  constexpr double kNone = -INFINITY;  // logarithm of no chance at all
  const std::vector<GridSize>& sizes = candidates[system];
  if (sizes.empty()) return kNone;
  const auto [base, centre, precision] = combined_law(sd, s, reading);
  if (base == kNone) return kNone;
  if (reading.wear_mean_mm > 0) {
    const auto log_term = [&](const GridSize& n) {
      const double off = evidence_mm ? (n.size_mm - evidence_mm->value) / evidence_mm->u : 0;
      return log_exponential_plus_normal(
                 reading.wear_sign * (n.size_mm * (1 - share * s) - reading.anchor_mm),
                 1 / reading.wear_mean_mm, sd) -
             0.5 * off * off;
    };
    // The term is log-concave in the size (an exponential smeared by a normal law, times a normal law): its
    // largest value by bisection, then outwards until nothing more counts.
    std::size_t lo = 0, hi = sizes.size() - 1;
    while (lo < hi) {
      const std::size_t middle = (lo + hi) / 2;
      if (log_term(sizes[middle]) < log_term(sizes[middle + 1]))
        lo = middle + 1;
      else
        hi = middle;
    }
    const double best = log_term(sizes[lo]);
    if (best == kNone) return kNone;
    const auto take = [&](std::size_t i) {
      const double x = log_term(sizes[i]) - best;
      if (!(x > -kNegligible_nats)) return false;
      visit(i, sizes[i].prior_weight * std::exp(x));
      return true;
    };
    for (std::size_t i = lo; i < sizes.size() && take(i); ++i) {
    }
    for (std::size_t i = lo; i > 0 && take(i - 1); --i) {
    }
    return base + best;
  }
  const auto after = std::lower_bound(sizes.begin(), sizes.end(), centre,
                                      [](const GridSize& n, double v) { return n.size_mm < v; });
  const std::size_t up = static_cast<std::size_t>(after - sizes.begin());
  const auto exponent = [&, middle = centre, sharpness = 0.5 * precision](std::size_t i) {
    const double d = sizes[i].size_mm - middle;
    return sharpness * d * d;
  };
  double least = INFINITY;
  if (up < sizes.size()) least = exponent(up);
  if (up > 0) least = std::min(least, exponent(up - 1));
  const auto take = [&](std::size_t i) {
    const double x = exponent(i) - least;
    if (x > kNegligible_nats) return false;
    visit(i, sizes[i].prior_weight * std::exp(-x));
    return true;
  };
  for (std::size_t i = up; i < sizes.size() && take(i); ++i) {
  }
  for (std::size_t i = up; i > 0 && take(i - 1); --i) {
  }
  return base - least;
}

}  // namespace rondure
