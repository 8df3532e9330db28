// The integral over the shrinkage: Gauss-Legendre panels where the product of all features counts.
#include <algorithm>
#include <limits>

#include "original_posterior.hpp"
#include "rondure/core/gauss_legendre.hpp"

namespace rondure {
namespace {

constexpr double kNoLog = -std::numeric_limits<double>::infinity();  // of no chance at all
// Of a panel with eight nodes, in widths of the narrowest law: a quarter of it changes no probability by 1e-9
// (tests/interpret/test_original.cpp, refinement).
constexpr double kPanelWidth_sd = 2.5;
constexpr double kMaxPanels = 200000;  // bounds time and memory: more asks for u of nanometres
constexpr double kDropped_nats = 40;   // panels this far below the best are left out

double log_sum(const std::vector<double>& logs) {
  const double best = *std::max_element(logs.begin(), logs.end());
  if (best == kNoLog) return kNoLog;
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
    for (const auto& l : logs) totals.push_back(l.empty() ? kNoLog : log_prior(s) + log_sum(l));
    return totals;
  }

private:
  static double without(double sum, const std::vector<double>& own, double log_chance, std::size_t left_out) {
    if (own[left_out] > kNoLog) return sum - own[left_out];
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

}  // namespace rondure
