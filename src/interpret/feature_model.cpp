#include "feature_model.hpp"

#include <limits>

namespace rondure {
namespace {

constexpr double kNone = -std::numeric_limits<double>::infinity();  // logarithm of no chance at all
constexpr double kReach_sd = 10;          // candidates are sought this far round the reading
constexpr double kReach_wear_means = 40;  // e^-40 of an exponential law

}  // namespace

double FeatureModel::largest_sd_mm() const { return *std::max_element(sd_mm.begin(), sd_mm.end()); }
double FeatureModel::smallest_sd_mm() const { return *std::min_element(sd_mm.begin(), sd_mm.end()); }

void FeatureModel::find_candidates(const SizeGrids& all_grids, const ShrinkageLaw& law) {
  const double reach = kReach_sd * largest_sd_mm();
  double lo = INFINITY, hi = -INFINITY;
  for (const ShapeReading& r : readings)
    for (const double s : {law.exact() ? law.mean() : law.floor, law.exact() ? law.mean() : law.ceiling}) {
      const double wear = kReach_wear_means * r.wear_mean_mm;
      lo = std::min(lo, (r.anchor_mm - reach - (r.wear_sign < 0 ? wear : 0)) / (1 - share * s));
      hi = std::max(hi, (r.anchor_mm + reach + (r.wear_sign > 0 ? wear : 0)) / (1 - share * s));
    }
  if (evidence_mm) {
    const double near = std::min(kReach_sd * evidence_mm->u, reach);
    lo = std::min(lo, evidence_mm->value - near);
    hi = std::max(hi, evidence_mm->value + near);
  }
  lo = std::max(lo, 0.0);
  for (std::size_t i = 0; i < kSystems.size(); ++i) {
    const auto& of = grids[i] = all_grids.of(kSystems[i]);
    double step = 0;
    for (const SizeGrid& g : of) step = std::max(step, g.step_mm);
    auto sizes = sizes_between(of, lo - step, hi + step);
    // One beyond each end is enough.
    const auto below = [](double v) { return [v](const GridSize& n) { return n.size_mm >= v; }; };
    auto first = std::find_if(sizes.begin(), sizes.end(), below(lo));
    if (first != sizes.begin()) --first;
    auto last = std::find_if(sizes.begin(), sizes.end(), below(hi));
    if (last != sizes.end()) ++last;
    candidates[i].assign(first, last);
  }
}

FeatureModel::NormalLaw FeatureModel::combined_law(double sd, double s, const ShapeReading& reading) const {
  const double kept = 1 - share * s;
  NormalLaw law{reading.chance > 0 ? std::log(reading.chance) : kNone, reading.anchor_mm / kept,
                kept * kept / (sd * sd)};
  if (oval) law.log_base += std::log(ovality_density(reading.shape, *oval, share * s));
  if (reading.wear_mean_mm > 0) return law;  // the scatter is part of another law
  law.log_base -= std::log(sd * std::sqrt(2 * kPi));
  if (!evidence_mm) return law;
  const double from_reading = law.precision, from_evidence = 1 / (evidence_mm->u * evidence_mm->u);
  const double off = law.centre_mm - evidence_mm->value;
  law.precision += from_evidence;
  law.log_base -= 0.5 * from_reading * from_evidence / law.precision * off * off;
  law.centre_mm = (from_reading * law.centre_mm + from_evidence * evidence_mm->value) / law.precision;
  return law;
}

double FeatureModel::log_reading(std::size_t system, double sd, double s, const ShapeReading& reading) const {
  if (!grids[system].empty() && reading.wear_mean_mm == 0) {
    const auto [base, centre, precision] = combined_law(sd, s, reading);
    if (base == kNone) return kNone;
    if (centre * std::sqrt(precision) > kReach_sd)
      return base + log_normal_over_grids(grids[system], centre, precision);
  }
  if (!grids[system].empty() && reading.wear_mean_mm > 0 && !evidence_mm) {
    const double kept = 1 - share * s, rate = 1 / reading.wear_mean_mm;
    const double log_base = combined_law(sd, s, reading).log_base;
    if (log_base == kNone) return kNone;
    double total = 0;
    if (std::min(reading.anchor_mm / sd, kReach_sd * reading.anchor_mm * rate / kReach_wear_means) >
        kReach_sd)
      for (const SizeGrid& g : grids[system])
        if (g.weight > 0)
          total += g.weight * g.step_mm *
                   wear_over_grid(-reading.wear_sign * reading.anchor_mm, g.step_mm * kept, rate, sd);
    if (total > 1e-25) return log_base + std::log(total);
  }
  double sum = 0;
  const double base =
      visit_terms(system, sd, s, reading, [&sum](std::size_t, double value) { sum += value; });
  return base == kNone || !(sum > 0) ? kNone : base + std::log(sum);
}

double FeatureModel::log_likelihood(std::size_t system, std::size_t level, double s) const {
  double total = kNone;
  for (const ShapeReading& r : readings) {
    const double term = log_reading(system, sd_mm[level], s, r);
    if (term == kNone) continue;
    const double high = std::max(total, term);
    total = total == kNone ? term : high + std::log1p(std::exp(std::min(total, term) - high));
  }
  return total;
}

namespace {

// Values of very different size, on one common scale.
class ScaledSums {
public:
  explicit ScaledSums(std::vector<double>& sums) : sums_(sums) { std::fill(sums_.begin(), sums_.end(), 0); }
  void add(std::size_t i, double log_scale, double value) {
    if (!(value > 0)) return;
    if (log_scale > shift_) {
      const double smaller = std::exp(shift_ - log_scale);
      for (double& s : sums_) s *= smaller;
      shift_ = log_scale;
    }
    sums_[i] += log_scale == shift_ ? value : value * std::exp(log_scale - shift_);
  }
  double shift() const { return shift_; }

private:
  std::vector<double>& sums_;
  double shift_ = kNone;
};

}  // namespace

double FeatureModel::grid_evidence(std::size_t system, std::size_t level, double s,
                                   const GridMembers& members, std::vector<double>& per_grid) const {
  const auto& of = grids[system];
  const double sd = sd_mm[level];
  per_grid.resize(of.size());
  std::vector<double> own(of.size());
  ScaledSums sums(per_grid);
  for (const ShapeReading& r : readings) {
    const auto [base, centre, precision] = combined_law(sd, s, r);
    if (base == kNone) continue;
    const bool worn = r.wear_mean_mm > 0;
    if (!worn && centre * std::sqrt(precision) > kReach_sd) {
      for (std::size_t g = 0; g < of.size(); ++g) {
        const auto [shift, sum] = normal_over_grid(of[g].step_mm, centre, precision);
        sums.add(g, base + shift, of[g].step_mm * sum);
      }
      continue;
    }
    if (worn && !evidence_mm &&
        std::min(r.anchor_mm / sd, kReach_sd * r.anchor_mm / r.wear_mean_mm / kReach_wear_means) >
            kReach_sd) {
      double total = 0;
      for (std::size_t g = 0; g < of.size(); ++g)
        total += own[g] =
            of[g].step_mm * wear_over_grid(-r.wear_sign * r.anchor_mm, of[g].step_mm * (1 - share * s),
                                           1 / r.wear_mean_mm, sd);
      if (total > 1e-25) {
        for (std::size_t g = 0; g < of.size(); ++g) sums.add(g, base, own[g]);
        continue;
      }
    }
    std::fill(own.begin(), own.end(), 0);
    const double scale = visit_terms(system, sd, s, r, [&](std::size_t i, double value) {
      const double prior = candidates[system][i].prior_weight;
      for (const std::size_t g : members.groups[members.group_of[i]])
        if (prior > 0) own[g] += of[g].step_mm * value / prior;
    });
    for (std::size_t g = 0; g < of.size() && scale != kNone; ++g) sums.add(g, scale, own[g]);
  }
  return sums.shift();
}

void FeatureModel::log_likelihoods_of(const std::vector<GridSize>& drawn, double sd, double s,
                                      std::vector<double>& logs) const {
  logs.assign(drawn.size(), kNone);
  for (const ShapeReading& r : readings) {
    const auto [base, centre, precision] = combined_law(sd, s, r);
    if (base == kNone) continue;
    for (std::size_t n = 0; n < drawn.size(); ++n) {
      const double size = drawn[n].size_mm, off = size - centre;
      double term = base - 0.5 * precision * off * off;
      if (r.wear_mean_mm > 0) {
        const double z = evidence_mm ? (size - evidence_mm->value) / evidence_mm->u : 0;
        term = base - 0.5 * z * z +
               log_exponential_plus_normal(r.wear_sign * (size * (1 - share * s) - r.anchor_mm),
                                           1 / r.wear_mean_mm, sd);
      }
      double& total = logs[n];
      const double high = std::max(total, term);
      total = total == kNone ? term : high + std::log1p(std::exp(std::min(total, term) - high));
    }
  }
}

}  // namespace rondure
