#include "rondure/interpret/original.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <numeric>

#include "original_findings.hpp"
#include "original_model.hpp"
#include "original_posterior.hpp"

namespace rondure {
namespace {

constexpr double kSameAnswer_mm = 5e-4;  // so that 12.7 mm and half an inch are one answer

}  // namespace

std::vector<SizeCandidate> ranked(const FeatureModel& feature, const std::array<std::vector<double>, 2>& p) {
  std::vector<SizeCandidate> all;
  for (std::size_t system = 0; system < 2; ++system)
    for (std::size_t i = 0; i < p[system].size(); ++i)
      if (p[system][i] > 0)
        all.push_back({{}, feature.candidates[system][i].size_mm, p[system][i], kSystems[system]});
  std::sort(all.begin(), all.end(),
            [](const SizeCandidate& a, const SizeCandidate& b) { return a.probability > b.probability; });
  return all;
}

namespace {

// Of the most probable size, whichever system it was drawn in.
double best_size_probability(const std::vector<SizeCandidate>& all) {
  double best = 0;
  for (std::size_t i = 0; i < std::min<std::size_t>(all.size(), 20); ++i) {
    double p = 0;
    for (const SizeCandidate& c : all)
      if (std::abs(c.size_mm - all[i].size_mm) < kSameAnswer_mm) p += c.probability;
    best = std::max(best, p);
  }
  return best;
}

bool is_plain(const FeatureModel& f) {
  return f.readings.size() < 2 && f.readings.front().shape == ShapeHypothesis::kRound;
}

FeatureSpread spread_of(const FeatureModel& f, const FeatureTerms& terms, const Posterior& posterior) {
  FeatureSpread spread(f);
  terms.spread(posterior, [&](std::size_t b, std::size_t k, std::size_t i, std::size_t r, double mass) {
    spread.candidates[r][posterior.blocks[b].system][i] += mass;
    spread.probability[r] += mass;
    spread.implied_mm[r] += mass * f.readings[r].anchor_mm / (1 - f.share * posterior.s_ratio[k]);
  });
  return spread;
}

Estimate unshrunk(const FeatureModel& f, const Posterior& posterior, double measured_mm, double sd_mm) {
  double mean = 0, square = 0;
  for (const auto& block : posterior.blocks)
    for (std::size_t k = 0; k < posterior.s_ratio.size(); ++k) {
      const double x = measured_mm / (1 - f.share * posterior.s_ratio[k]);
      mean += block.mass[k] * x;
      square += block.mass[k] * (x - measured_mm) * (x - measured_mm);
    }
  const double spread = std::max(0.0, square - (mean - measured_mm) * (mean - measured_mm));
  return {mean, std::sqrt(spread + sd_mm * sd_mm)};
}

}  // namespace

std::vector<ShapeVerdict> shape_verdicts(const FeatureModel& f, const FeatureSpread& spread) {
  if (is_plain(f)) return {};
  std::vector<ShapeVerdict> verdicts(f.readings.size());
  for (std::size_t r = 0; r < verdicts.size(); ++r) {
    ShapeVerdict& v = verdicts[r];
    v.probability = spread.probability[r];
    v.shape = f.readings[r].shape;
    v.at_least = v.shape == ShapeHypothesis::kWorn;
    if (!(v.probability > 0)) continue;
    v.implied_mm = spread.implied_mm[r] / v.probability;
    const auto all = ranked(f, spread.candidates[r]);
    v.best_label = size_label(all.front().size_mm, all.front().system);
    v.best_probability = all.front().probability / v.probability;
  }
  return verdicts;
}

OriginalFeature feature_result(const SizeObservation& o, const OriginalOptions& options,
                               const PreparedPart& part, std::size_t i, const Posterior& posterior,
                               const std::vector<SizeCandidate>& all) {
  const FeatureModel& f = part.model.features[i];
  OriginalFeature out;
  out.name = o.name;
  out.kind = o.kind;
  out.measured_mm = o.size_mm;
  out.u_mm = o.u_mm;
  out.share_of_shrinkage = f.share;
  for (std::size_t level = 0; level < f.sd_mm.size(); ++level)
    out.u_made_mm += posterior.level_probability(level) * part.making_sd_mm[i][level];
  out.unshrunk_mm = unshrunk(f, posterior, o.size_mm, std::hypot(o.u_mm, out.u_made_mm));
  out.undecided = best_size_probability(all) < options.confidence_ratio;
  out.rest_probability = 1;
  for (const SizeCandidate& c : all) {
    if (c.probability < options.least_shown && !out.candidates.empty()) break;
    out.candidates.push_back(c);
    out.candidates.back().label = (o.kind == FeatureKind::kArc ? "R " : "") + size_label(c.size_mm, c.system);
    out.rest_probability -= c.probability;
  }
  out.rest_probability = std::max(0.0, out.rest_probability);
  if (f.oval) out.ovality_mm = o.ovality_mm;
  return out;
}

namespace {

std::string percent(double lo, double hi) {
  char text[64];
  std::snprintf(text, sizeof text, "%g to %g %%", lo, hi);
  return text;
}

}  // namespace

std::string describe_shrinkage_source(const OriginalOptions& options, const AgeingMaterial& m) {
  if (options.shrinkage) return "as stated";
  if (m.metal) return m.name + ": metal, does not shrink";
  if (!m.known)
    return m.name.empty() ? "material not stated: broad law"
                          : "material '" + m.name + "' not known: broad law";
  if (m.ageing_percent.width() > 0)
    return m.name + ": " + percent(m.ageing_percent.lo, m.ageing_percent.hi) + " after moulding (" +
           m.source + ")";
  return m.name + (m.note.empty() ? "" : ": " + m.note) + " (judgement)";
}

void add_warnings(const OriginalOptions& options, const PreparedPart& part, OriginalResult& result) {
  result.warnings = part.warnings;
  if (!options.material.empty() && !part.material.known)
    result.warnings.push_back(
        {"material-unknown",
         "the material '" + part.material.name + "' is not in the table: a broad law of shrinkage is used"});
  const Interval range{part.material.ageing_percent.lo / 100, part.material.ageing_percent.hi / 100};
  if (!options.shrinkage && !part.crack_gap_shrinkage && part.material.known && range.width() > 0 &&
      (result.shrinkage95.lo > range.hi || result.shrinkage95.hi < range.lo)) {
    char text[200];
    std::snprintf(text, sizeof text,
                  "the sizes ask for a shrinkage of %.2f to %.2f %%, %s usually has %g to %g %%: another "
                  "material, wear, "
                  "or a feature of another kind?",
                  100 * result.shrinkage95.lo, 100 * result.shrinkage95.hi, part.material.name.c_str(),
                  part.material.ageing_percent.lo, part.material.ageing_percent.hi);
    result.warnings.push_back({"shrinkage-unusual", text});
  }
}

namespace {

// The drive's diameter becomes evidence on its feature.
Result<OriginalOptions> with_drive_evidence(std::span<const SizeObservation> sizes, OriginalOptions options) {
  if (!options.drive) return options;
  const auto size = diameter_from_drive(*options.drive);
  if (!size) return size.error();
  if (options.drive_feature.empty()) options.drive_feature = options.about;
  for (std::size_t i = 0; options.drive_feature.empty() && i < sizes.size(); ++i)
    if (sizes[i].kind == FeatureKind::kOutside) options.drive_feature = sizes[i].name;
  if (options.drive_feature.empty())
    return Error{ErrorCode::kBadArgument, "a drive check needs an outside diameter among the sizes"};
  const bool there = std::any_of(options.evidence.begin(), options.evidence.end(),
                                 [](const SizeEvidence& e) { return e.from_drive; });
  if (!there) options.evidence.push_back({options.drive_feature, *size, "wanted speed or ratio", true});
  return options;
}

std::vector<DriveOutcome> drive_outcomes(const OriginalOptions& options, const OriginalResult& result) {
  std::vector<DriveOutcome> outcomes;
  for (const OriginalFeature& f : result.features)
    if (options.drive && f.name == options.drive_feature)
      for (std::size_t i = 0; i < std::min<std::size_t>(4, f.candidates.size()); ++i)
        outcomes.push_back({f.candidates[i].label, f.candidates[i].size_mm,
                            drive_error_ratio(*options.drive, f.candidates[i].size_mm)});
  return outcomes;
}

constexpr double kWearSuspect_chance = 0.15;  // before anything is measured
constexpr double kWearWorthSaying = 0.5;      // chance: sooner worn than not

// A running surface that makes no good grid size at the shrinkage of the others may be worn: says so, with
// what it would have been. The answer itself stays with the sizes as read, since any size is on the finest
// grid.
void add_wear_doubts(std::span<const SizeObservation> sizes, const Inference& inference,
                     OriginalResult& result) {
  const PreparedPart& part = inference.part;
  for (std::size_t i = 0; i < sizes.size(); ++i) {
    const FeatureModel& f = part.model.features[i];
    const auto& others = inference.without[i];
    if (!others || !sizes[i].kind.is_running_surface() || f.readings.size() > 1 || f.evidence_mm) continue;
    // Predictive density per mm; 1 is that of a grid without preference, and wear can hardly bring it
    // above 3.
    const double density = std::exp(inference.posterior.log_evidence - others->log_evidence);
    if (density > 3 * kWearSuspect_chance / (1 - kWearSuspect_chance)) continue;
    PartModel doubt = part.model;
    doubt.features[i].readings =
        maybe_worn_readings(sizes[i].size_mm, sizes[i].kind == FeatureKind::kBore, kWearSuspect_chance);
    doubt.features[i].find_candidates({doubt.features[i].grids[0], doubt.features[i].grids[1]}, doubt.law);
    const auto worn = integrate(doubt);
    if (!worn) continue;
    const FeatureTerms terms(doubt.features[i], i, {&*worn});
    for (const ShapeVerdict& v :
         shape_verdicts(doubt.features[i], spread_of(doubt.features[i], terms, *worn))) {
      if (v.shape != ShapeHypothesis::kWorn || v.probability < kWearWorthSaying) continue;
      char text[300];
      std::snprintf(
          text, sizeof text,
          "'%s' makes no usual size at the shrinkage that the other sizes show: worn rather than shrunk, "
          "chance %.0f %%. If it ran, say --worn %s: the original is then likely %s (%.0f %%)",
          sizes[i].name.substr(0, 40).c_str(), 100 * v.probability, sizes[i].name.substr(0, 40).c_str(),
          v.best_label.c_str(), 100 * v.best_probability);
      result.warnings.push_back({"wear-suspected", text});
    }
  }
}

}  // namespace

Inference infer(const PreparedPart& part, const Posterior& posterior, bool with_reasons) {
  const std::size_t features = part.model.features.size();
  std::vector<std::optional<Posterior>> without(features);
  for (std::size_t j = 0; with_reasons && j < features; ++j) without[j] = posterior.without(j);
  std::vector<const Posterior*> posteriors = {&posterior};
  for (const auto& other : without)
    if (other) posteriors.push_back(&*other);
  FeatureTerms about(part.model.features[part.about], part.about, posteriors);
  return {part, posterior, std::move(without), std::move(about)};
}

Result<OriginalResult> infer_original(std::span<const SizeObservation> sizes, const OriginalOptions& asked) {
  auto with_drive = with_drive_evidence(sizes, asked);
  if (!with_drive) return with_drive.error();
  const auto contradictions = judge_evidence(sizes, *with_drive);
  if (!contradictions) return contradictions.error();
  const OriginalOptions& options = *with_drive;
  auto part = prepare_part(sizes, options);
  if (!part) return part.error();
  const auto posterior = integrate(part->model);
  if (!posterior) return posterior.error();

  OriginalResult result;
  result.p_metric = posterior->system_probability(0);
  result.shrinkage_mean = posterior->mean_shrinkage();
  result.shrinkage95 = posterior->shrinkage95();
  result.log_evidence = posterior->log_evidence;
  result.confidence_ratio = options.confidence_ratio;
  result.about = sizes[part->about].name;
  result.shrinkage_source = part->crack_gap_shrinkage && !options.shrinkage
                                ? "from the crack gap"
                                : describe_shrinkage_source(options, part->material);
  const Inference inference = infer(*part, *posterior, options.suggest);
  for (std::size_t i = 0; i < sizes.size(); ++i) {
    const FeatureModel& f = part->model.features[i];
    const FeatureTerms terms = i == part->about ? inference.about : FeatureTerms(f, i, {&*posterior});
    result.features.push_back(feature_result(sizes[i], options, *part, i, *posterior,
                                             ranked(f, terms.candidate_probabilities(*posterior))));
    if (!is_plain(f)) result.features.back().shapes = shape_verdicts(f, spread_of(f, terms, *posterior));
  }
  add_warnings(options, *part, result);
  result.warnings.insert(result.warnings.begin(), contradictions->begin(), contradictions->end());
  result.evidence = options.evidence;
  result.drive = drive_outcomes(options, result);
  if (options.suggest) {
    add_wear_doubts(sizes, inference, result);
    result.reasons = driving_facts(sizes, options, inference);
    result.measure_next = next_measurements(sizes, options, inference);
  }
  return result;
}

}  // namespace rondure
