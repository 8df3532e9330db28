#include "original_model.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include "rondure/interpret/ring_on_shaft.hpp"

namespace rondure {
namespace {

constexpr double kLargestSize_mm = 10000;  // a slip of the unit or of the point, surely

Error bad_size(const SizeObservation& o, const std::string& what) {
  return {ErrorCode::kBadArgument, "'" + o.name + "': " + what};
}

Result<void> check(std::span<const SizeObservation> sizes) {
  if (sizes.empty()) return Error{ErrorCode::kNoAnswer, "found no measured size, needed at least one"};
  std::set<std::string> names;
  for (const SizeObservation& o : sizes) {
    if (o.name.empty()) return Error{ErrorCode::kBadArgument, "found a size without a name"};
    if (!names.insert(o.name).second)
      return bad_size(o, "found the name twice, needed a name of its own for each size");
    if (!o.kind.is_measured())
      return bad_size(o,
                      "found the kind '" + std::string(o.kind.word()) + "', needed " + FeatureKind::kWords);
    if (!(o.size_mm > 0 && o.size_mm <= kLargestSize_mm))
      return bad_size(o, "needed a size above 0 and up to 10 m");
    if (!(o.u_mm >= 0 && o.u_mm < o.size_mm))
      return bad_size(o, "needed an uncertainty u of 0 or more, below the size");
    if (o.u_made_mm && !(*o.u_made_mm >= 0 && *o.u_made_mm < o.size_mm))
      return bad_size(o, "needed a making scatter u_made of 0 or more, below the size");
    if (o.u_made_mm && o.u_mm == 0 && *o.u_made_mm == 0)
      return bad_size(o, "found u and u_made both 0, needed one of them above 0");
    if (o.ovality_mm && !(*o.ovality_mm >= 0 && *o.ovality_mm < o.size_mm && o.u_ovality_mm >= 0))
      return bad_size(o, "needed an ovality of 0 or more, below the size");
  }
  return {};
}

// The largest bore on metal that fits inside the feature; 0 = none.
double held_bore_mm(std::span<const SizeObservation> sizes, double outside_mm) {
  double bore = 0;
  for (const SizeObservation& o : sizes)
    if (o.kind == FeatureKind::kBoreOnMetal && o.size_mm < outside_mm) bore = std::max(bore, o.size_mm);
  return bore;
}

double shaft_mm(std::span<const SizeObservation> sizes) {
  for (const FeatureKind kind : {FeatureKind::kBoreOnMetal, FeatureKind::kMetal})
    for (const SizeObservation& o : sizes)
      if (o.kind == kind) return o.size_mm;
  return 0;
}

OvalSize oval_of(const SizeObservation& o) {
  return {o.size_mm + *o.ovality_mm / 2, o.size_mm - *o.ovality_mm / 2, o.u_ovality_mm,
          o.kind == FeatureKind::kBore};
}

std::vector<ShapeReading> readings_of(const SizeObservation& o, const OriginalOptions& options) {
  if (o.ovality_mm && *o.ovality_mm > 0) return oval_readings(oval_of(o), options.shape);
  const bool worn = std::count(options.may_be_worn.begin(), options.may_be_worn.end(), o.name) > 0;
  return maybe_worn_readings(o.size_mm, o.kind == FeatureKind::kBore, worn ? 0.5 : 0.0);
}

// All evidence on one feature as one normal law.
Result<std::optional<Estimate>> evidence_on(const SizeObservation& o, const OriginalOptions& options) {
  double precision = 0, sum = 0;
  for (const SizeEvidence& e : options.evidence) {
    if (e.feature != o.name) continue;
    if (!(e.size_mm.value > 0 && e.size_mm.u > 0 && std::isfinite(e.size_mm.value + e.size_mm.u)))
      return bad_size(o, "needed evidence with an uncertainty, such as 12.30mm+-0.15mm");
    if (e.left_out && !options.believe_evidence) continue;
    precision += 1 / (e.size_mm.u * e.size_mm.u);
    sum += e.size_mm.value / (e.size_mm.u * e.size_mm.u);
  }
  if (precision == 0) return std::optional<Estimate>{};
  return std::optional(Estimate{sum / precision, 1 / std::sqrt(precision)});
}

Result<void> check_names(std::span<const SizeObservation> sizes, const OriginalOptions& options) {
  const auto known = [&](const std::string& name) {
    return std::any_of(sizes.begin(), sizes.end(), [&](const SizeObservation& o) { return o.name == name; });
  };
  std::vector<std::string> asked = options.may_be_worn;
  for (const SizeEvidence& e : options.evidence) asked.push_back(e.feature);
  if (!options.about.empty()) asked.push_back(options.about);
  for (const std::string& name : asked)
    if (!known(name)) {
      std::string names;
      for (const SizeObservation& o : sizes) names += (names.empty() ? "" : ", ") + o.name;
      return Error{ErrorCode::kBadArgument, "found the feature name '" + name + "', needed one of: " + names};
    }
  return {};
}

Result<void> add_crack_gap(std::span<const SizeObservation> sizes, const OriginalOptions& options,
                           PreparedPart& part) {
  const double shaft = shaft_mm(sizes);
  if (shaft == 0)
    return Error{ErrorCode::kBadArgument,
                 "a crack gap needs the shaft it stands open on: a size of the kind bore-on-metal or metal"};
  const Estimate gap = *options.crack_gap_mm;
  if (!(gap.value > 0 && gap.value < shaft && gap.u >= 0))
    return Error{ErrorCode::kBadArgument, "needed a crack gap above 0 and below the shaft's diameter"};
  const double s = shrinkage_from_crack_gap(gap.value, shaft);
  const double u = std::hypot(shrinkage_from_crack_gap(gap.u, shaft), kCrackGapModelUncertainty * s);
  if (part.model.law.exact()) {
    part.warnings.push_back(
        {"crack-gap-ignored", "the crack gap is not used: the shrinkage was stated exactly"});
    return {};
  }
  part.crack_gap_shrinkage = Estimate{s, u};
  if (options.shrinkage) {
    part.model.shrinkage_reading = Estimate{s, u};
  } else {
    part.model.law = stated_shrinkage({s, u}).value();
  }
  return {};
}

void default_subject(std::span<const SizeObservation> sizes, const OriginalOptions& options,
                     PreparedPart& part) {
  const auto rank = [&](const SizeObservation& o) {
    if (o.name == options.about) return 0;
    return o.kind == FeatureKind::kOutside ? 1 : o.kind.shrinks_with_the_plastic() ? 2 : 3;
  };
  for (std::size_t i = 1; i < sizes.size(); ++i)
    if (rank(sizes[i]) < rank(sizes[part.about])) part.about = i;
}

}  // namespace

double share_of_shrinkage(FeatureKind kind, double size_mm, double held_bore_mm, double poisson_ratio) {
  if (!kind.shrinks_with_the_plastic()) return 0;
  if (kind == FeatureKind::kOutside && held_bore_mm > 0 && held_bore_mm < size_mm)
    return held_ring_outer_share(held_bore_mm / size_mm, poisson_ratio);
  return 1;
}

std::vector<double> making_sd_per_level(const AgeingMaterial& material, FeatureKind kind, double size_mm,
                                        std::size_t levels) {
  if (!kind.shrinks_with_the_plastic() || material.metal)
    return std::vector<double>(levels, metal_sd_mm(size_mm));
  std::vector<double> sd;
  for (std::size_t i = 0; i < levels; ++i)
    sd.push_back(moulding_sd_mm(material, material.levels[i], size_mm, kind == FeatureKind::kWidth));
  return sd;
}

Result<PreparedPart> prepare_part(std::span<const SizeObservation> sizes, const OriginalOptions& options) {
  if (const auto ok = check(sizes); !ok) return ok.error();
  if (const auto ok = check_names(sizes, options); !ok) return ok.error();
  if (!(options.p_metric >= 0 && options.p_metric <= 1))
    return Error{ErrorCode::kBadArgument, "needed a metric prior of 0 to 1"};
  if (!(options.confidence_ratio > 0 && options.confidence_ratio < 1))
    return Error{ErrorCode::kBadArgument, "needed a confidence between 0 and 100 %"};

  PreparedPart part;
  part.material = find_ageing_material(options.material);
  part.model.law = part.material.law;
  part.model.panel_scale = options.panel_scale;
  if (options.shrinkage) {
    const auto law = stated_shrinkage(*options.shrinkage);
    if (!law) return law.error();
    part.model.law = *law;
  }
  if (options.crack_gap_mm)
    if (const auto ok = add_crack_gap(sizes, options, part); !ok) return ok.error();

  const bool metric = !options.grids.metric.empty(), inch = !options.grids.inch.empty();
  const double metric_mass = metric ? options.p_metric : 0, inch_mass = inch ? 1 - options.p_metric : 0;
  if (!(metric_mass + inch_mass > 0))
    return Error{ErrorCode::kNoAnswer, "the size grids and the metric prior leave no unit system"};
  part.model.system_chance = {metric_mass / (metric_mass + inch_mass), inch_mass / (metric_mass + inch_mass)};

  const bool level_matters = std::any_of(sizes.begin(), sizes.end(), [&](const SizeObservation& o) {
    return !o.u_made_mm && o.kind.shrinks_with_the_plastic() && !part.material.levels.empty();
  });
  if (level_matters) {
    part.model.level_chance.clear();
    for (const MakingLevel& l : part.material.levels) part.model.level_chance.push_back(l.chance);
  }
  const std::size_t levels = part.model.level_chance.size();

  ShrinkageLaw reach = part.model.law;  // candidates also for what is believed without the crack gap
  if (!options.shrinkage && part.crack_gap_shrinkage) {
    reach.floor = std::min(reach.floor, part.material.law.floor);
    reach.ceiling = std::max(reach.ceiling, part.material.law.ceiling);
  }
  for (const SizeObservation& o : sizes) {
    FeatureModel f;
    const double held = options.crack_gap_mm ? 0 : held_bore_mm(sizes, o.size_mm);
    f.share =
        part.material.metal ? 0 : share_of_shrinkage(o.kind, o.size_mm, held, part.material.poisson_ratio);
    const auto making = o.u_made_mm ? std::vector<double>(levels, *o.u_made_mm)
                                    : making_sd_per_level(part.material, o.kind, o.size_mm, levels);
    for (const double m : making) f.sd_mm.push_back(std::hypot(m, o.u_mm));
    f.readings = readings_of(o, options);
    if (o.ovality_mm && *o.ovality_mm > 0) f.oval = oval_of(o);
    const auto evidence = evidence_on(o, options);
    if (!evidence) return evidence.error();
    f.evidence_mm = *evidence;
    f.find_candidates(options.grids, reach);
    part.share.push_back(f.share);
    part.making_sd_mm.push_back(making);
    part.model.features.push_back(std::move(f));
  }
  default_subject(sizes, options, part);
  return part;
}

}  // namespace rondure
