#include "set_posterior.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <numeric>

#include "set_part_table.hpp"
#include "set_shrinkage.hpp"

namespace rondure {
namespace {

constexpr double kNodeStep_widths = 0.75;
constexpr double kLongestStep_z = 0.09;  // laws of several parts bend s(z) within less than 1
constexpr double kLeft_out_nats = 26;    // by the bound, before anything is summed
constexpr double kNot_spread_nats = 21;  // of the sums themselves
constexpr std::size_t kMostNodes = 20000, kMostChoices = 20000;

// One size for every drawing.
struct Choice {
  std::vector<std::size_t> index;
  double prior = 1;
};

double widest_slope(const ShrinkageLaw& law) {
  std::vector<double> z;
  for (int i = -50; i <= 50; ++i) z.push_back(0.1 * i);
  const auto s = shrinkage_quantiles(law, z);
  double slope = 0;
  for (std::size_t i = 1; i < s.size(); ++i) slope = std::max(slope, (s[i] - s[i - 1]) / 0.1);
  return slope;
}

class SetSum {
public:
  explicit SetSum(const SetModel& model) : model_(model) {}

  Result<SetPosterior> run() {
    if (const auto ok = make_batches(); !ok) return ok.error();
    for (std::size_t p = 0; p < model_.parts.size(); ++p)
      tables_.emplace_back(model_.parts[p], model_.drawings, model_.system_chance, rules_[batch_of_[p]],
                           shrinkages_[batch_of_[p]]);
    // First what each choice of sizes weighs, then the posteriors of those that matter.
    for (std::size_t system = 0; system < 2; ++system) {
      if (model_.system_chance[system] == 0) continue;
      auto choices = choices_of(system);
      if (!choices) return choices.error();
      own_projections(system);
      for (Choice& c : *choices) weigh(system, std::move(c));
    }
    double best = 0;
    for (const Weighed& w : weighed_) best = std::max(best, w.total);
    if (!(best > 0)) return Error{ErrorCode::kNoAnswer, "no size of the grids comes near what was measured"};
    return posterior(best);
  }

private:
  struct Weighed {
    std::size_t system;
    Choice choice;
    double total;
  };

  Result<void> make_batches() {
    batch_of_.resize(model_.parts.size());
    std::vector<std::size_t> batch(model_.batches, SIZE_MAX);
    for (std::size_t p = 0; p < model_.parts.size(); ++p) {
      const SetModel::Part& part = model_.parts[p];
      if (part.model.law.exact()) {
        batch_of_[p] = rules_.size();
        rules_.push_back(BatchRule());
        shrinkages_.push_back({part.model.law.mean()});
        continue;
      }
      if (batch[part.batch] == SIZE_MAX) {
        batch[part.batch] = rules_.size();
        if (const auto ok = make_batch(part.batch); !ok) return ok;
      }
      batch_of_[p] = batch[part.batch];
    }
    named_batch_ = batch;
    return {};
  }

  Result<void> make_batch(std::size_t batch) {
    double step = INFINITY;
    std::size_t parts = 0;
    const ShrinkageLaw* law = nullptr;
    for (const double r : model_.likeness) step = std::min(step, std::sqrt(1 - r));
    const double scatter = step;
    for (const SetModel::Part& part : model_.parts) {
      if (part.batch != batch || part.model.law.exact()) continue;
      ++parts;
      law = &part.model.law;
      const double precision = with_precision_of_features(0, part.model);
      if (precision > 0)
        step = std::min(step, 1 / std::hypot(1 / scatter, std::sqrt(precision) * widest_slope(*law)));
    }
    step = std::min(kNodeStep_widths * step, kLongestStep_z) * model_.step_scale;
    if (!(2 * kReach_z / step < kMostNodes))
      return Error{ErrorCode::kNoAnswer,
                   "the sizes are given too finely to sum over the shrinkage, needed u of 0.0001 mm or more"};
    rules_.push_back(BatchRule(model_.likeness, parts, step, model_.step_scale));
    shrinkages_.push_back(shrinkage_quantiles(*law, rules_.back().nodes()));
    return {};
  }

