// The plan as the record's object "replacement". One list of fields serves writing and reading.
#include "json/field_list.hpp"
#include "json/text.hpp"
#include "rondure/record/plan_section.hpp"
#include "sections.hpp"
#include "shared_fields.hpp"

namespace rondure {
namespace {

using namespace record;
using namespace plan;

std::string_view case_word(FormToolCase which) {
  return which == FormToolCase::kSection ? "section" : "projection";
}
std::optional<FormToolCase> parse_case(std::string_view word) {
  for (const FormToolCase which : {FormToolCase::kSection, FormToolCase::kProjection})
    if (case_word(which) == word) return which;
  return std::nullopt;
}

std::string_view basis_word(SizeBasis basis) { return name(basis); }
std::string_view fit_word(FitKind kind) { return name(kind); }

struct PlanFields : SharedFields {
  using SharedFields::list;
  template <class Io>
  static void list(Io& io, Estimate& v) {
    io("value_mm", v.value), io("u_mm", v.u);
  }
  template <class Io>
  static void list(Io& io, PlannedSize& v) {
    io("name", v.name), io("kind", v.kind), io("of", v.of), io("target_mm", v.target_mm);
    io("lower_mm", v.lower_mm), io("upper_mm", v.upper_mm), io("intended_mm", v.intended_mm),
        io("tolerance", v.tolerance), io.word("basis", v.basis, basis_word, parse_size_basis);
    io("original_label", v.original_label), io("probability", v.probability), io("old_mm", v.old_mm);
    io("u_old_mm", v.u_old_mm), io("run_out_mm", v.run_out_mm), io("roundness_mm", v.roundness_mm);
    if (v.lower_mm && v.upper_mm && *v.lower_mm > *v.upper_mm)
      io.refuse("lower_mm", "the lower limit to be the smaller one");
  }
  template <class Io>
  static void list(Io& io, HubStress& v) {
    io("interference_mm", v.interference_mm), io("pressure_MPa", v.pressure_MPa), io("hoop_MPa", v.hoop_MPa);
    io("von_mises_MPa", v.von_mises_MPa), io("hoop_strain_ratio", v.hoop_strain_ratio);
    io("growth_outside_mm", v.growth_outside_mm);
  }
  template <class Io>
  static void list(Io& io, FitChance& v) {
    io("interference_mm", v.interference_mm), io("mean_interference_mm", v.mean_interference_mm);
    io("p_loose", v.p_loose), io("p_below", v.p_below), io("p_above", v.p_above);
  }
  template <class Io>
  static void list(Io& io, PressFitResult& v) {
    io("least", v.least), io("mean", v.mean), io("most", v.most), io("yield_margin", v.yield_margin);
    io("strain_margin", v.strain_margin), io("holding_interference_mm", v.holding_interference_mm);
    io("holding_force_N", v.holding_force_N), io("holding_torque_Nmm", v.holding_torque_Nmm);
    io("left_1000h_ratio", v.left_1000h_ratio), io("loss_per_40K_mm", v.loss_per_40K_mm);
  }
  template <class Io>
  static void list(Io& io, ShaftFit& v) {
    io("text", v.text),
        io.word("kind", v.kind, fit_word, parse_fit_kind, "clearance, transition or interference"),
        io("shaft", v.shaft_mm), io("shaft_measured", v.shaft_measured);
    io("bore_target_mm", v.bore_target_mm), io("bore_limits_mm", v.bore_limits_mm);
    io("wanted_interference_mm", v.wanted_interference_mm), io("chance", v.chance), io("press", v.press);
    io("notes", v.notes);
  }
  template <class Io>
  static void list(Io& io, SpeedHarmonic& v) {
    io("per_turn", v.per_turn), io("amplitude_ratio", v.amplitude_ratio);
  }
  template <class Io>
  static void list(Io& io, SpeedRow& v) {
    io("what", v.what), io("running_diameter_mm", v.running_diameter_mm),
        io("mean_error_ratio", v.mean_error_ratio);
    io("peak_ratio", v.peak_ratio), io("audible_ratio", v.audible_ratio), io("harmonics", v.harmonics);
    io("eccentricity_known", v.eccentricity_known);
  }
  template <class Io>
  static void list(Io& io, SpeedPlan& v) {
    io("surface", v.surface), io("intended_mm", v.intended_mm), io("belt_thickness_mm", v.belt_thickness_mm);
    io("turns_hz", v.turns_hz), io("rows", v.rows);
  }
  template <class Io>
  static void list(Io& io, WantedRadius& v) {
    io("name", v.name), io("radius", v.radius_mm), io("width_mm", v.width_mm);
  }
  template <class Io>
  static void list(Io& io, ToolChoice& v) {
    io("tool", v.tool), io("radius_mm", v.radius_mm), io("edge_error_mm", v.edge_error_mm);
    io("best_error_mm", v.best_error_mm), io("within_measurement", v.within_measurement);
    io("abrasive_sheet", v.abrasive_sheet);
  }
  template <class Io>
  static void list(Io& io, ToolRanking& v) {
    io("wanted", v.wanted), io("measurement_can_tell_mm", v.measurement_can_tell_mm),
        io("choices", v.choices);
    io("too_small", v.too_small);
  }
  template <class Io>
  static void list(Io& io, FormPoint& v) {
    io("across_mm", v.across_mm), io("work_depth_mm", v.work_depth_mm), io("tool_depth_mm", v.tool_depth_mm);
  }
  template <class Io>
  static void list(Io& io, FormTool& v) {
    io.word("case", v.which, case_word, parse_case, "section or projection"),
        io("clearance_deg", v.clearance_deg), io("rake_deg", v.rake_deg);
    io("wanted_radius_mm", v.wanted_radius_mm), io("width_mm", v.width_mm),
        io("ground_radius_mm", v.ground_radius_mm);
    io("uncorrected_radius_mm", v.uncorrected_radius_mm), io("depth_factor", v.depth_factor),
        io("profile", v.profile);
  }
  template <class Io>
  static void list(Io& io, Crown& v) {
    io("radius_mm", v.radius_mm), io("width_mm", v.width_mm), io("height_mm", v.height_mm);
    io("edge_diameter_mm", v.edge_diameter_mm);
  }
  template <class Io>
  static void list(Io& io, ProfileStep& v) {
    io("name", v.name), io("length_mm", v.length_mm), io("outside_mm", v.outside_mm),
        io("end_outside_mm", v.end_outside_mm);
    io("crown_radius_mm", v.crown_radius_mm), io("bore_mm", v.bore_mm), io("outside_size", v.outside_size);
    io("width_size", v.width_size), io("bore_size", v.bore_size);
    io("edge_before_mm", v.edge_before_mm), io("edge_after_mm", v.edge_after_mm);
  }
  template <class Io>
  static void list(Io& io, MassProperties& v) {
    io("volume_mm3", v.volume_mm3), io("mass_g", v.mass_g), io("inertia_g_mm2", v.inertia_g_mm2);
  }
  template <class Io>
  static void list(Io& io, RotorChange& v) {
    io("inertia_ratio", v.inertia_ratio), io("start_time_ratio", v.start_time_ratio);
    io("ripple_ratio_far_above", v.ripple_ratio_far_above), io("corner_old_hz", v.corner_old_hz);
    io("corner_new_hz", v.corner_new_hz), io("ripple_old_ratio", v.ripple_old_ratio);
    io("ripple_new_ratio", v.ripple_new_ratio), io("near_resonance", v.near_resonance);
  }
  template <class Io>
  static void list(Io& io, RotorPlan& v) {
    io("old_material", v.old_material), io("new_material", v.new_material), io("old_part", v.old_part);
    io("new_part", v.new_part), io("per_mm_width", v.per_mm_width), io("change", v.change),
        io("speed_rpm", v.speed_rpm);
    io("ripple_hz", v.ripple_hz), io("hoop_MPa", v.hoop_MPa), io("mean_hoop_MPa", v.mean_hoop_MPa);
    io("burst_speed_margin", v.burst_speed_margin);
  }
  template <class Io>
  static void list(Io& io, CheckLine& v) {
    io("name", v.name), io("kind", v.kind), io("target_mm", v.target_mm), io("lower_mm", v.lower_mm);
    io("upper_mm", v.upper_mm), io("when", v.when), io("instrument", v.instrument), io("u_mm", v.u_mm);
    io("zone_over_U", v.zone_over_U);
  }
  template <class Io>
  static void list(Io& io, ReplacementPlan& v) {
    io("part", v.part), io("material_new", v.material_new), io("sizes", v.sizes), io("fit", v.fit);
    io("fit_feature", v.fit_feature), io("speed", v.speed), io("tools", v.tools),
        io("form_tools", v.form_tools);
    io("crown", v.crown), io("profile", v.profile), io("rotor", v.rotor), io("check_sheet", v.check_sheet);
    io("cautions", v.cautions), io("warnings", v.warnings);
  }
};

}  // namespace

namespace record {

Json plan_to_json(const ReplacementPlan& plan) { return Writer<PlanFields>::object(plan); }
ReplacementPlan plan_from_json(const Object& object) {
  return Reader<PlanFields>::read<ReplacementPlan>(object);
}

}  // namespace record

std::string plan_json(const ReplacementPlan& plan) {
  return plan_to_json(plan).dump(1, ' ', false, Json::error_handler_t::replace);
}

Result<ReplacementPlan> parse_plan(const std::string& json_text) try {
  return plan_from_json(Object(read_document(json_text), "/replacement"));
} catch (const Damage& damage) {
  return Error{ErrorCode::kFileDamaged, readable(damage.pointer) + ": " + damage.what};
} catch (const TextDamage& damage) {
  return Error{ErrorCode::kFileDamaged, "replacement, " + damage.where_and_what};
}

void put_plan(PartRecord& record, ReplacementPlan plan) {
  record.replacement = std::move(plan);
  forget_section(record, "replacement");
}

}  // namespace rondure
