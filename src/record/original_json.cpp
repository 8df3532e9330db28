#include "sections.hpp"

namespace rondure::record {
namespace {

Json feature_candidates(const OriginalFeature& feature) {
  Json j{{"name", feature.name}, {"candidates", Json::array()}, {"undecided", feature.undecided}};
  for (const SizeCandidate& candidate : feature.candidates) {
    Json one{{"label", candidate.label}};
    put(one, "size_mm", candidate.size_mm);
    put(one, "probability", candidate.probability);
    one["system"] = std::string(name(candidate.system));
    j["candidates"].push_back(std::move(one));
  }
  put(j, "rest_probability", feature.rest_probability);
  put(j, "kind", feature.kind);
  if (feature.measured_mm > 0) {
    put(j, "measured_mm", feature.measured_mm);
    put(j, "u_mm", feature.u_mm);
    put(j, "u_made_mm", feature.u_made_mm);
    put(j, "share_of_shrinkage", feature.share_of_shrinkage);
    put(j, "unshrunk_mm", feature.unshrunk_mm.value);
    put(j, "u_unshrunk_mm", feature.unshrunk_mm.u);
  }
  put(j, "ovality_mm", feature.ovality_mm);
  for (const ShapeVerdict& shape : feature.shapes) {
    Json one{{"read_as", std::string(name(shape.shape))}};
    put(one, "probability", shape.probability);
    put(one, "implied_mm", shape.implied_mm);
    one["at_least"] = shape.at_least;
    put(one, "best_label", shape.best_label);
    put(one, "best_probability", shape.best_probability);
    j["hypotheses"].push_back(std::move(one));
  }
  return j;
}

ShapeHypothesis shape_from_name(const std::string& text) {
  return parse_shape(text).value_or(ShapeHypothesis::kRound);
}

OriginalFeature original_feature_from_json(const Object& o) {
  OriginalFeature feature;
  feature.name = o.text("name");
  o.each("candidates", [&](const Object& c) {
    feature.candidates.push_back({c.text("label"), c.needed_number("size_mm"), c.needed_number("probability"),
                                  c.text("system") == "inch" ? UnitSystem::kInch : UnitSystem::kMetric});
  });
  feature.undecided = o.flag("undecided").value_or(true);
  feature.kind = o.text("kind");
  feature.rest_probability = o.number("rest_probability").value_or(0);
  feature.measured_mm = o.number("measured_mm").value_or(0);
  feature.u_mm = o.number("u_mm").value_or(0);
  feature.u_made_mm = o.number("u_made_mm").value_or(0);
  feature.share_of_shrinkage = o.number("share_of_shrinkage").value_or(1);
  feature.unshrunk_mm = {o.number("unshrunk_mm").value_or(0), o.number("u_unshrunk_mm").value_or(0)};
  feature.ovality_mm = o.number("ovality_mm");
  o.each("hypotheses", [&](const Object& h) {
    feature.shapes.push_back({shape_from_name(h.text("read_as")), h.number("probability").value_or(0),
                              h.number("implied_mm").value_or(0), h.flag("at_least").value_or(false),
                              h.text("best_label"), h.number("best_probability").value_or(0)});
  });
  return feature;
}

}  // namespace

Json original_to_json(const OriginalResult& r) {
  Json j;
  if (std::isfinite(r.p_metric)) j["unit_system"] = {{"metric", r.p_metric}, {"inch", 1 - r.p_metric}};
  Json shrinkage;
  put(shrinkage, "mean", r.shrinkage_mean);
  put(shrinkage, "interval95", r.shrinkage95);
  put(shrinkage, "source", r.shrinkage_source);
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
  put(j, "about", r.about);
  put(j, "confidence", r.confidence_ratio);
  for (const SizeEvidence& e : r.evidence) {
    Json one{{"feature", e.feature}, {"source", e.source}};
    put(one, "size_mm", e.size_mm.value);
    put(one, "u_mm", e.size_mm.u);
    put(one, "chance", e.chance);
    if (e.left_out) one["left_out"] = true;
    j["evidence"].push_back(std::move(one));
  }
  for (const DriveOutcome& d : r.drive)
    j["drive"].push_back({{"label", d.label}, {"size_mm", d.size_mm}, {"error_ratio", d.error_ratio}});
  put(j, "warnings", warnings_to_json(r.warnings));
  return j;
}

OriginalResult original_from_json(const Object& o) {
  OriginalResult r;
  if (const auto system = o.object("unit_system")) r.p_metric = system->needed_number("metric");
  if (const auto shrinkage = o.object("shrinkage")) {
    r.shrinkage_mean = shrinkage->needed_number("mean");
    r.shrinkage_source = shrinkage->text("source");
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
  r.about = o.text("about");
  r.confidence_ratio = o.number("confidence").value_or(r.confidence_ratio);
  o.each("evidence", [&](const Object& e) {
    r.evidence.push_back({e.text("feature"),
                          {e.needed_number("size_mm"), e.number("u_mm").value_or(0)},
                          e.text("source"),
                          false,
                          e.number("chance"),
                          e.flag("left_out").value_or(false)});
  });
  o.each("drive", [&](const Object& d) {
    r.drive.push_back({d.text("label"), d.needed_number("size_mm"), d.number("error_ratio").value_or(0)});
  });
  r.warnings = warnings_from_json(o);
  return r;
}

}  // namespace rondure::record