  // All choices that some of the parts come near, drawing by drawing.
  Result<std::vector<Choice>> choices_of(std::size_t system) const {
    std::vector<Choice> kept = {{}};
    for (std::size_t d = 0; d < model_.drawings.size(); ++d) {
      const auto& sizes = model_.drawings[d][system];
      std::vector<Choice> longer;
      std::vector<double> bound;
      for (const Choice& c : kept)
        for (std::size_t n = 0; n < sizes.size(); ++n) {
          Choice next = c;
          next.index.push_back(n);
          next.prior *= sizes[n].prior_weight * tie_weight(system, next.index);
          if (!(next.prior > 0)) continue;
          const double log_bound = std::log(next.prior) + log_bound_of_parts(system, next.index);
          if (!std::isfinite(log_bound)) continue;
          bound.push_back(log_bound);
          longer.push_back(std::move(next));
        }
      kept.clear();
      const double best = bound.empty() ? 0 : *std::max_element(bound.begin(), bound.end());
      for (std::size_t i = 0; i < longer.size(); ++i)
        if (bound[i] > best - kLeft_out_nats) kept.push_back(std::move(longer[i]));
      if (kept.size() > kMostChoices)
        return Error{
            ErrorCode::kNoAnswer,
            "found too many sizes that the shared drawings could have, needed fewer of them said to be "
            "of the same drawing"};
    }
    return kept;
  }

  // The mean of a product is at most that of one factor times the best of all others.
  double log_bound_of_parts(std::size_t system, const std::vector<std::size_t>& index) const {
    double sum = 0, price = 0;
    for (const PartTable& t : tables_) {
      const PartTable::Bounds b = t.log_bounds(system, index);
      sum += b.best;
      price = std::max(price, b.best - b.mean);
    }
    return sum - price;
  }

  // Of the ties that the last of the sizes completes.
  double tie_weight(std::size_t system, const std::vector<std::size_t>& index) const {
    const std::size_t last = index.size() - 1;
    double weight = 1;
    for (const SetModel::Tie& t : model_.ties) {
      if (std::max(t.drawing_a, t.drawing_b) != last) continue;
      const double a = model_.drawings[t.drawing_a][system][index[t.drawing_a]].size_mm + t.belt_mm;
      const double b = model_.drawings[t.drawing_b][system][index[t.drawing_b]].size_mm + t.belt_mm;
      const double z = (a / b - t.ratio.value) / t.ratio.u;
      weight *= z * z > 2 * kLeft_out_nats ? 0 : std::exp(-0.5 * z * z);
    }
    return weight;
  }

  void own_projections(std::size_t system) {
    auto& own = own_[system];
    for (std::size_t p = 0; p < tables_.size(); ++p)
      own.push_back(rules_[batch_of_[p]].project(tables_[p].sum_over_levels(system, nullptr)));
  }

  // Evidence of every part at every row of its batch, for a choice; nullptr: no part shares its drawings.
  std::vector<std::vector<double>> belonging(std::size_t system, const Choice* choice) const {
    std::vector<std::vector<double>> evidence;
    for (std::size_t p = 0; p < tables_.size(); ++p) {
      if (!model_.parts[p].shares())
        evidence.push_back(own_[system][p]);
      else if (choice)
        evidence.push_back(rules_[batch_of_[p]].project(tables_[p].sum_over_levels(system, &choice->index)));
      else
        evidence.emplace_back(own_[system][p].size(), 0.0);
    }
    return evidence;
  }

  double chance_belonging(std::size_t p) const {
    return 1 - model_.parts[p].chance_other_drawing - model_.parts[p].chance_stranger;
  }
  double chance_other(std::size_t p) const { return model_.parts[p].chance_other_drawing; }
  double stranger(std::size_t p) const {
    return model_.parts[p].chance_stranger * tables_[p].stranger_evidence();
  }

  // With odd parts mixed in.
  std::vector<std::vector<double>> mixed(std::size_t system,
                                         const std::vector<std::vector<double>>& belong) const {
    auto f = belong;
    for (std::size_t p = 0; p < f.size(); ++p)
      for (std::size_t j = 0; j < f[p].size(); ++j)
        f[p][j] = chance_belonging(p) * f[p][j] + chance_other(p) * own_[system][p][j] + stranger(p);
    return f;
  }

