#include "sections.hpp"

namespace rondure::record {
namespace {

Json feature_candidates(const OriginalFeature& feature) {
  Json j{{"name", feature.name}, {"candidates", Json::array()}, {"undecided", feature.undecided}};
  for (const SizeCandidate& candidate : feature.candidates) {
    Json one{{"label", candidate.label}};
    put(one, "size_mm", candidate.size_mm);
    put(one, "probability", candidate.probability);
    j["candidates"].push_back(std::move(one));
  }
  return j;
}

OriginalFeature original_feature_from_json(const Object& o) {
  OriginalFeature feature;
  feature.name = o.text("name");
  o.each("candidates", [&](const Object& c) {
    feature.candidates.push_back(
        {c.text("label"), c.needed_number("size_mm"), c.needed_number("probability")});
  });
  feature.undecided = o.flag("undecided").value_or(true);
  return feature;
}

}  // namespace

Json original_to_json(const OriginalResult& r) {
  Json j;
  if (std::isfinite(r.p_metric)) j["unit_system"] = {{"metric", r.p_metric}, {"inch", 1 - r.p_metric}};
  Json shrinkage;
  put(shrinkage, "mean", r.shrinkage_mean);
  put(shrinkage, "interval95", r.shrinkage95);
  put(j, "shrinkage", std::move(shrinkage));
  j["features"] = Json::array();
  for (const OriginalFeature& feature : r.features) j["features"].push_back(feature_candidates(feature));
  j["measure_next"] = Json::array();
  for (const NextMeasurement& next : r.measure_next) {
    Json one{{"what", next.what}};
    put(one, "expected_gain_bits", next.expected_gain_bits);
    j["measure_next"].push_back(std::move(one));
  }
  if (!r.reasons.empty()) j["reasons"] = r.reasons;
  put(j, "warnings", warnings_to_json(r.warnings));
  return j;
}

OriginalResult original_from_json(const Object& o) {
  OriginalResult r;
  if (const auto system = o.object("unit_system")) r.p_metric = system->needed_number("metric");
  if (const auto shrinkage = o.object("shrinkage")) {
    r.shrinkage_mean = shrinkage->needed_number("mean");
    r.shrinkage95 = shrinkage->interval("interval95").value_or(Interval{r.shrinkage_mean, r.shrinkage_mean});
  }
  o.each("features", [&](const Object& f) { r.features.push_back(original_feature_from_json(f)); });
  o.each("measure_next", [&](const Object& m) {
    r.measure_next.push_back({m.text("what"), m.number("expected_gain_bits").value_or(0)});
  });
  if (const Json* reasons = o.array_at("reasons"))
    for (const Json& reason : *reasons) {
      if (!reason.is_string()) o.refuse("reasons", "a list of texts");
      r.reasons.push_back(reason.get<std::string>());
    }
  r.warnings = warnings_from_json(o);
  return r;
}

}  // namespace rondure::record
