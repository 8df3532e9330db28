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

  double log_block(const Block& block, double s) const {
    double sum = block.log_chance;
    for (const FeatureModel& f : model_.features) sum += f.log_likelihood(block.system, block.level, s);
    return sum;
  }

  double log_total(double s) const {
    std::vector<double> logs;
    for (const Block& b : blocks_) logs.push_back(log_block(b, s));
    return logs.empty() ? kNone : log_prior(s) + log_sum(logs);
  }

private:
  const PartModel& model_;
  std::vector<Block> blocks_;
};

// The narrowest width in s that the product of all terms can have.
double narrowest_width(const PartModel& model) {
  double precision = 0;
  const auto add = [&](double width) { precision += 1 / (width * width); };
  double law_sd = INFINITY;
  for (const auto& part : model.law.parts) law_sd = std::min(law_sd, part.sd);
  add(law_sd);
  if (model.shrinkage_reading) add(model.shrinkage_reading->u);
  for (const FeatureModel& f : model.features) {
    if (f.share == 0) continue;
    for (const ShapeReading& r : f.readings)
      add(f.smallest_sd_mm() / (std::abs(f.share) * r.anchor_mm) * (1 - model.law.ceiling * f.share));
    if (f.oval) {
      const double ovality = std::max(f.oval->largest_mm - f.oval->smallest_mm, f.oval->u_ovality_mm);
      add(std::max(ovality, 1e-4) / (4 * kUnevenSpread * f.oval->largest_mm * std::abs(f.share)));
    }
  }
  return 1 / std::sqrt(precision);
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
  std::vector<double> best;
  for (std::size_t b = 0; b + 1 < breaks.size(); ++b) {
    const double length = breaks[b + 1] - breaks[b];
    const int count = std::max(1, static_cast<int>(std::ceil(length / width)));
    double left = integrand.log_total(breaks[b]);
    for (int i = 0; i < count; ++i) {
      const Panel p{breaks[b] + length * i / count, breaks[b] + length * (i + 1) / count};
      const double middle = integrand.log_total((p.lo + p.hi) / 2), right = integrand.log_total(p.hi);
      panels.push_back(p);
      best.push_back(std::max({left, middle, right}));
      left = right;
    }
  }
  const double top = *std::max_element(best.begin(), best.end());
  std::vector<Panel> kept;
  for (std::size_t i = 0; i < panels.size(); ++i)
    if (best[i] > top - kDropped_nats) kept.push_back(panels[i]);
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

struct Node {
  double s, log_weight;
};

std::vector<Node> nodes_of(const std::vector<Panel>& panels, const Integrand& integrand) {
  static const GaussLegendre<12> rule;
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
  const double log_erfc = y < 25 ? y * y + std::log(std::erfc(y)) : -std::log(y * std::sqrt(kPi));
  return std::log(rate / 2) - 0.5 * z * z + log_erfc;
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
  double top = kNone;
  for (const Node& n : nodes) posterior.s_ratio.push_back(n.s);
  for (const Integrand::Block& b : integrand.blocks()) {
    Posterior::Block block{b.system, b.level, std::vector<double>(nodes.size()), {}};
    for (std::size_t k = 0; k < nodes.size(); ++k) block.mass[k] = b.log_chance + nodes[k].log_weight;
    for (const FeatureModel& f : model.features) {
      auto& logs = block.log_likelihood.emplace_back(nodes.size());
      for (std::size_t k = 0; k < nodes.size(); ++k) {
        logs[k] = f.log_likelihood(b.system, b.level, nodes[k].s);
        block.mass[k] += logs[k];
      }
    }
    top = std::max(top, *std::max_element(block.mass.begin(), block.mass.end()));
    posterior.blocks.push_back(std::move(block));
  }
  if (!(top > kNone) || !std::isfinite(top))
    return Error{ErrorCode::kNoAnswer, "no size of the grids comes near what was measured"};
  double sum = 0;
  for (auto& block : posterior.blocks)
    for (double& m : block.mass) sum += m = std::exp(m - top);
  for (auto& block : posterior.blocks)
    for (double& m : block.mass) m /= sum;
  posterior.log_evidence = top + std::log(sum);
  return posterior;
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

std::array<std::vector<double>, 2> candidate_probabilities(const PartModel& model, const Posterior& posterior,
                                                           std::size_t feature_index) {
  const FeatureModel& feature = model.features[feature_index];
  std::array<std::vector<double>, 2> p;
  for (std::size_t i = 0; i < 2; ++i) p[i].assign(feature.candidates[i].size(), 0);
  for (const auto& block : posterior.blocks)
    for (std::size_t k = 0; k < posterior.s_ratio.size(); ++k)
      spread_mass(feature, posterior, feature_index, block, k,
                  [&](std::size_t i, std::size_t, double mass) { p[block.system][i] += mass; });
  return p;
}

}  // namespace rondure