  // Sum over the rows of one batch of the product of its parts.
  double batch_total(std::size_t batch, const std::vector<std::vector<double>>& f) const {
    const auto& rows = rules_[batch].rows();
    double total = 0;
    for (std::size_t j = 0; j < rows.size(); ++j) {
      double product = rows[j].chance;
      for (std::size_t p = 0; p < f.size(); ++p)
        if (batch_of_[p] == batch) product *= f[p][j];
      total += product;
    }
    return total;
  }

  std::vector<double> batch_totals(const std::vector<std::vector<double>>& f) const {
    std::vector<double> totals;
    for (std::size_t b = 0; b < rules_.size(); ++b) totals.push_back(batch_total(b, f));
    return totals;
  }
  static double product(const std::vector<double>& factors) {
    return std::accumulate(factors.begin(), factors.end(), 1.0, std::multiplies<>());
  }

  void weigh(std::size_t system, Choice choice) {
    const auto f = mixed(system, belonging(system, &choice));
    const double total = model_.system_chance[system] * choice.prior * product(batch_totals(f));
    weighed_.push_back({system, std::move(choice), total});
  }

  Result<SetPosterior> posterior(double best) {
    begin_result();
    for (std::size_t system = 0; system < 2; ++system) {
      if (model_.system_chance[system] == 0) continue;
      double prior = 0;
      for (const Weighed& w : weighed_) {
        if (w.system != system || w.total < best * std::exp(-kNot_spread_nats)) continue;
        prior += w.choice.prior;
        accumulate(system, &w.choice, w.choice.prior);
      }
      // That no part at all shares the drawings is one case, not one for every size.
      if (!model_.drawings.empty()) accumulate(system, nullptr, 1 - prior);
    }
    return finished();
  }

  void begin_result() {
    for (std::size_t p = 0; p < tables_.size(); ++p) {
      SetPosterior::Part part;
      part.all = tables_[p].empty_posterior(model_.system_chance);
      part.odd = part.all;
      part.drawn.resize(model_.parts[p].model.features.size());
      for (std::size_t i = 0; i < part.drawn.size(); ++i)
        if (const auto d = model_.parts[p].drawing[i])
          for (std::size_t s = 0; s < 2; ++s) part.drawn[i][s].assign(model_.drawings[*d][s].size(), 0);
      result_.parts.push_back(std::move(part));
    }
    for (std::size_t b = 0; b < rules_.size(); ++b) {
      further_.emplace_back(rules_[b].rows().size(), 0.0);
    }
  }

  void accumulate(std::size_t system, const Choice* choice, double coefficient) {
    const auto belong = belonging(system, choice);
    const auto f = mixed(system, belong);
    const auto totals = batch_totals(f);
    const double weight = coefficient * model_.system_chance[system];
    total_ += weight * product(totals);
    result_.system[system] += weight * product(totals);
    for (std::size_t b = 0; b < rules_.size(); ++b) {
      double others = weight;
      for (std::size_t o = 0; o < rules_.size(); ++o)
        if (o != b) others *= totals[o];
      if (others != 0) accumulate_batch(system, choice, b, others, belong, f);
    }
  }

  void accumulate_batch(std::size_t system, const Choice* choice, std::size_t batch, double others,
                        const std::vector<std::vector<double>>& belong,
                        const std::vector<std::vector<double>>& f) {
    std::vector<std::size_t> members;
    for (std::size_t p = 0; p < f.size(); ++p)
      if (batch_of_[p] == batch) members.push_back(p);
    const auto& rows = rules_[batch].rows();
    // Product of all parts but one, per row.
    std::vector<std::vector<double>> rest(members.size(), std::vector<double>(rows.size()));
    std::vector<double> after(members.size() + 1);
    for (std::size_t j = 0; j < rows.size(); ++j) {
      after.back() = others * rows[j].chance;
      for (std::size_t m = members.size(); m-- > 0;) after[m] = after[m + 1] * f[members[m]][j];
      double before = 1;
      for (std::size_t m = 0; m < members.size(); ++m) {
        rest[m][j] = before * after[m + 1];
        before *= f[members[m]][j];
      }
      further_[batch][j] += after[0];
    }
    for (std::size_t m = 0; m < members.size(); ++m)
      accumulate_part(system, choice, members[m], rest[m], belong[members[m]]);
  }

