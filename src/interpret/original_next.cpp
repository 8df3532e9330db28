// Expected information of a further measurement about the size in question: mutual information I(N; y) in
// bits, by direct summation over a table of (size class, system, level, shrinkage) and the readings y that
// the measurement could give.
#include <algorithm>
#include <cmath>
#include <cstdio>

#include "original_findings.hpp"
#include "rondure/core/length.hpp"

namespace rondure {
namespace {

constexpr std::size_t kClasses = 12;         // the most probable sizes; the others are one more class
constexpr std::size_t kShrinkageBins = 24;   // over all that the posterior leaves; by judgement, as kClasses
constexpr double kAboutSpread_ratio = 0.08;  // how roughly the user knows the size he could measure
constexpr double kWorthwhile_bits = 0.01;    // expected; less is no reason to go and measure: by judgement
constexpr std::size_t kMostProposals = 5;    // a list that is read

// Posterior mass by class of the size in question, block and shrinkage bin.
struct JointTable {
  std::vector<double> s_ratio;                             // per bin
  std::vector<std::vector<std::vector<double>>> mass;      // [class][block][bin]
  std::vector<double> size_mm;                             // per class; the last class (the rest) has none
  std::vector<std::pair<std::size_t, std::size_t>> block;  // system, level
};

JointTable joint_table(const Inference& inference) {
  const PreparedPart& part = inference.part;
  const Posterior& posterior = inference.posterior;
  const FeatureModel& f = part.model.features[part.about];
  const FeatureTerms& terms = inference.about;
  const auto p = terms.candidate_probabilities(posterior);
  std::vector<std::pair<double, std::pair<std::size_t, std::size_t>>> order;
  for (std::size_t s = 0; s < 2; ++s)
    for (std::size_t i = 0; i < p[s].size(); ++i) order.push_back({p[s][i], {s, i}});
  std::sort(order.rbegin(), order.rend());
  const std::size_t named = std::min(kClasses, order.size());
  std::array<std::vector<std::size_t>, 2> class_of;
  for (std::size_t s = 0; s < 2; ++s) class_of[s].assign(p[s].size(), named);
  JointTable table;
  for (std::size_t c = 0; c < named; ++c) {
    const auto [s, i] = order[c].second;
    class_of[s][i] = c;
    table.size_mm.push_back(f.candidates[s][i].size_mm);
  }
  const double lo = posterior.s_ratio.front(), hi = posterior.s_ratio.back();
  const double width = (hi - lo) / kShrinkageBins;
  const auto bin_of = [&](double s) {
    return width > 0 ? std::min(kShrinkageBins - 1, static_cast<std::size_t>((s - lo) / width))
                     : std::size_t{0};
  };
  for (std::size_t b = 0; b < kShrinkageBins; ++b)
    table.s_ratio.push_back(lo + width * (static_cast<double>(b) + 0.5));
  table.mass.assign(named + 1, std::vector(posterior.blocks.size(), std::vector<double>(kShrinkageBins, 0)));
  for (const auto& block : posterior.blocks) table.block.emplace_back(block.system, block.level);
  std::vector<std::size_t> bin;
  for (const double shrinkage : posterior.s_ratio) bin.push_back(bin_of(shrinkage));
  terms.spread(posterior, [&](std::size_t b, std::size_t k, std::size_t i, std::size_t, double mass) {
    table.mass[class_of[posterior.blocks[b].system][i]][b][bin[k]] += mass;
  });
  return table;
}

// I(class; y) from p(class, y) given as one row of joint probabilities per reading y.
class Information {
public:
  explicit Information(std::size_t classes) : class_mass_(classes, 0) {}
  void add(const std::vector<double>& joint) {
    double sum = 0;
    for (std::size_t c = 0; c < joint.size(); ++c) {
      sum += joint[c];
      class_mass_[c] += joint[c];
      if (joint[c] > 0) joint_ += joint[c] * std::log2(joint[c]);
    }
    if (sum > 0) reading_ += sum * std::log2(sum);
    total_ += sum;
  }
  double bits() const {
    if (!(total_ > 0)) return 0;
    double classes = 0;
    for (const double m : class_mass_)
      if (m > 0) classes += m * std::log2(m);
    return std::max(0.0, (joint_ - reading_ - classes + total_ * std::log2(total_)) / total_);
  }

private:
  std::vector<double> class_mass_;
  double joint_ = 0, reading_ = 0, total_ = 0;
};

// Density of the unshrunken size of a feature about so large, as read with this scatter: grid prior, smeared.
struct SizeDensity {
  double lo_mm = 0, step_mm = 1;
  std::vector<double> value;
  double at(double x) const {
    const double position = (x - lo_mm) / step_mm;
    if (position < 0 || position >= static_cast<double>(value.size()) - 1) return 0;
    const auto i = static_cast<std::size_t>(position);
    const double part = position - static_cast<double>(i);
    return value[i] * (1 - part) + value[i + 1] * part;
  }
};

SizeDensity size_density(const std::vector<SizeGrid>& grids, double about_mm, double sd_mm) {
  const double spread = kAboutSpread_ratio * about_mm;
  const double lo = about_mm - 3 * spread, hi = about_mm + 3 * spread;
  SizeDensity density{lo, sd_mm / 4, {}};
  density.value.assign(static_cast<std::size_t>((hi - lo) / density.step_mm) + 2, 0);
  for (const GridSize& n : sizes_between(grids, lo, hi)) {
    const double off = (n.size_mm - about_mm) / spread;
    const double weight = n.prior_weight * std::exp(-0.5 * off * off);
    const auto first = static_cast<long>((n.size_mm - 5 * sd_mm - lo) / density.step_mm);
    for (long i = std::max(0L, first); i < static_cast<long>(density.value.size()); ++i) {
      const double z = (lo + static_cast<double>(i) * density.step_mm - n.size_mm) / sd_mm;
      if (z > 5) break;
      density.value[static_cast<std::size_t>(i)] += weight * std::exp(-0.5 * z * z);
    }
  }
  double sum = 0;
  for (const double v : density.value) sum += v;
  if (sum > 0)
    for (double& v : density.value) v /= sum * density.step_mm;
  return density;
}

double gain_of_feature(const PossibleMeasurement& m, const SizeGrids& grids, const PreparedPart& part,
                       const JointTable& table) {
  const std::size_t levels = part.model.level_chance.size();
  const double share = part.material.metal || !m.kind.shrinks_with_the_plastic() ? 0 : 1;
  auto making =
      part.material.levels.size() == levels
          ? making_sd_per_level(part.material, m.kind, m.about_mm, levels)
          : std::vector<double>(levels, m.kind.shrinks_with_the_plastic() && !part.material.levels.empty()
                                            ? moulding_sd_mm(part.material, part.material.levels.front(),
                                                             m.about_mm, m.kind == FeatureKind::kWidth)
                                            : metal_sd_mm(m.about_mm));
  std::vector<SizeDensity> density;
  double least_sd = INFINITY;
  for (const auto& [system, level] : table.block) {
    const double sd = std::hypot(making[level], m.u_mm);
    least_sd = std::min(least_sd, sd);
    density.push_back(size_density(grids.of(kSystems[system]), m.about_mm, sd));
  }
  const std::size_t classes = table.mass.size(), bins = share == 0 ? 1 : table.s_ratio.size();
  Information information(classes);
  const double reach = 3.3 * kAboutSpread_ratio * m.about_mm, step = least_sd / 1.5;
  std::vector<double> joint(classes);
  for (double y = m.about_mm - reach; y < m.about_mm + reach; y += step) {
    std::fill(joint.begin(), joint.end(), 0);
    for (std::size_t b = 0; b < table.block.size(); ++b)
      for (std::size_t k = 0; k < bins; ++k) {
        const double kept = 1 - share * table.s_ratio[k];
        const double p = density[b].at(y / kept) / kept * step;
        if (p == 0) continue;
        for (std::size_t c = 0; c < classes; ++c) {
          double mass = table.mass[c][b][k];
          if (share == 0)
            for (std::size_t other = 1; other < table.s_ratio.size(); ++other)
              mass += table.mass[c][b][other];
          joint[c] += mass * p;
        }
      }
    information.add(joint);
  }
  return information.bits();
}

// Knowing the original size itself to this uncertainty, from a speed ratio for instance.
double gain_of_evidence(double u_mm, const JointTable& table) {
  std::vector<double> mass;
  double lo = INFINITY, hi = -INFINITY;
  for (std::size_t c = 0; c < table.size_mm.size(); ++c) {
    double sum = 0;
    for (const auto& block : table.mass[c])
      for (const double m : block) sum += m;
    mass.push_back(sum);
    lo = std::min(lo, table.size_mm[c] - 5 * u_mm);
    hi = std::max(hi, table.size_mm[c] + 5 * u_mm);
  }
  Information information(mass.size());
  std::vector<double> joint(mass.size());
  const double step = std::max(u_mm / 3, (hi - lo) / 4000);
  for (double y = lo; y <= hi; y += step) {
    for (std::size_t c = 0; c < mass.size(); ++c) {
      const double z = (y - table.size_mm[c]) / u_mm;
      joint[c] = mass[c] * std::exp(-0.5 * z * z) * step / (u_mm * std::sqrt(2 * kPi));
    }
    information.add(joint);
  }
  return information.bits();
}

// Reading the size in question again with uncertainty u2: what was made stays, only the measuring improves.
double gain_of_rereading(const SizeObservation& o, double u2_mm, const PreparedPart& part,
                         const JointTable& table) {
  const double share = part.share[part.about];
  const double reach = 6 * std::max(o.u_mm, u2_mm), step = std::min(o.u_mm, u2_mm) / 1.5;
  if (reach / step > 2000) return 0;
  Information information(table.size_mm.size());
  std::vector<double> joint(table.size_mm.size());
  for (double y = o.size_mm - reach; y < o.size_mm + reach; y += step) {
    for (std::size_t c = 0; c < joint.size(); ++c) {
      joint[c] = 0;
      for (std::size_t b = 0; b < table.block.size(); ++b) {
        const double made = part.making_sd_mm[part.about][table.block[b].second];
        const double trust = made * made / (made * made + o.u_mm * o.u_mm);
        const double sd = std::hypot(std::sqrt(trust) * o.u_mm, u2_mm);
        for (std::size_t k = 0; k < table.s_ratio.size(); ++k) {
          const double mass = table.mass[c][b][k];
          if (mass < 1e-9) continue;
          const double drawn = table.size_mm[c] * (1 - share * table.s_ratio[k]);
          const double z = (y - drawn - trust * (o.size_mm - drawn)) / sd;
          if (std::abs(z) < 6) joint[c] += mass * std::exp(-0.5 * z * z) * step / (sd * std::sqrt(2 * kPi));
        }
      }
    }
    information.add(joint);
  }
  return information.bits();
}

double rounded(double mm) { return mm < 10 ? std::round(mm * 2) / 2 : std::round(mm); }

bool has_kind(std::span<const SizeObservation> sizes, std::initializer_list<FeatureKind> kinds) {
  for (const SizeObservation& o : sizes)
    for (const FeatureKind k : kinds)
      if (o.kind == k) return true;
  return false;
}

struct Proposal {
  PossibleMeasurement what;
  std::string words;
};

std::string to_u(double u_mm) { return ", to " + format_mm(u_mm, decimals_for_u(u_mm) - 1); }

// `moulded`: of a plastic that shrinks; a metal part has no other size that tells of it.
std::vector<Proposal> proposals(std::span<const SizeObservation> sizes, const OriginalOptions& options,
                                double about_mm, bool moulded) {
  std::vector<Proposal> all;
  const auto words = [](const PossibleMeasurement& m) {
    std::string t = "measure '" + m.name + "' (" + std::string(m.kind.word()) + ", about " +
                    format_mm(m.about_mm, 1) + ")" + to_u(m.u_mm);
    return t +
           (m.kind.shrinks_with_the_plastic() ? "" : "; it has not shrunk, so it separates metric from inch");
  };
  for (const PossibleMeasurement& m : options.could_measure) all.push_back({m, words(m)});
  if (!all.empty()) return all;
  const auto add = [&](const char* name, FeatureKind kind, double about, double u, const std::string& why) {
    const PossibleMeasurement m{name, kind, std::max(1.0, rounded(about)), u};
    all.push_back(
        {m, "measure " + m.name + " (about " + format_mm(m.about_mm, 1) + ")" + to_u(u) + "; " + why});
  };
  if (!moulded) {
    add("another size of it", FeatureKind::kMetal, about_mm / 2, 0.005, "it separates metric from inch");
    return all;
  }
  if (!has_kind(sizes, {FeatureKind::kMetal, FeatureKind::kBoreOnMetal}))
    add("the metal shaft or pin it runs on", FeatureKind::kMetal, about_mm / 4, 0.005,
        "metal has not shrunk, so it separates metric from inch");
  if (!has_kind(sizes, {FeatureKind::kWidth}))
    add("a width of the moulding between unworn faces", FeatureKind::kWidth, 0.7 * about_mm, 0.01,
        "it shrank freely, so it gives the shrinkage");
  add("another diameter of the moulding, such as a hub or flange that did not run", FeatureKind::kOutside,
      about_mm / 2, 0.01, "it shrank with the part and is not worn");
  return all;
}

}  // namespace

std::vector<NextMeasurement> next_measurements(std::span<const SizeObservation> sizes,
                                               const OriginalOptions& options, const Inference& inference) {
  const PreparedPart& part = inference.part;
  const SizeObservation& subject = sizes[part.about];
  const JointTable table = joint_table(inference);
  const ShrinkageLaw& law = part.model.law;
  const bool moulded = !(law.exact() && law.mean() == 0);
  std::vector<NextMeasurement> next;
  for (const Proposal& p : proposals(sizes, options, subject.size_mm, moulded))
    next.push_back({p.words, gain_of_feature(p.what, options.grids, part, table)});
  if (subject.kind == FeatureKind::kOutside && !part.model.features[part.about].evidence_mm)
    next.push_back(
        {"find out the speed or ratio it must give, to 0.5 %, and measure what it runs with (--ratio)",
         gain_of_evidence(0.005 * subject.size_mm, table)});
  const bool plain = part.model.features[part.about].readings.size() == 1;
  if (plain && subject.u_mm > 0.002) {
    const double u2 = std::max(0.002, subject.u_mm / 4);
    next.push_back({"measure '" + subject.name + "' again, to " + format_mm(u2, 4),
                    gain_of_rereading(subject, u2, part, table)});
  }
  std::erase_if(next, [](const NextMeasurement& n) { return !(n.expected_gain_bits >= kWorthwhile_bits); });
  std::sort(next.begin(), next.end(), [](const NextMeasurement& a, const NextMeasurement& b) {
    return a.expected_gain_bits > b.expected_gain_bits;
  });
  if (next.size() > kMostProposals) next.resize(kMostProposals);
  return next;
}

}  // namespace rondure
