// The plan as the record's object "replacement". One list of fields serves writing and reading.
#include <cmath>
#include <nlohmann/json.hpp>

#include "rondure/plan/replacement_plan.hpp"

namespace rondure::plan {
namespace {

using Json = nlohmann::ordered_json;

struct Writer;
struct Reader;
template <class Io, class T>
void fields(Io& io, T& value);

struct Damage {
  std::string what;
};

// Values that are absent, empty or not finite leave no key.
struct Writer {
  Json out = Json::object();

  void operator()(const char* key, const double& v) {
    if (std::isfinite(v)) out[key] = v;
  }
  void operator()(const char* key, const int& v) { out[key] = v; }
  void operator()(const char* key, const bool& v) { out[key] = v; }
  void operator()(const char* key, const std::string& v) {
    if (!v.empty()) out[key] = v;
  }
  void operator()(const char* key, const std::vector<std::string>& v) {
    if (!v.empty()) out[key] = v;
  }
  void operator()(const char* key, const Interval& v) {
    if (std::isfinite(v.lo) && std::isfinite(v.hi)) out[key] = {v.lo, v.hi};
  }
  void operator()(const char* key, const FormToolCase& v) {
    out[key] = v == FormToolCase::kSection ? "section" : "projection";
  }
  template <class T>
  void operator()(const char* key, const std::optional<T>& v) {
    if (v) (*this)(key, *v);
  }
  template <class T>
  void operator()(const char* key, const std::vector<T>& v) {
    if (v.empty()) return;
    Json list = Json::array();
    for (const T& one : v) list.push_back(object(one));
    out[key] = std::move(list);
  }
  template <class T>
  void operator()(const char* key, const T& v) {
    out[key] = object(v);
  }
  template <class T>
  static Json object(const T& v) {
    Writer inner;
    fields(inner, const_cast<T&>(v));
    return std::move(inner.out);
  }
};

struct Reader {
  const Json& in;

