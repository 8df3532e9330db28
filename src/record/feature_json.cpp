#include <algorithm>

#include "rondure/interpret/part_name.hpp"
#include "sections.hpp"

namespace rondure::record {
namespace {

Json source_to_json(const FeatureSource& source) {
  Json j;
  put(j, "type", source.type);
  put(j, "file", source.file);
  put(j, "sha256", source.sha256);
  put(j, "calibration", source.calibration);
  put(j, "time", source.time);
  put(j, "calibration_sha256", source.calibration_sha256);
  return j;
}

FeatureSource source_from_json(const Object& o) {
  return {o.text("type"),        o.text("file"), o.text("sha256"),
          o.text("calibration"), o.text("time"), o.text("calibration_sha256")};
}

Json points_to_json(const PointsSummary& points) {
  if (points.count <= 0) return {};
  Json j{{"count", points.count}, {"used", points.used}};
  put(j, "coverage_deg", points.coverage_deg);
  return j;
}

PointsSummary points_from_json(const Object& o) {
  const int count = o.integer("count").value_or(0);
  return {count, o.integer("used").value_or(count), o.number("coverage_deg").value_or(0)};
}

Json circle_to_json(const CircleResult& c) {
  if (!std::isfinite(c.diameter_mm)) return {};
  Json j;
  put(j, "diameter_mm", c.diameter_mm);
  put(j, "u_diameter_mm", c.u_diameter_mm);
  put(j, "center_mm", c.center);
  put(j, "rms_mm", c.rms_mm);
  put(j, "interval95_mm", c.diameter95_mm);
  return j;
}

CircleResult circle_from_json(const Object& o) {
  CircleResult c;
  c.diameter_mm = o.needed_number("diameter_mm");
  c.u_diameter_mm = o.number("u_diameter_mm");
  c.center = o.point("center_mm").value_or(PartPoint{});
  c.rms_mm = o.number("rms_mm").value_or(0);
  c.diameter95_mm = o.interval("interval95_mm");
  return c;
}

Json ellipse_to_json(const EllipseResult& e) {
  if (!std::isfinite(e.major_diameter_mm) || !std::isfinite(e.minor_diameter_mm)) return {};
  Json j;
  put(j, "major_diameter_mm", e.major_diameter_mm);
  put(j, "minor_diameter_mm", e.minor_diameter_mm);
  put(j, "major_angle_deg", e.major_angle_deg);
  put(j, "center_mm", e.center);
  put(j, "ovality_mm", e.ovality_mm);
  put(j, "u_ovality_mm", e.u_ovality_mm);
  put(j, "ovality_interval95_mm", e.ovality95_mm);
  put(j, "p_round", e.p_round);
  return j;
}

EllipseResult ellipse_from_json(const Object& o) {
  EllipseResult e;
  e.major_diameter_mm = o.needed_number("major_diameter_mm");
  e.minor_diameter_mm = o.needed_number("minor_diameter_mm");
  e.major_angle_deg = o.number("major_angle_deg");
  e.center = o.point("center_mm").value_or(PartPoint{});
  e.ovality_mm = o.number("ovality_mm").value_or(e.major_diameter_mm - e.minor_diameter_mm);
  e.u_ovality_mm = o.number("u_ovality_mm");
  e.ovality95_mm = o.interval("ovality_interval95_mm");
  e.p_round = o.number("p_round");
  return e;
}

struct NamedReferenceCircle {
  const char* key;
  std::optional<ReferenceCircleResult> RoundnessResult::*member;
};
constexpr NamedReferenceCircle kReferenceCircles[] = {{"LSCI", &RoundnessResult::lsci},
                                                      {"MZCI", &RoundnessResult::mzci},
                                                      {"MCCI", &RoundnessResult::mcci},
                                                      {"MICI", &RoundnessResult::mici}};

Json roundness_to_json(const RoundnessResult& r) {
  Json j;
  for (const auto& [key, member] : kReferenceCircles) {
    const auto& circle = r.*member;
    if (!circle || !std::isfinite(circle->ront_mm)) continue;
    Json one;
    put(one, "RONt_mm", circle->ront_mm);
    put(one, "diameter_mm", circle->diameter_mm);
    put(one, "center_mm", circle->center);
    j[key] = std::move(one);
  }
  put(j, "noise_floor_mm", r.noise_floor_mm);
  if (!r.filtered.empty()) {
    Json list = Json::array();
    for (const FilteredRoundness& f : r.filtered) list.push_back({{"cutoff_upr", f.cutoff_upr}, {"RONt_mm", f.ront_mm}});
    j["filtered"] = std::move(list);
  }
  return j;
}

RoundnessResult roundness_from_json(const Object& o) {
  RoundnessResult r;
  for (const auto& [key, member] : kReferenceCircles)
    if (const auto one = o.object(key))
      r.*member = ReferenceCircleResult{one->needed_number("RONt_mm"), one->number("diameter_mm").value_or(0),
                                        one->point("center_mm").value_or(PartPoint{})};
  r.noise_floor_mm = o.number("noise_floor_mm");
  o.each("filtered", [&](const Object& f) {
    r.filtered.push_back({f.integer("cutoff_upr").value_or(0), f.needed_number("RONt_mm")});
  });
  return r;
}

struct NamedSize {
  const char* key;
  std::optional<double> SizesResult::*member;
};
constexpr NamedSize kSizes[] = {{"GG_mm", &SizesResult::gg},        {"GN_mm", &SizesResult::gn},
                                {"GX_mm", &SizesResult::gx},        {"CC_mm", &SizesResult::cc},
                                {"CA_mm", &SizesResult::ca},        {"LP_SX_mm", &SizesResult::lp_max},
                                {"LP_SN_mm", &SizesResult::lp_min}, {"LP_SR_mm", &SizesResult::lp_range}};

Json sizes_to_json(const SizesResult& s) {
  Json j;
  for (const auto& [key, member] : kSizes) put(j, key, s.*member);
  return j;
}

SizesResult sizes_from_json(const Object& o) {
  SizesResult s;
  for (const auto& [key, member] : kSizes) s.*member = o.number(key);
  return s;
}

Json harmonics_to_json(const std::vector<HarmonicResult>& harmonics) {
  Json list = Json::array();
  for (const HarmonicResult& h : harmonics) {
    if (!std::isfinite(h.amplitude_mm) || !std::isfinite(h.phase_deg)) continue;
    Json j{{"upr", h.upr}, {"amplitude_mm", h.amplitude_mm}, {"phase_deg", h.phase_deg}};
    put(j, "u_amplitude_mm", h.u_amplitude_mm);
    list.push_back(std::move(j));
  }
  return list;
}

HarmonicResult harmonic_from_json(const Object& o) {
  HarmonicResult h;
  h.upr = o.integer("upr").value_or(0);
  if (h.upr < 1) o.refuse("upr", "a whole number 'upr' of 1 or more");
  h.amplitude_mm = o.needed_number("amplitude_mm");
  h.phase_deg = o.needed_number("phase_deg");
  h.u_amplitude_mm = o.number("u_amplitude_mm");
  return h;
}

Json excluded_to_json(const std::vector<ExcludedSector>& sectors) {
  Json list = Json::array();
  for (const ExcludedSector& s : sectors) {
    Json j;
    put(j, "from_deg", s.from_deg);
    put(j, "to_deg", s.to_deg);
    put(j, "height_mm", s.height_mm);
    j["points"] = s.points;
    if (!s.lines.empty()) j["lines"] = s.lines;
    list.push_back(std::move(j));
  }
  return list;
}

ExcludedSector excluded_from_json(const Object& o) {
  ExcludedSector s{o.number("from_deg").value_or(0),
                   o.number("to_deg").value_or(0),
                   o.number("height_mm").value_or(0),
                   o.integer("points").value_or(0),
                   {}};
  if (const Json* lines = o.array_at("lines"))
    for (std::size_t i = 0; i < lines->size(); ++i)
      s.lines.push_back(integer_in((*lines)[i], o.pointer_to("lines") + "/" + std::to_string(i)));
  return s;
}

Json budget_to_json(const std::vector<BudgetLine>& budget) {
  Json list = Json::array();
  for (const BudgetLine& line : budget) {
    Json j{{"source", line.source}};
    put(j, "u_mm", line.u_mm);
    list.push_back(std::move(j));
  }
  return list;
}

Json combination_to_json(const std::vector<CombinedReading>& readings) {
  Json list = Json::array();
  for (const CombinedReading& r : readings) {
    Json j{{"source", r.source}};
    put(j, "radius_mm", r.radius_mm);
    put(j, "u_radius_mm", r.u_radius_mm);
    put(j, "weight", r.weight);
    list.push_back(std::move(j));
  }
  return list;
}

// One array of three columns would be shorter; objects stay readable and can grow.
Json profile_to_json(const std::vector<ProfilePoint>& profile) {
  Json list = Json::array();
  for (const ProfilePoint& p : profile) {
    if (!std::isfinite(p.angle_deg) || !std::isfinite(p.deviation_mm)) continue;
    Json j{{"angle_deg", p.angle_deg}, {"deviation_mm", p.deviation_mm}};
    if (!p.used) j["used"] = false;
    list.push_back(std::move(j));
  }
  return list;
}

std::optional<std::array<double, 6>> affine_from_json(const Object& o, const char* key) {
  const Json* rows = o.array_at(key);
  if (!rows) return std::nullopt;
  if (rows->size() != 6) o.refuse(key, "six numbers (2 rows of 3)");
  std::array<double, 6> map{};
  for (std::size_t i = 0; i < 6; ++i)
    map[i] = number_in((*rows)[i], o.pointer_to(key) + "/" + std::to_string(i));
  return map;
}

}  // namespace

Json warnings_to_json(const std::vector<Warning>& warnings) {
  Json list = Json::array();
  for (const Warning& w : warnings) list.push_back({{"code", w.code}, {"text", w.text}});
  return list;
}

std::vector<Warning> warnings_from_json(const Object& parent) {
  std::vector<Warning> warnings;
  parent.each("warnings", [&](const Object& o) { warnings.push_back({o.text("code"), o.text("text")}); });
  return warnings;
}

Json feature_to_json(const Feature& f) {
  Json j = Json::object();
  put(j, "name", f.name);
  put(j, "kind", f.kind);
  if (const int part = part_number_of(f.name); part > 0) j["part_number"] = part;
  put(j, "source", source_to_json(f.source));
  put(j, "points", points_to_json(f.points));
  if (f.circle) put(j, "circle", circle_to_json(*f.circle));
  if (f.ellipse) put(j, "ellipse", ellipse_to_json(*f.ellipse));
  if (f.roundness) put(j, "roundness", roundness_to_json(*f.roundness));
  if (f.sizes) put(j, "sizes", sizes_to_json(*f.sizes));
  put(j, "harmonics", harmonics_to_json(f.harmonics));
  put(j, "excluded", excluded_to_json(f.excluded));
  put(j, "budget", budget_to_json(f.budget));
  if (!f.combination.empty()) put(j, "combination", combination_to_json(f.combination));
  put(j, "p_readings_agree", f.p_readings_agree);
  put(j, "verdict", f.verdict);
  if (f.verdict_upr) j["verdict_upr"] = *f.verdict_upr;
  put(j, "warnings", warnings_to_json(f.warnings));
  if (f.pixel_from_part && std::ranges::all_of(*f.pixel_from_part, [](double v) { return std::isfinite(v); }))
    j["pixel_from_part"] = *f.pixel_from_part;
  put(j, "profile", profile_to_json(f.profile));
  return j;
}

Feature feature_from_json(const Object& o) {
  Feature f;
  f.name = o.text("name");
  f.kind = o.text("kind");
  if (const auto source = o.object("source")) f.source = source_from_json(*source);
  if (const auto points = o.object("points")) f.points = points_from_json(*points);
  if (const auto circle = o.object("circle")) f.circle = circle_from_json(*circle);
  if (const auto ellipse = o.object("ellipse")) f.ellipse = ellipse_from_json(*ellipse);
  if (const auto roundness = o.object("roundness")) f.roundness = roundness_from_json(*roundness);
  if (const auto sizes = o.object("sizes")) f.sizes = sizes_from_json(*sizes);
  o.each("harmonics", [&](const Object& h) { f.harmonics.push_back(harmonic_from_json(h)); });
  o.each("excluded", [&](const Object& s) { f.excluded.push_back(excluded_from_json(s)); });
  o.each("budget", [&](const Object& b) {
    f.budget.push_back({b.text("source"), b.number("u_mm").value_or(0)});
  });
  o.each("combination", [&](const Object& r) {
    f.combination.push_back({r.text("source"), r.number("radius_mm").value_or(0), r.number("u_radius_mm").value_or(0),
                             r.number("weight").value_or(0)});
  });
  f.p_readings_agree = o.number("p_readings_agree");
  f.verdict = o.text("verdict");
  f.verdict_upr = o.integer("verdict_upr");
  f.warnings = warnings_from_json(o);
  f.pixel_from_part = affine_from_json(o, "pixel_from_part");
  o.each("profile", [&](const Object& p) {
    f.profile.push_back(
        {p.needed_number("angle_deg"), p.needed_number("deviation_mm"), p.flag("used").value_or(true)});
  });
  return f;
}

}  // namespace rondure::record
