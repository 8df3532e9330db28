#include "original_posterior.hpp"

#include <algorithm>
#include <limits>
#include <numeric>

#include "gauss_legendre.hpp"

namespace rondure {
namespace {

constexpr double kNone = -std::numeric_limits<double>::infinity();
constexpr double kReach_sd = 10;          // candidates are sought this far round the reading
constexpr double kReach_wear_means = 40;  // e^-40 of an exponential law
constexpr double kPanelWidth_sd = 2.5;
constexpr double kMaxPanels = 200000;
constexpr double kDropped_nats = 40;  // panels this far below the best are left out

double log_sum(const std::vector<double>& logs) {
  const double best = *std::max_element(logs.begin(), logs.end());
  if (best == kNone) return kNone;
  double sum = 0;
  for (const double l : logs) sum += std::exp(l - best);
  return best + std::log(sum);
}

// ln p(s, everything measured) for every block; the features' own terms go into `per_feature` when asked.
class Integrand {
public:
  explicit Integrand(const PartModel& model) : model_(model) {
    for (std::size_t system = 0; system < 2; ++system)
      for (std::size_t level = 0; level < model.level_chance.size(); ++level)
        if (model.system_chance[system] * model.level_chance[level] > 0)
          blocks_.push_back(
              {system, level, std::log(model.system_chance[system] * model.level_chance[level])});
  }

  struct Block {
    std::size_t system, level;
    double log_chance;
  };
  const std::vector<Block>& blocks() const { return blocks_; }

  double log_prior(double s) const {
    double log_p = model_.law.exact() ? 0 : std::log(model_.law.density(s));
    if (model_.shrinkage_reading) {
      const double z = (s - model_.shrinkage_reading->value) / model_.shrinkage_reading->u;
      log_p += -0.5 * z * z - std::log(model_.shrinkage_reading->u * std::sqrt(2 * kPi));
    }
    return log_p;
  }

  // ln p(s, sizes) of all features and, when there are several, of all but each one.
  std::vector<double> log_totals(double s) const {
    const std::size_t features = model_.features.size(), variants = features > 1 ? features + 1 : 1;
    std::vector<std::vector<double>> logs(variants);
    std::vector<double> own(features);
    for (const Block& b : blocks_) {
      double sum = b.log_chance;
      for (std::size_t i = 0; i < features; ++i)
        sum += own[i] = model_.features[i].log_likelihood(b.system, b.level, s);
      logs[0].push_back(sum);
      for (std::size_t v = 1; v < variants; ++v) logs[v].push_back(without(sum, own, b.log_chance, v - 1));
    }
    std::vector<double> totals;
    for (const auto& l : logs) totals.push_back(l.empty() ? kNone : log_prior(s) + log_sum(l));
    return totals;
  }

private:
  static double without(double sum, const std::vector<double>& own, double log_chance, std::size_t left_out) {
    if (own[left_out] > kNone) return sum - own[left_out];
    for (std::size_t i = 0; i < own.size(); ++i)
      if (i != left_out) log_chance += own[i];
    return log_chance;
  }

