#include <algorithm>
#include <cmath>
#include <cstdarg>
#include <cstdio>

#include "original_findings.hpp"
#include "rondure/core/length.hpp"

namespace rondure {
namespace {

constexpr double kWorthSaying_nats = 0.05;  // moves a chance from 35 to 50 %; less is no reason
constexpr std::size_t kMostFacts = 3;       // the weightiest: an answer with more reasons is not read

std::string text(const char* format, ...) {
  char buffer[320];
  va_list arguments;
  va_start(arguments, format);
  std::vsnprintf(buffer, sizeof buffer, format, arguments);
  va_end(arguments);
  return buffer;
}

using Probabilities = std::array<std::vector<double>, 2>;

// Kullback-Leibler divergence of what is believed now from what would be believed without the fact.
double divergence_nats(const Probabilities& now, const Probabilities& without) {
  double sum = 0;
  for (std::size_t s = 0; s < 2; ++s)
    for (std::size_t i = 0; i < now[s].size(); ++i)
      if (now[s][i] > 1e-12) sum += now[s][i] * std::log(now[s][i] / std::max(without[s][i], 1e-300));
  return sum;
}

struct Best {
  std::size_t system = 0, index = 0;
  double probability = 0;
};
Best best_of(const Probabilities& p) {
  Best best;
  for (std::size_t s = 0; s < 2; ++s)
    for (std::size_t i = 0; i < p[s].size(); ++i)
      if (p[s][i] > best.probability) best = {s, i, p[s][i]};
  return best;
}

struct Fact {
  double weight_nats;
  std::string sentence;
};

// What taking one feature away does to the belief in the size in question.
Fact feature_fact(const SizeObservation& o, const FeatureModel& subject, const Probabilities& now,
                  const Probabilities& without, const Posterior& with_it, const Posterior& without_it) {
  const Best best = best_of(now);
  const std::string label =
      size_label(subject.candidates[best.system][best.index].size_mm, kSystems[best.system]);
  const double p_now = 100 * best.probability, p_without = 100 * without[best.system][best.index];
  const double system_now = with_it.system_probability(best.system);
  const double system_without = without_it.system_probability(best.system);
  const std::string system(name(kSystems[best.system]));
  const double weight = divergence_nats(now, without);
  const std::string what = std::string(o.kind.word()) + " '" + o.name + "' (" + format_mm(o.size_mm, 3) + ")";
  if (system_now - system_without > 0.1)
    return {weight, "the " + what + " says " + system +
                        text(": %.0f %% with it, %.0f %% without", 100 * system_now, 100 * system_without)};
  if (system_without - system_now > 0.1)
    return {weight, "the " + what + " speaks against " + system +
                        text(": %.0f %% with it, %.0f %% without", 100 * system_now, 100 * system_without)};
  const double s_now = with_it.mean_shrinkage(), s_without = without_it.mean_shrinkage();
  const bool moves_s = std::abs(s_now - s_without) > 0.3 * without_it.sd_shrinkage() ||
                       with_it.sd_shrinkage() < 0.75 * without_it.sd_shrinkage();
  const bool moves_size = std::abs(p_now - p_without) >= 2;
  std::string sentence = "the " + what;
  if (moves_s)
    sentence += text(" puts the shrinkage at %.2f +- %.2f %% (without it %.2f +- %.2f %%)", 100 * s_now,
                     100 * with_it.sd_shrinkage(), 100 * s_without, 100 * without_it.sd_shrinkage());
  if (moves_size)
    sentence += std::string(moves_s ? "; it " : " ") +
                (p_now >= p_without ? "supports " : "speaks against ") + label +
                text(": %.0f %% with it, %.0f %% without", p_now, p_without);
  if (!moves_s && !moves_size) sentence += " shifts the lesser candidates";
  return {weight, sentence};
}

}  // namespace

std::vector<std::string> driving_facts(std::span<const SizeObservation> sizes, const OriginalOptions& options,
                                       const Inference& inference) {
  const PreparedPart& part = inference.part;
  const Posterior& posterior = inference.posterior;
  const FeatureTerms& terms = inference.about;
  std::vector<Fact> facts;
  const FeatureModel& subject = part.model.features[part.about];
  const Probabilities now = terms.candidate_probabilities(posterior);
  const Best best = best_of(now);
  const std::string label =
      size_label(subject.candidates[best.system][best.index].size_mm, kSystems[best.system]);

  for (std::size_t j = 0; j < sizes.size(); ++j) {
    const auto& without = inference.without[j];
    if (j == part.about || !without) continue;
    facts.push_back(
        feature_fact(sizes[j], subject, now, terms.candidate_probabilities(*without), posterior, *without));
  }
  const auto compare_with = [&](PartModel changed, const std::string& what) {
    const auto then = integrate(changed);
    if (!then) return;
    const Probabilities p =
        FeatureTerms(changed.features[part.about], part.about, {&*then}).candidate_probabilities(*then);
    facts.push_back(
        {divergence_nats(now, p), what + " supports " + label +
                                      text(": %.0f %% with it, %.0f %% without", 100 * best.probability,
                                           100 * p[best.system][best.index])});
  };
  for (std::size_t j = 0; j < sizes.size(); ++j)
    if (part.model.features[j].evidence_mm) {
      PartModel changed = part.model;
      changed.features[j].evidence_mm.reset();
      std::string source;
      for (const SizeEvidence& e : options.evidence)
        if (e.feature == sizes[j].name && !e.left_out) source += (source.empty() ? "" : " and ") + e.source;
      compare_with(changed, "what is known of '" + sizes[j].name + "' (" + source + ")");
    }
  if (part.crack_gap_shrinkage) {
    PartModel changed = part.model;
    changed.shrinkage_reading.reset();
    if (!options.shrinkage) changed.law = part.material.law;
    compare_with(changed, text("the crack gap (free shrinkage %.2f +- %.2f %%)",
                               100 * part.crack_gap_shrinkage->value, 100 * part.crack_gap_shrinkage->u));
  }
  std::sort(facts.begin(), facts.end(),
            [](const Fact& a, const Fact& b) { return a.weight_nats > b.weight_nats; });
  std::vector<std::string> reasons;
  for (const Fact& f : facts)
    if (reasons.size() < kMostFacts && f.weight_nats > kWorthSaying_nats) reasons.push_back(f.sentence);
  return reasons;
}

}  // namespace rondure
