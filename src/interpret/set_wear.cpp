#include "rondure/interpret/set_wear.hpp"

#include <algorithm>
#include <cmath>

#include "rondure/core/normal_law.hpp"
#include "rondure/fit/distributions.hpp"

namespace rondure {
namespace {

Error refused(const std::string& what) { return {ErrorCode::kBadArgument, what}; }

const SizeObservation* find(const SetPart& part, const std::string& feature) {
  for (const SizeObservation& o : part.sizes)
    if (o.name == feature) return &o;
  return nullptr;
}

// Those that have the surface; the others' names go into `left_out`.
Result<std::vector<SetPart>> with_feature(const std::vector<SetPart>& parts, const std::string& feature,
                                          std::vector<std::string>& left_out) {
  std::vector<SetPart> found;
  for (const SetPart& p : parts) {
    const SizeObservation* o = find(p, feature);
    if (!o) {
      left_out.push_back(p.name);
      continue;
    }
    if (!o->kind.is_running_surface())
      return refused("found '" + feature + "' of '" + p.name + "' as " + std::string(o->kind.word()) +
                     ", needed an outside or a bore: only those wear round");
    found.push_back(p);
  }
  if (found.size() < 2)
    return refused("found '" + feature + "' in " + (found.empty() ? "no part" : "one part") +
                   ", needed it in at least two parts: nothing is common to compare by");
  return found;
}

Result<void> check_alike(const std::vector<SetPart>& parts, const std::string& feature, bool told_alike) {
  const double most = told_alike ? kWornToldSpread : kWornSetSpread;
  double lo = INFINITY, hi = 0;
  for (const SetPart& p : parts)
    lo = std::min(lo, find(p, feature)->size_mm), hi = std::max(hi, find(p, feature)->size_mm);
  if (hi - lo <= most * hi) return {};
  char text[240];
  std::snprintf(
      text, sizeof text,
      "found '%.40s' of %.3f to %.3f mm, needed parts of one drawing (within %.0f %%): nothing is common to "
      "compare by%s",
      feature.c_str(), lo, hi, 100 * most,
      told_alike ? "" : "; if they were equal once, say so by --same-drawing");
  return refused(text);
}

Estimate of_interval(double mean, const Interval& interval95) {
  return {mean, interval95.width() / (2 * kNormal95)};
}

// The shrinkage of every part as everything but the surface tells it.
Result<std::vector<Estimate>> shrinkages(const std::vector<SetPart>& parts, const std::string& feature,
                                         const SetOptions& options, std::string& source) {
  std::vector<SetPart> rest;
  std::vector<std::size_t> place(parts.size(), SIZE_MAX);
  for (std::size_t p = 0; p < parts.size(); ++p) {
    SetPart other = parts[p];
    std::erase_if(other.sizes, [&](const SizeObservation& o) { return o.name == feature; });
    std::erase_if(other.options.evidence, [&](const SizeEvidence& e) { return e.feature == feature; });
    std::erase(other.options.may_be_worn, feature);
    if (other.options.about == feature) other.options.about.clear();
    const bool tells = std::ranges::any_of(
        other.sizes, [](const SizeObservation& o) { return o.kind.shrinks_with_the_plastic(); });
    if (!tells) continue;
    place[p] = rest.size();
    rest.push_back(std::move(other));
  }
  source = rest.empty() ? "the material alone" : "their other sizes";
  SetOptions without = options;
  without.same_drawing.clear();
  without.ties.clear();
  without.each_without = false;
  if (options.on_progress) without.on_progress = [&](double ratio) { options.on_progress(0.5 * ratio); };
  std::vector<Estimate> own(rest.size());
  std::optional<Estimate> further;
  if (rest.size() >= 2) {
    const auto set = infer_set(rest, without);
    if (!set) return set.error();
    for (std::size_t i = 0; i < rest.size(); ++i)
      own[i] = of_interval(set->parts[i].original.shrinkage_mean, set->parts[i].original.shrinkage95);
    further = of_interval(set->shrinkage_mean, set->shrinkage95);
  } else if (rest.size() == 1) {
    const auto alone = infer_original(rest[0].sizes, rest[0].options);
    if (!alone) return alone.error();
    own[0] = of_interval(alone->shrinkage_mean, alone->shrinkage95);
  }
  std::vector<Estimate> s;
  for (std::size_t p = 0; p < parts.size(); ++p) {
    if (place[p] != SIZE_MAX) {
      s.push_back(own[place[p]]);
      continue;
    }
    if (further) {
      s.push_back(*further);
    } else if (parts[p].options.shrinkage) {
      s.push_back(*parts[p].options.shrinkage);
    } else {
      const ShrinkageLaw law = find_ageing_material(parts[p].options.material).law;
      s.push_back({law.mean(), law.sd()});
    }
  }
  return s;
}

// That the part misses more than every other, what all share left out.
void find_chances(SetWear& wear) {
  double lo = INFINITY, hi = -INFINITY, least_u = INFINITY;
  for (const PartWear& p : wear.parts) {
    const double u = std::max(1e-6, std::hypot(p.u_mm, p.unworn_mm.u));
    lo = std::min(lo, p.missing_mm.value - 8 * u);
    hi = std::max(hi, p.missing_mm.value + 8 * u);
    least_u = std::min(least_u, u);
  }
  const double step = std::max(least_u / 4, (hi - lo) / 20000);
  for (PartWear& p : wear.parts) {
    const double u = std::max(1e-6, std::hypot(p.u_mm, p.unworn_mm.u));
    double sum = 0;
    for (double x = lo; x <= hi; x += step) {
      double chance = normal_density((x - p.missing_mm.value) / u) / u * step;
      for (const PartWear& other : wear.parts)
        if (&other != &p)
          chance *= normal_cdf((x - other.missing_mm.value) /
                               std::max(1e-6, std::hypot(other.u_mm, other.unworn_mm.u)));
      sum += chance;
    }
    p.chance_most = std::min(1.0, sum);
  }
  std::ranges::sort(wear.parts, [](const PartWear& a, const PartWear& b) {
    return a.missing_mm.value > b.missing_mm.value;
  });
}

}  // namespace

Result<SetWear> wear_of_set(std::vector<SetPart> asked, const std::string& feature,
                            const SetOptions& options) {
  SetWear wear;
  wear.feature = feature;
  auto found = with_feature(asked, feature, wear.left_out);
  if (!found) return found.error();
  std::vector<SetPart>& parts = *found;
  const bool told_alike = std::ranges::count(options.same_drawing, feature) > 0;
  if (const auto ok = check_alike(parts, feature, told_alike); !ok) return ok.error();
  const auto s = shrinkages(parts, feature, options, wear.shrinkage_source);
  if (!s) return s.error();
  SetOptions together = options;
  together.same_drawing = {feature};
  together.each_without = false;
  if (options.on_progress)
    together.on_progress = [&](double ratio) { options.on_progress(0.5 + 0.5 * ratio); };
  for (SetPart& p : parts) {
    p.options.suggest = false;
    p.options.about = feature;
    if (std::ranges::find(p.options.may_be_worn, feature) == p.options.may_be_worn.end())
      p.options.may_be_worn.push_back(feature);
  }
  const auto set = infer_set(parts, together);
  if (!set) return set.error();
  // Each part's posterior is that of the common size, but for parts that do not belong: the likeliest of all to.
  const auto belongs =
      std::ranges::min_element(set->parts, {}, [](const SetPartResult& p) { return p.chance_odd(); });
  std::size_t about = 0;
  while (belongs->original.features[about].name != feature) ++about;
  const auto& candidates = belongs->original.features[about].candidates;
  double mass = 0, mean = 0, square = 0;
  for (const SizeCandidate& c : candidates) mass += c.probability, mean += c.probability * c.size_mm;
  mean /= mass;
  for (const SizeCandidate& c : candidates)
    square += c.probability / mass * (c.size_mm - mean) * (c.size_mm - mean);
  const bool decided = !belongs->original.features[about].undecided;
  wear.drawn = {candidates.front().label, candidates.front().size_mm, candidates.front().probability};
  wear.u_drawn_mm = decided ? 0 : std::sqrt(square);
  const double drawn = decided ? wear.drawn.size_mm : mean;
  for (std::size_t p = 0; p < parts.size(); ++p) {
    const SizeObservation& o = *find(parts[p], feature);
    const auto of = std::ranges::find(set->parts[p].original.features, feature, &OriginalFeature::name);
    const double g = of->share_of_shrinkage;
    PartWear one{parts[p].name, o.size_mm, o.u_mm, {}, {}, 0};
    one.unworn_mm = {drawn * (1 - g * (*s)[p].value), std::hypot(of->u_made_mm, drawn * g * (*s)[p].u)};
    one.missing_mm.value = (o.kind == "bore" ? -1 : 1) * (one.unworn_mm.value - o.size_mm);
    one.missing_mm.u = std::hypot(std::hypot(o.u_mm, one.unworn_mm.u), wear.u_drawn_mm);
    wear.parts.push_back(std::move(one));
  }
  find_chances(wear);
  return wear;
}

Result<SetWear> wear_against_plan(const std::vector<SetPart>& asked, const std::string& feature,
                                  const std::map<std::string, double>& target_mm) {
  SetWear wear;
  wear.feature = feature;
  wear.against_plan = true;
  wear.shrinkage_source = "the plan";
  auto found = with_feature(asked, feature, wear.left_out);
  if (!found) return found.error();
  for (const SetPart& p : *found) {
    const auto target = target_mm.find(p.name);
    if (target == target_mm.end()) {
      wear.left_out.push_back(p.name);
      continue;
    }
    const SizeObservation& o = *find(p, feature);
    PartWear one{p.name, o.size_mm, o.u_mm, {target->second, 0}, {}, 0};
    one.missing_mm = {(o.kind == "bore" ? -1 : 1) * (target->second - o.size_mm), o.u_mm};
    wear.parts.push_back(std::move(one));
  }
  if (wear.parts.size() < 2)
    return refused("found a planned size of '" + feature + "' in " +
                   (wear.parts.empty() ? "no record" : "one record") + ", needed one in at least two");
  find_chances(wear);
  return wear;
}

}  // namespace rondure