  const PartModel& model_;
  std::vector<Block> blocks_;
};

// The narrowest width in s that the product of all terms can have.
double narrowest_width(const PartModel& model) {
  double precision = 0, law_sd = INFINITY;
  const auto add = [&](double width) { precision += 1 / (width * width); };
  for (const auto& part : model.law.parts) law_sd = std::min(law_sd, part.sd);
  add(law_sd);
  if (model.shrinkage_reading) add(model.shrinkage_reading->u);
  return 1 / std::sqrt(with_precision_of_features(precision, model));
}

struct Panel {
  double lo, hi;
};

Result<std::vector<Panel>> panels_that_matter(const PartModel& model, const Integrand& integrand) {
  std::vector<double> breaks = {model.law.floor};
  if (model.law.floor < 0 && model.law.ceiling > 0) breaks.push_back(0);
  breaks.push_back(model.law.ceiling);
  const double width = kPanelWidth_sd * narrowest_width(model) * model.panel_scale;
  if ((model.law.ceiling - model.law.floor) / width > kMaxPanels)
    return Error{ErrorCode::kBadArgument,
                 "found uncertainties so small that no size could be told from another, needed honest ones "
                 "(a calliper reads to 0.01 mm, a comparator to 0.002 mm)"};
  std::vector<Panel> panels;
  std::vector<std::vector<double>> best;  // per panel and variant
  for (std::size_t b = 0; b + 1 < breaks.size(); ++b) {
    const double length = breaks[b + 1] - breaks[b];
    const int count = std::max(1, static_cast<int>(std::ceil(length / width)));
    auto left = integrand.log_totals(breaks[b]);
    for (int i = 0; i < count; ++i) {
      const Panel p{breaks[b] + length * i / count, breaks[b] + length * (i + 1) / count};
      const auto middle = integrand.log_totals((p.lo + p.hi) / 2);
      auto right = integrand.log_totals(p.hi);
      panels.push_back(p);
      for (std::size_t v = 0; v < left.size(); ++v) left[v] = std::max({left[v], middle[v], right[v]});
      best.push_back(std::move(left));
      left = std::move(right);
    }
  }
  std::vector<double> top = best.front();
  for (const auto& b : best)
    for (std::size_t v = 0; v < top.size(); ++v) top[v] = std::max(top[v], b[v]);
  std::vector<Panel> kept;
  for (std::size_t i = 0; i < panels.size(); ++i)
    for (std::size_t v = 0; v < top.size(); ++v)
      if (best[i][v] > top[v] - kDropped_nats) {
        kept.push_back(panels[i]);
        break;
      }
  return kept;
}

// ln of sum over n of exp(-precision (n step - centre)^2 / 2), as a pair (shift, sum): ln = shift + ln sum.
// Either the sum itself, or where the normal law is wide against the step its Poisson dual (both to better
// than 1e-16):
//   sum = sqrt(2 pi) w (1 + 2 sum over k of exp(-2 pi^2 k^2 w^2) cos(2 pi k centre/step)),  w = 1/(step
//   sqrt(precision))
std::pair<double, double> normal_over_grid(double step, double centre, double precision) {
  const double w = 1 / (step * std::sqrt(precision));
  if (w > 0.6) {
    double sum = 1;
    for (int k = 1; k <= 2; ++k) {
      const double damping = 2 * kPi * kPi * k * k * w * w;
      if (damping > 45) break;
      sum += 2 * std::exp(-damping) * std::cos(2 * kPi * k * centre / step);
    }
    return {0, std::sqrt(2 * kPi) * w * sum};
  }
  const double nearest = std::round(centre / step) * step - centre,
               least = 0.5 * precision * nearest * nearest;
  double sum = 1;
  for (int n = 1; n <= 6; ++n) {
    // Both neighbours n steps away; the nearer one decides whether they still matter.
    const double below = nearest - n * step, above = nearest + n * step;
    const double x_below = least - 0.5 * precision * below * below,
                 x_above = least - 0.5 * precision * above * above;
    if (std::max(x_below, x_above) < -kNegligible_nats) break;
    sum += std::exp(x_below) + std::exp(x_above);
  }
  return {-least, sum};
}

double log_normal_over_grids(const std::vector<SizeGrid>& grids, double centre, double precision) {
  double shift = kNone, sum = 0;
  for (const SizeGrid& g : grids) {
    if (g.weight <= 0) continue;
    const auto [own_shift, own_sum] = normal_over_grid(g.step_mm, centre, precision);
    const double term = g.weight * g.step_mm * own_sum;
    if (own_shift > shift) {
      sum = sum * std::exp(shift - own_shift) + term;
      shift = own_shift;
    } else {
      sum += term * std::exp(own_shift - shift);
    }
  }
  return shift + std::log(sum);
}

// Sum over n of the density at t0 + n step of an exponential amount (mean 1/rate) plus normal(0, sd). Where
// the normal part is wide against the step, its Poisson dual with the transform
// exp(-w^2 sd^2 / 2) rate/(rate + i w); else the terms up to where only the exponential is left, and the rest
// as a geometric series.
double wear_over_grid(double t0, double step, double rate, double sd) {
  if (sd > 0.6 * step) {
    double sum = 1;
    for (int k = 1; k <= 2; ++k) {
      const double omega = 2 * kPi * k / step, damping = 0.5 * omega * omega * sd * sd;
      if (damping > 45) break;
      const double angle = omega * t0;
      sum += 2 * std::exp(-damping) * rate * (rate * std::cos(angle) + omega * std::sin(angle)) /
             (rate * rate + omega * omega);
    }
    return sum / step;
  }
  constexpr double kBelow_sd = 12;
  double t = t0 + step * std::ceil((-kBelow_sd * sd - t0) / step), sum = 0;
  const double only_exponential = (6 * std::sqrt(2.0) + rate * sd) * sd;
  for (; t < only_exponential; t += step) {
    const double term = std::exp(log_exponential_plus_normal(t, rate, sd));
    sum += term;
    if (t > 0 && term < 1e-14 * sum) return sum;
  }
  return sum + std::exp(log_exponential_plus_normal(t, rate, sd)) / -std::expm1(-rate * step);
}

struct Node {
  double s, log_weight;
};

std::vector<Node> nodes_of(const std::vector<Panel>& panels, const Integrand& integrand) {
  static const GaussLegendre<8> rule;
  std::vector<Node> nodes;
  for (const Panel& p : panels)
    for (std::size_t k = rule.node.size(); k-- > 0;) {
      const double s = (p.lo + p.hi) / 2 + (p.hi - p.lo) / 2 * rule.node[k];
      nodes.push_back({s, std::log(rule.weight[k] * (p.hi - p.lo) / 2) + integrand.log_prior(s)});
    }
  return nodes;
}

}  // namespace

double log_exponential_plus_normal(double t, double rate, double sd) {
  const double z = t / sd, y = (rate * sd - z) / std::sqrt(2.0);
  if (y < -6) return std::log(rate) + rate * (0.5 * rate * sd * sd - t);  // erfc is 2 to 2e-17
  const double log_erfc = y < 25 ? y * y + std::log(std::erfc(y)) : -std::log(y * std::sqrt(kPi));
  return std::log(rate / 2) - 0.5 * z * z + log_erfc;
}

double with_precision_of_features(double precision, const PartModel& model) {
  const auto add = [&](double width) { precision += 1 / (width * width); };
  for (const FeatureModel& f : model.features) {
    if (f.share == 0) continue;
    for (const ShapeReading& r : f.readings)
      add(f.smallest_sd_mm() / (std::abs(f.share) * r.anchor_mm) * (1 - model.law.ceiling * f.share));
    if (f.oval) {
      const double ovality = std::max(f.oval->largest_mm - f.oval->smallest_mm, f.oval->u_ovality_mm);
      add(std::max(ovality, 1e-4) / (4 * kUnevenSpread * f.oval->largest_mm * std::abs(f.share)));
    }
  }
  return precision;
}

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

double FeatureModel::log_likelihood_of(double drawn_mm, double sd, double s) const {
  double total = kNone;
  for (const ShapeReading& r : readings) {
    const auto [base, centre, precision] = combined_law(sd, s, r);
    if (base == kNone) continue;
    double term = base - 0.5 * precision * (drawn_mm - centre) * (drawn_mm - centre);
    if (r.wear_mean_mm > 0) {
      const double off = evidence_mm ? (drawn_mm - evidence_mm->value) / evidence_mm->u : 0;
      term = base - 0.5 * off * off +
             log_exponential_plus_normal(r.wear_sign * (drawn_mm * (1 - share * s) - r.anchor_mm),
                                         1 / r.wear_mean_mm, sd);
    }
    const double high = std::max(total, term);
    total = total == kNone ? term : high + std::log1p(std::exp(std::min(total, term) - high));
  }
  return total;
}

namespace {

// Masses from the logarithms that lie in them; false when nothing is left.
bool normalise(Posterior& posterior) {
  double top = kNone, sum = 0;
  for (const auto& block : posterior.blocks)
    top = std::max(top, *std::max_element(block.mass.begin(), block.mass.end()));
  if (!std::isfinite(top)) return false;
  for (auto& block : posterior.blocks)
    for (double& m : block.mass) sum += m = std::exp(m - top);
  for (auto& block : posterior.blocks)
    for (double& m : block.mass) m /= sum;
  posterior.log_evidence = top + std::log(sum);
  return true;
}

}  // namespace

Result<Posterior> integrate(const PartModel& model) {
  const Integrand integrand(model);
  std::vector<Node> nodes;
  if (model.law.exact()) {
    nodes = {{model.law.mean(), 0.0}};
  } else {
    const auto panels = panels_that_matter(model, integrand);
    if (!panels) return panels.error();
    nodes = nodes_of(*panels, integrand);
  }
  Posterior posterior;
  for (const Node& n : nodes) {
    posterior.s_ratio.push_back(n.s);
    posterior.log_weight.push_back(n.log_weight);
  }
  for (const Integrand::Block& b : integrand.blocks()) {
    Posterior::Block block{b.system, b.level, b.log_chance, std::vector<double>(nodes.size()), {}};
    for (std::size_t k = 0; k < nodes.size(); ++k) block.mass[k] = b.log_chance + nodes[k].log_weight;
    for (const FeatureModel& f : model.features) {
      auto& logs = block.log_likelihood.emplace_back(nodes.size());
      for (std::size_t k = 0; k < nodes.size(); ++k) {
        // What has not shrunk says the same at every s.
        logs[k] = k > 0 && f.share == 0 ? logs[0] : f.log_likelihood(b.system, b.level, nodes[k].s);
        block.mass[k] += logs[k];
      }
    }
    posterior.blocks.push_back(std::move(block));
  }
  if (posterior.blocks.empty() || !normalise(posterior))
    return Error{ErrorCode::kNoAnswer, "no size of the grids comes near what was measured"};
  return posterior;
}

std::optional<Posterior> Posterior::without(std::size_t feature_index) const {
  Posterior rest = *this;
  for (auto& block : rest.blocks) {
    if (block.log_likelihood.size() < 2) return std::nullopt;
    for (std::size_t k = 0; k < s_ratio.size(); ++k) {
      block.mass[k] = block.log_chance + log_weight[k];
      for (std::size_t i = 0; i < block.log_likelihood.size(); ++i)
        if (i != feature_index) block.mass[k] += block.log_likelihood[i][k];
    }
  }
  if (!normalise(rest)) return std::nullopt;
  return rest;
}

double Posterior::system_probability(std::size_t system) const {
  double p = 0;
  for (const Block& b : blocks)
    if (b.system == system) p += std::accumulate(b.mass.begin(), b.mass.end(), 0.0);
  return p;
}

double Posterior::level_probability(std::size_t level) const {
  double p = 0;
  for (const Block& b : blocks)
    if (b.level == level) p += std::accumulate(b.mass.begin(), b.mass.end(), 0.0);
  return p;
}

double Posterior::mean_shrinkage() const {
  double mean = 0;
  for (const Block& b : blocks)
    for (std::size_t k = 0; k < s_ratio.size(); ++k) mean += b.mass[k] * s_ratio[k];
  return mean;
}

double Posterior::sd_shrinkage() const {
  const double mean = mean_shrinkage();
  double variance = 0;
  for (const Block& b : blocks)
    for (std::size_t k = 0; k < s_ratio.size(); ++k)
      variance += b.mass[k] * (s_ratio[k] - mean) * (s_ratio[k] - mean);
  return std::sqrt(variance);
}

Interval Posterior::shrinkage95() const {
  if (s_ratio.size() == 1) return {s_ratio[0], s_ratio[0]};
  // Mass up to the middle between neighbouring nodes; nodes are far closer together than the interval is
  // wide.
  std::vector<double> edge = {s_ratio.front()}, below = {0};
  for (std::size_t k = 0; k < s_ratio.size(); ++k) {
    double mass = 0;
    for (const Block& b : blocks) mass += b.mass[k];
    edge.push_back(k + 1 < s_ratio.size() ? (s_ratio[k] + s_ratio[k + 1]) / 2 : s_ratio[k]);
    below.push_back(below.back() + mass);
  }
  const auto quantile = [&](double p) {
    const auto at = std::lower_bound(below.begin(), below.end(), p);
    if (at == below.begin()) return edge.front();
    if (at == below.end()) return edge.back();
    const std::size_t i = static_cast<std::size_t>(at - below.begin());
    const double step = below[i] - below[i - 1];
    return edge[i - 1] + (step > 0 ? (p - below[i - 1]) / step : 0) * (edge[i] - edge[i - 1]);
  };
  return {quantile(0.025), quantile(0.975)};
}

FeatureTerms::FeatureTerms(const FeatureModel& feature, std::size_t feature_index,
                           const std::vector<const Posterior*>& posteriors)
    : candidates_{feature.candidates[0].size(), feature.candidates[1].size()} {
  constexpr double kLeastShare = 1e-11;
  const Posterior& nodes = *posteriors.front();
  std::vector<Term> here;
  first_.push_back(0);
  for (std::size_t b = 0; b < nodes.blocks.size(); ++b) {
    const Posterior::Block& block = nodes.blocks[b];
    for (std::size_t k = 0; k < nodes.s_ratio.size(); ++k) {
      const bool matters = std::any_of(posteriors.begin(), posteriors.end(), [&](const Posterior* p) {
        return p->blocks[b].mass[k] >= kLeastNodeMass;
      });
      for (std::size_t r = 0; matters && r < feature.readings.size(); ++r) {
        here.clear();
        const double base = feature.visit_terms(
            block.system, feature.sd_mm[block.level], nodes.s_ratio[k], feature.readings[r],
            [&](std::size_t i, double v) {
              here.push_back({static_cast<std::uint32_t>(i), static_cast<std::uint32_t>(r), v});
            });
        const double scale = std::exp(base - block.log_likelihood[feature_index][k]);
        for (Term& t : here)
          if ((t.share *= scale) > kLeastShare) terms_.push_back(t);
      }
      first_.push_back(terms_.size());
    }
  }
}

std::array<std::vector<double>, 2> FeatureTerms::candidate_probabilities(const Posterior& posterior) const {
  std::array<std::vector<double>, 2> p;
  for (std::size_t i = 0; i < 2; ++i) p[i].assign(candidates_[i], 0);
  spread(posterior, [&](std::size_t b, std::size_t, std::size_t i, std::size_t, double mass) {
    p[posterior.blocks[b].system][i] += mass;
  });
  return p;
}

}  // namespace rondure