  void accumulate_part(std::size_t system, const Choice* choice, std::size_t p,
                       const std::vector<double>& rest, const std::vector<double>& belong) {
    SetPosterior::Part& out = result_.parts[p];
    const PartTable& table = tables_[p];
    const BatchRule& rule = rules_[batch_of_[p]];
    auto scaled = rest;
    const auto times = [&](double factor) {
      for (std::size_t j = 0; j < rest.size(); ++j) scaled[j] = factor * rest[j];
      return rule.project_back(scaled);
    };
    const bool shares = model_.parts[p].shares();
    if (!shares || choice) {
      table.add_masses(out.all, system, shares ? &choice->index : nullptr, times(chance_belonging(p)));
      double mass = 0;
      for (std::size_t j = 0; j < rest.size(); ++j) mass += chance_belonging(p) * rest[j] * belong[j];
      for (std::size_t i = 0; shares && i < out.drawn.size(); ++i)
        if (const auto d = model_.parts[p].drawing[i]) out.drawn[i][system][choice->index[*d]] += mass;
    }
    if (chance_other(p) > 0) {
      const auto back = times(chance_other(p));
      table.add_masses(out.all, system, nullptr, back);
      table.add_masses(out.odd, system, nullptr, back);
      for (std::size_t j = 0; j < rest.size(); ++j)
        out.p_other_drawing += chance_other(p) * rest[j] * own_[system][p][j];
    }
    if (stranger(p) > 0) out.p_stranger += stranger(p) * std::accumulate(rest.begin(), rest.end(), 0.0);
  }

  Result<SetPosterior> finished() {
    if (!(total_ > 0) || !std::isfinite(total_))
      return Error{ErrorCode::kNoAnswer, "no size of the grids comes near what was measured"};
    result_.log_evidence = std::log(total_);
    for (double& s : result_.system) s /= total_;
    for (std::size_t p = 0; p < tables_.size(); ++p) {
      SetPosterior::Part& part = result_.parts[p];
      tables_[p].add_stranger(part.all, part.p_stranger, model_.system_chance);
      tables_[p].add_stranger(part.odd, part.p_stranger, model_.system_chance);
      for (Posterior* of : {&part.all, &part.odd})
        for (auto& block : of->blocks)
          for (double& m : block.mass) m = std::max(0.0, m / total_);
      part.p_other_drawing /= total_;
      part.p_stranger /= total_;
      for (auto& drawn : part.drawn)
        for (auto& of_system : drawn)
          for (double& m : of_system) m /= total_;
      result_.log_evidence += tables_[p].log_scale();
    }
    for (const std::size_t b : named_batch_) {
      SetPosterior::Batch batch;
      if (b != SIZE_MAX) {
        batch.s_ratio = shrinkages_[b];
        for (double& v : further_[b]) v = std::max(0.0, v / total_);
        batch.mass = rules_[b].project_back(further_[b]);
        for (std::size_t j = 0; j < further_[b].size(); ++j)
          batch.likeness += further_[b][j] * model_.likeness[rules_[b].rows()[j].likeness];
      }
      result_.batches.push_back(std::move(batch));
    }
    return std::move(result_);
  }

  const SetModel& model_;
  std::vector<BatchRule> rules_;
  std::vector<std::vector<double>> shrinkages_;
  std::vector<std::size_t> batch_of_, named_batch_;
  std::vector<PartTable> tables_;
  std::array<std::vector<std::vector<double>>, 2> own_;
  std::vector<Weighed> weighed_;
  std::vector<std::vector<double>> further_;
  double total_ = 0;
  SetPosterior result_;
};

}  // namespace

bool SetModel::Part::shares() const {
  return std::any_of(drawing.begin(), drawing.end(), [](const auto& d) { return d.has_value(); });
}

Result<SetPosterior> integrate(const SetModel& model) { return SetSum(model).run(); }

}  // namespace rondure