  const Json* at(const char* key) const {
    const auto found = in.find(key);
    return found == in.end() || found->is_null() ? nullptr : &*found;
  }
  [[noreturn]] static void refuse(const char* key, const char* needed) {
    throw Damage{std::string("replacement: ") + key + " is not " + needed};
  }
  void operator()(const char* key, double& v) const {
    if (const Json* j = at(key)) v = j->is_number() ? j->get<double>() : (refuse(key, "a number"), 0.0);
  }
  void operator()(const char* key, int& v) const {
    if (const Json* j = at(key))
      v = j->is_number_integer() ? j->get<int>() : (refuse(key, "a whole number"), 0);
  }
  void operator()(const char* key, bool& v) const {
    if (const Json* j = at(key)) v = j->is_boolean() ? j->get<bool>() : (refuse(key, "true or false"), false);
  }
  void operator()(const char* key, std::string& v) const {
    if (const Json* j = at(key))
      v = j->is_string() ? j->get<std::string>() : (refuse(key, "a text"), std::string());
  }
  void operator()(const char* key, std::vector<std::string>& v) const {
    const Json* j = at(key);
    if (!j) return;
    if (!j->is_array()) refuse(key, "a list");
    for (const Json& one : *j)
      v.push_back(one.is_string() ? one.get<std::string>() : (refuse(key, "a list of texts"), ""));
  }
  void operator()(const char* key, Interval& v) const {
    const Json* j = at(key);
    if (!j) return;
    if (!j->is_array() || j->size() != 2 || !(*j)[0].is_number() || !(*j)[1].is_number())
      refuse(key, "a pair of numbers");
    v = {(*j)[0].get<double>(), (*j)[1].get<double>()};
  }
  void operator()(const char* key, FormToolCase& v) const {
    const Json* j = at(key);
    if (!j) return;
    if (*j != "section" && *j != "projection") refuse(key, "section or projection");
    v = *j == "section" ? FormToolCase::kSection : FormToolCase::kProjection;
  }
  template <class T>
  void operator()(const char* key, std::optional<T>& v) const {
    if (!at(key)) return;
    v.emplace();
    (*this)(key, *v);
  }
  template <class T>
  void operator()(const char* key, std::vector<T>& v) const {
    const Json* j = at(key);
    if (!j) return;
    if (!j->is_array()) refuse(key, "a list");
    for (const Json& one : *j) {
      v.emplace_back();
      read(key, one, v.back());
    }
  }
  template <class T>
  void operator()(const char* key, T& v) const {
    if (const Json* j = at(key)) read(key, *j, v);
  }
  template <class T>
  static void read(const char* key, const Json& j, T& v) {
    if (!j.is_object()) refuse(key, "an object");
    Reader inner{j};
    fields(inner, v);
  }
};

template <class Io>
void list(Io& io, Estimate& v) {
  io("value_mm", v.value), io("u_mm", v.u);
}
template <class Io>
void list(Io& io, Warning& v) {
  io("code", v.code), io("text", v.text);
}
template <class Io>
void list(Io& io, PlannedSize& v) {
  io("name", v.name), io("kind", v.kind), io("target_mm", v.target_mm), io("lower_mm", v.lower_mm);
  io("upper_mm", v.upper_mm), io("intended_mm", v.intended_mm), io("tolerance", v.tolerance),
      io("basis", v.basis);
  io("original_label", v.original_label), io("probability", v.probability), io("old_mm", v.old_mm);
  io("u_old_mm", v.u_old_mm), io("run_out_mm", v.run_out_mm), io("roundness_mm", v.roundness_mm);
}
template <class Io>
void list(Io& io, HubStress& v) {
  io("interference_mm", v.interference_mm), io("pressure_MPa", v.pressure_MPa), io("hoop_MPa", v.hoop_MPa);
  io("von_mises_MPa", v.von_mises_MPa), io("hoop_strain_ratio", v.hoop_strain_ratio);
  io("growth_outside_mm", v.growth_outside_mm);
}
template <class Io>
void list(Io& io, FitChance& v) {
  io("interference_mm", v.interference_mm), io("mean_interference_mm", v.mean_interference_mm);
  io("p_loose", v.p_loose), io("p_below", v.p_below), io("p_above", v.p_above);
}
template <class Io>
void list(Io& io, PressFitResult& v) {
  io("least", v.least), io("mean", v.mean), io("most", v.most), io("yield_margin", v.yield_margin);
  io("strain_margin", v.strain_margin), io("holding_interference_mm", v.holding_interference_mm);
  io("holding_force_N", v.holding_force_N), io("holding_torque_Nmm", v.holding_torque_Nmm);
  io("left_1000h_ratio", v.left_1000h_ratio), io("loss_per_40K_mm", v.loss_per_40K_mm);
}
template <class Io>
void list(Io& io, ShaftFit& v) {
  io("text", v.text), io("kind", v.kind), io("shaft", v.shaft_mm), io("shaft_measured", v.shaft_measured);
  io("bore_target_mm", v.bore_target_mm), io("bore_limits_mm", v.bore_limits_mm);
  io("wanted_interference_mm", v.wanted_interference_mm), io("chance", v.chance), io("press", v.press);
  io("notes", v.notes);
}
template <class Io>
void list(Io& io, SpeedHarmonic& v) {
  io("per_turn", v.per_turn), io("amplitude_ratio", v.amplitude_ratio);
}
template <class Io>
void list(Io& io, SpeedRow& v) {
  io("what", v.what), io("running_diameter_mm", v.running_diameter_mm),
      io("mean_error_ratio", v.mean_error_ratio);
  io("peak_ratio", v.peak_ratio), io("audible_ratio", v.audible_ratio), io("harmonics", v.harmonics);
  io("eccentricity_known", v.eccentricity_known);
}
template <class Io>
void list(Io& io, SpeedPlan& v) {
  io("surface", v.surface), io("intended_mm", v.intended_mm), io("belt_thickness_mm", v.belt_thickness_mm);
  io("turns_hz", v.turns_hz), io("rows", v.rows);
}
template <class Io>
void list(Io& io, WantedRadius& v) {
  io("name", v.name), io("radius", v.radius_mm), io("width_mm", v.width_mm);
}
template <class Io>
void list(Io& io, ToolChoice& v) {
  io("tool", v.tool), io("radius_mm", v.radius_mm), io("edge_error_mm", v.edge_error_mm);
  io("best_error_mm", v.best_error_mm), io("within_measurement", v.within_measurement);
  io("abrasive_sheet", v.abrasive_sheet);
}
template <class Io>
void list(Io& io, ToolRanking& v) {
  io("wanted", v.wanted), io("measurement_can_tell_mm", v.measurement_can_tell_mm), io("choices", v.choices);
  io("too_small", v.too_small);
}
template <class Io>
void list(Io& io, FormPoint& v) {
  io("across_mm", v.across_mm), io("work_depth_mm", v.work_depth_mm), io("tool_depth_mm", v.tool_depth_mm);
}
template <class Io>
void list(Io& io, FormTool& v) {
  io("case", v.which), io("clearance_deg", v.clearance_deg), io("rake_deg", v.rake_deg);
  io("wanted_radius_mm", v.wanted_radius_mm), io("width_mm", v.width_mm),
      io("ground_radius_mm", v.ground_radius_mm);
  io("uncorrected_radius_mm", v.uncorrected_radius_mm), io("depth_factor", v.depth_factor),
      io("profile", v.profile);
}
template <class Io>
void list(Io& io, Crown& v) {
  io("radius_mm", v.radius_mm), io("width_mm", v.width_mm), io("height_mm", v.height_mm);
  io("edge_diameter_mm", v.edge_diameter_mm);
}
template <class Io>
void list(Io& io, ProfileStep& v) {
  io("name", v.name), io("length_mm", v.length_mm), io("outside_mm", v.outside_mm),
      io("end_outside_mm", v.end_outside_mm);
  io("crown_radius_mm", v.crown_radius_mm), io("bore_mm", v.bore_mm), io("outside_size", v.outside_size);
  io("width_size", v.width_size), io("bore_size", v.bore_size);
}
template <class Io>
void list(Io& io, MassProperties& v) {
  io("volume_mm3", v.volume_mm3), io("mass_g", v.mass_g), io("inertia_g_mm2", v.inertia_g_mm2);
}
template <class Io>
void list(Io& io, RotorChange& v) {
  io("inertia_ratio", v.inertia_ratio), io("start_time_ratio", v.start_time_ratio);
  io("ripple_ratio_far_above", v.ripple_ratio_far_above), io("corner_old_hz", v.corner_old_hz);
  io("corner_new_hz", v.corner_new_hz), io("ripple_old_ratio", v.ripple_old_ratio);
  io("ripple_new_ratio", v.ripple_new_ratio), io("near_resonance", v.near_resonance);
}
template <class Io>
void list(Io& io, RotorPlan& v) {
  io("old_material", v.old_material), io("new_material", v.new_material), io("old_part", v.old_part);
  io("new_part", v.new_part), io("per_mm_width", v.per_mm_width), io("change", v.change),
      io("speed_rpm", v.speed_rpm);
  io("ripple_hz", v.ripple_hz), io("hoop_MPa", v.hoop_MPa), io("mean_hoop_MPa", v.mean_hoop_MPa);
  io("burst_speed_margin", v.burst_speed_margin);
}
template <class Io>
void list(Io& io, CheckLine& v) {
  io("name", v.name), io("kind", v.kind), io("target_mm", v.target_mm), io("lower_mm", v.lower_mm);
  io("upper_mm", v.upper_mm), io("when", v.when), io("instrument", v.instrument), io("u_mm", v.u_mm);
  io("zone_over_U", v.zone_over_U);
}
template <class Io>
void list(Io& io, ReplacementPlan& v) {
  io("part", v.part), io("material_new", v.material_new), io("sizes", v.sizes), io("fit", v.fit);
  io("fit_feature", v.fit_feature), io("speed", v.speed), io("tools", v.tools),
      io("form_tools", v.form_tools);
  io("crown", v.crown), io("profile", v.profile), io("rotor", v.rotor), io("check_sheet", v.check_sheet);
  io("cautions", v.cautions), io("warnings", v.warnings);
}

template <class Io, class T>
void fields(Io& io, T& value) {
  list(io, value);
}

}  // namespace

std::string plan_json(const ReplacementPlan& plan) {
  return Writer::object(plan).dump(1, ' ', false, Json::error_handler_t::replace);
}

Result<ReplacementPlan> parse_plan(const std::string& json_text) {
  const Json json = Json::parse(json_text, nullptr, false);
  if (!json.is_object()) return Error{ErrorCode::kFileDamaged, "replacement: needed a JSON object"};
  ReplacementPlan plan;
  try {
    Reader::read("replacement", json, plan);
  } catch (const Damage& damage) {
    return Error{ErrorCode::kFileDamaged, damage.what};
  }
  return plan;
}

}  // namespace rondure::plan
