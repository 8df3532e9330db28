#include "rondure/record/one_surface.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "rondure/core/normal_law.hpp"
#include "rondure/core/shown.hpp"

namespace rondure {
namespace {

// A surface of the side view: the diameters that it has.
struct SideSurface {
  const ProfileSegment* segment = nullptr;
  double least_mm = 0, most_mm = 0, u_mm = 0;
};

struct Agreement {
  const Feature* outside = nullptr;
  std::vector<const SideSurface*> with;
};

double u_of(const Feature& f) { return f.circle->u_diameter_mm.value_or(0); }

std::string told(const std::string& name, double mm, double u_mm) {
  return fmt::format("'{}' {}", name,
                     LengthWords().both(mm, u_mm > 0 ? std::optional(u_mm) : std::nullopt, true));
}
std::string told(const Feature& f) { return told(f.name, f.circle->diameter_mm, u_of(f)); }
std::string told(const SideSurface& s) {
  return told(s.segment->name, s.segment->diameter_mm->value, s.segment->diameter_mm->u);
}

std::vector<SideSurface> surfaces_of(const SideProfile& profile) {
  std::vector<SideSurface> out;
  for (const ProfileSegment& s : profile.segments) {
    const bool round = s.kind == SegmentKind::kCylinder || s.kind == SegmentKind::kArc;
    if (!s.diameter_mm || !(round || s.kind == SegmentKind::kTaper)) continue;
    const double end = !round && s.end_diameter_mm ? s.end_diameter_mm->value : s.diameter_mm->value;
    out.push_back(
        {&s, std::min(s.diameter_mm->value, end), std::max(s.diameter_mm->value, end), s.diameter_mm->u});
  }
  return out;
}

// How far beyond the surface's diameters, mm; 0 = among them.
double distance_mm(const Feature& outside, const SideSurface& s) {
  const double d = outside.circle->diameter_mm;
  return std::max({0.0, s.least_mm - d, d - s.most_mm});
}

bool agree(const Feature& outside, const SideSurface& s) {
  return distance_mm(outside, s) <= kNormal95 * std::hypot(u_of(outside), s.u_mm);
}

std::vector<Agreement> agreements(const PartRecord& record, const std::vector<SideSurface>& surfaces) {
  std::vector<Agreement> out;
  const auto seen_from_the_side = [&](const Feature& f) {
    return std::ranges::any_of(surfaces, [&](const SideSurface& s) { return s.segment->name == f.name; });
  };
  for (const Feature& f : record.features) {
    if (!f.circle || f.kind != FeatureKind::kOutside || seen_from_the_side(f)) continue;
    Agreement a{&f, {}};
    for (const SideSurface& s : surfaces)
      if (agree(f, s)) a.with.push_back(&s);
    out.push_back(std::move(a));
  }
  return out;
}

// The surface of the side view that this outside is; null where that is not sure.
const SideSurface* same_as(const Agreement& a, const std::vector<Agreement>& all) {
  if (a.with.size() != 1 || a.with.front()->segment->kind == SegmentKind::kTaper) return nullptr;
  const auto claims = std::ranges::count_if(
      all, [&](const Agreement& b) { return std::ranges::count(b.with, a.with.front()); });
  return claims == 1 ? a.with.front() : nullptr;
}

// The side view's own feature; null when the record has it no more, or as something else.
Feature* feature_of(PartRecord& record, const std::string& name) {
  for (Feature& f : record.features)
    if (f.name == name && f.circle && f.kind == FeatureKind::kOutside) return &f;
  return nullptr;
}

std::string unsure(const Agreement& a, const std::vector<SideSurface>& surfaces, std::string_view done) {
  if (a.with.empty()) {
    const auto nearest = std::ranges::min_element(
        surfaces, {}, [&](const SideSurface& s) { return distance_mm(*a.outside, s); });
    return fmt::format(
        "{} is no surface of the side view, the nearest is {}; both are {}: if they are one, measure "
        "again before you cut",
        told(*a.outside), told(*nearest), done);
  }
  std::string list;
  for (const SideSurface* s : a.with) list += (list.empty() ? "" : " or ") + told(*s);
  return fmt::format(
      "{} may be {} of the side view, which is not sure; all are {}: if it is one of them, measure from "
      "above into a new record with --call '{}=leave out'",
      told(*a.outside), list, done, a.outside->name);
}

// Of the two originals one stays, under the side view's name: that of `better` where it has one.
void join_originals(PartRecord& record, const std::string& better, const std::string& worse,
                    const std::string& name) {
  if (!record.original) return;
  auto& list = record.original->features;
  const auto has = [&](const std::string& one) {
    return std::ranges::count(list, one, &OriginalFeature::name);
  };
  if (has(better)) std::erase_if(list, [&](const OriginalFeature& f) { return f.name == worse; });
  for (OriginalFeature& f : list)
    if (f.name == better || f.name == worse) f.name = name;
  if (record.original->about == better || record.original->about == worse) record.original->about = name;
}

// The size of `from`, and the form of `f` about it.
void take_size(Feature& f, const Feature& from) {
  const double grown_mm = from.circle->diameter_mm - f.circle->diameter_mm;
  f.circle->diameter_mm = from.circle->diameter_mm;
  f.circle->u_diameter_mm = from.circle->u_diameter_mm;
  f.circle->diameter95_mm = from.circle->diameter95_mm;
  f.budget = from.budget;
  const auto move = [&](auto& mm) {
    if (mm) *mm += grown_mm;
  };
  if (f.ellipse) f.ellipse->major_diameter_mm += grown_mm, f.ellipse->minor_diameter_mm += grown_mm;
  if (f.roundness)
    for (auto* circle : {&f.roundness->lsci, &f.roundness->mzci, &f.roundness->mcci, &f.roundness->mici})
      if (*circle) (*circle)->diameter_mm += grown_mm;
  if (f.sizes)
    for (auto* mm : {&f.sizes->gg, &f.sizes->gn, &f.sizes->gx, &f.sizes->cc, &f.sizes->ca, &f.sizes->lp_max,
                     &f.sizes->lp_min})
      move(*mm);
  f.combination.clear(), f.p_readings_agree.reset();
}

// Makes one of two; which one gave the size, in words.
std::string join(PartRecord& record, const Feature& outside, const Feature& side, std::string_view done) {
  constexpr double kUnknown = std::numeric_limits<double>::infinity();
  const bool by_side =
      side.circle->u_diameter_mm.value_or(kUnknown) <= outside.circle->u_diameter_mm.value_or(kUnknown);
  const std::string text =
      fmt::format("{} is the same surface as {}, they agree: {} once, by {}", told(outside), told(side), done,
                  by_side ? "the latter, measured better" : "the former, measured better");
  Feature one = outside;  // with the form that was seen all round
  one.name = side.name;
  if (by_side) take_size(one, side);
  join_originals(record, (by_side ? side : outside).name, (by_side ? outside : side).name, side.name);
  // Where the first of the two stood: the first outside of the record is the running surface.
  auto& list = record.features;
  const auto at = [&](const std::string& name) { return std::ranges::find(list, name, &Feature::name); };
  const auto a = at(outside.name), b = at(side.name);
  *std::min(a, b) = std::move(one);
  list.erase(std::max(a, b));
  return text;
}

}  // namespace

SurfacesOnce surfaces_once(const PartRecord& record, std::string_view done) {
  SurfacesOnce once{record, {}, {}};
  if (!record.profile) return once;
  const std::vector<SideSurface> surfaces = surfaces_of(*record.profile);
  if (surfaces.empty()) return once;
  const std::vector<Agreement> all = agreements(record, surfaces);
  for (const Agreement& a : all) {
    const SideSurface* same = same_as(a, all);
    const Feature* side = same ? feature_of(once.record, same->segment->name) : nullptr;
    if (!side) {
      once.notes.push_back({"alike-features", unsure(a, surfaces, done)});
      continue;
    }
    once.shared.push_back({side->name, a.outside->name});
    once.notes.push_back({"names-differ", join(once.record, *a.outside, Feature(*side), done)});
  }
  return once;
}

}  // namespace rondure
