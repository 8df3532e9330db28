#include "rondure/record/comparison_json.hpp"

#include "json/text.hpp"
#include "sections.hpp"

namespace rondure {
namespace {

using namespace record;

Json before_and_after(const std::optional<double>& a_mm, const std::optional<double>& b_mm) {
  Json j;
  put(j, "a_mm", a_mm);
  put(j, "b_mm", b_mm);
  return j;
}

Json planned_json(const PlannedLimits& planned) {
  Json j;
  put(j, "target_mm", planned.target_mm);
  put(j, "lower_mm", planned.limits.lower_mm);
  put(j, "upper_mm", planned.limits.upper_mm);
  return j;
}

Json harmonics_json(const std::vector<HarmonicChange>& changes) {
  Json list = Json::array();
  for (const HarmonicChange& h : changes) {
    Json j{{"upr", h.upr}};
    put(j, "a_mm", h.before_mm);
    put(j, "b_mm", h.after_mm);
    put(j, "difference_mm", h.amplitude_mm);
    put(j, "phase_deg", h.phase_deg);
    put(j, "u_mm", h.u_mm);
    if (h.u_mm) j["shown"] = h.shown;
    list.push_back(std::move(j));
  }
  return list;
}

Json wear_json(const SurfaceWear& w) {
  Json j{{"name", w.name}};
  put(j, "radius_difference_mm", w.mean_mm.value);
  put(j, "u_radius_difference_mm", w.mean_mm.u);
  put(j, "deepest_mm", w.deepest_mm.value);
  put(j, "u_deepest_mm", w.deepest_mm.u);
  put(j, "deepest_at_mm", w.deepest_at_mm);
  j["worn"] = w.worn;
  for (const auto& p : w.difference) j["points"].push_back({p.x(), p.y()});
  return j;
}

Json feature_json(const FeatureComparison& f) {
  Json j{{"name", f.name}};
  put(j, "kind", std::string(f.kind.word()));
  put(j, "a_mm", f.a_mm);
  put(j, "u_a_mm", f.u_a_mm);
  put(j, "b_mm", f.b_mm);
  put(j, "u_b_mm", f.u_b_mm);
  put(j, "difference_mm", f.difference_mm);
  put(j, "u_difference_mm", f.u_difference_mm);
  put(j, "interval95_mm", f.difference95_mm);
  for (const UncertaintySource source : f.shared) j["shared"].push_back(name(source));
  if (f.change) j["change"] = name(*f.change);
  if (f.planned) put(j, "planned", planned_json(*f.planned));
  if (f.decision) {
    j["verdict"] = words(f.decision->verdict);
    put(j, "guard_mm", f.decision->guard_mm);
    put(j, "probability_within", f.decision->probability_within);
  }
  if (f.shrinkage_ratio) {
    Json s;
    put(s, "mean", f.shrinkage_ratio->value);
    put(s, "u", f.shrinkage_ratio->u);
    put(j, "shrinkage", std::move(s));
  }
  put(j, "ovality", before_and_after(f.ovality_a_mm, f.ovality_b_mm));
  put(j, "RONt", before_and_after(f.ront_a_mm, f.ront_b_mm));
  put(j, "harmonics", harmonics_json(f.harmonics));
  return j;
}

Json shrinkage_json(const CommonShrinkage& s) {
  Json j;
  put(j, "mean", s.ratio.value);
  put(j, "u", s.ratio.u);
  put(j, "interval95", s.ratio95);
  j["features"] = s.features;
  put(j, "p_alike", s.p_alike);
  return j;
}

}  // namespace

std::string words(Conformity verdict) {
  switch (verdict) {
    case Conformity::kWithin:
      return "within";
    case Conformity::kOutside:
      return "outside";
    case Conformity::kCannotTell:
      return "cannot tell";
  }
  return "cannot tell";
}

std::string comparison_json(const Comparison& c, const std::string& file_a, const std::string& file_b,
                            const std::vector<SurfaceWear>& surfaces) {
  Json j{
      {"format", "rondure-comparison"}, {"version", 1}, {"a", {{"file", file_a}}}, {"b", {{"file", file_b}}}};
  j["features"] = Json::array();
  for (const FeatureComparison& f : c.features) j["features"].push_back(feature_json(f));
  if (c.shrinkage) put(j, "shrinkage", shrinkage_json(*c.shrinkage));
  if (c.turn_rad) put(j, "turn_deg", deg(*c.turn_rad));
  for (const SurfaceWear& w : surfaces) j["profile"].push_back(wear_json(w));
  if (!c.only_in_a.empty()) j["only_in_a"] = c.only_in_a;
  if (!c.only_in_b.empty()) j["only_in_b"] = c.only_in_b;
  put(j, "warnings", warnings_to_json(c.warnings));
  return print_document(j);
}

}  // namespace rondure
