// The replacement plan: from the part record and its inferred original sizes to what to make.
//
// Sizes. Each feature's size to make is, in this order: the user's choice; the most probable original (a
// warning where the inference left it undecided); the size as measured today (a warning). Never the
// moulding-shrunk mould size.
//   bore             from the shaft (shaft_fit.hpp); the fit asked for, else usual_press_fit where the bore sat tight
//                    on metal (kind bore-on-metal, or a bore no larger than its shaft), usual_running_fit where it
//                    runs on the shaft
//   running surface  the first outside feature, or the one named: js8, or what the wanted speed error asks for;
//                    run-out and roundness half of the zone each, or what the wanted speed variation asks for
//                    (shop judgement, no source)
//   other sizes      outsides h10, widths js12, arcs a radius without limits
// Speed, tools, form tool, crown, mass, check sheet, cautions, drawing: see the headers of those names.
// Lengths mm; "old" is the part as measured, "copy" a replacement already made and measured.
#pragma once
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "rondure/core/feature_kind.hpp"
#include "rondure/core/geometry.hpp"
#include "rondure/core/ink.hpp"
#include "rondure/core/result.hpp"
#include "rondure/core/warning.hpp"
#include "rondure/plan/check_sheet.hpp"
#include "rondure/plan/crown.hpp"
#include "rondure/plan/form_tool.hpp"
#include "rondure/plan/inertia.hpp"
#include "rondure/plan/shaft_fit.hpp"
#include "rondure/plan/speed.hpp"
#include "rondure/plan/tool_radius.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure::plan {

inline constexpr const char* kNoCrown = "none";

// What the user may say. Names are those of features in the record; an empty name means the only or main one
// of its kind.
struct PlanOptions {
  std::vector<std::pair<std::string, std::string>> tolerances;     // name, "H7/p6", "h9" or "+-0.01mm"
  std::vector<std::pair<std::string, Estimate>> interferences_mm;  // name, value and tolerance
  std::vector<std::pair<std::string, double>> chosen_mm;
  std::optional<Estimate> shaft_mm;
  std::string shaft_material = "steel";
  std::string material_old, material_new = "brass";  // old empty: the record's
  std::vector<ShelfTool> shelf;
  std::string running_surface;  // name; empty = the first outside feature
  // Name of the arc that is the running surface's crown, or kNoCrown; not said: the only arc that can be (plan_tools.cpp).
  std::optional<std::string> crown;
  std::vector<std::pair<std::string, std::string>> width_of;  // width, outside that it is the width of
  double belt_thickness_mm = 0;
  std::optional<double> turns_rpm, surface_speed_mm_s;
  std::optional<double> ripple_hz;  // rate at which speed ripple is judged
  std::optional<double> speed_error_ratio, speed_variation_ratio;
  std::optional<double> run_out_old_mm;  // TIR of the old part, when it was measured on its shaft
  std::optional<double> belt_stiffness_N_mm;
  double rest_inertia_g_mm2 = 0;
  std::optional<double> width_mm;            // of the running surface, when the record has none
  std::optional<double> arc_width_mm;        // of an arc, for the tools; default the running surface's width
  std::optional<Estimate> wanted_radius_mm;  // an arc that is not in the record
  Profile steps;  // along the axis; outside 0 = the planned size of that name, bore < 0 = the planned bore
  std::optional<FormToolCase>
      ground_as;  // tools are ranked for the radius to grind; else for the radius on the work
  double clearance_deg = 8, rake_deg = 0;  // of the form tool
};

// Where a size to make comes from.
enum class SizeBasis { kUnknown, kChosen, kOriginal, kOriginalUndecided, kMeasured, kShaft, kStated };
std::string_view name(SizeBasis basis);             // as in the record: "chosen", "original-undecided" ...
SizeBasis parse_size_basis(std::string_view name);  // kUnknown for a name that is none

struct PlannedSize {
  std::string name;
  FeatureKind kind;      // bore, outside, width or arc
  std::string of = {};   // the outside whose width or crown it is, where that is known
  double target_mm = 0;  // arc: the radius
  std::optional<double> lower_mm, upper_mm;
  double intended_mm = 0;  // the size of the drawing that the limits belong to
  std::string tolerance;   // "js8", "H7/p6 on the measured shaft"
  SizeBasis basis = SizeBasis::kUnknown;
  std::string original_label;              // "12.5 mm", where an original was used
  std::optional<double> probability;       // of that original
  std::optional<double> old_mm, u_old_mm;  // as measured
  std::optional<double> run_out_mm, roundness_mm;
};

struct SpeedRow {
  std::string what;  // old | old, nib off | planned | copy
  double running_diameter_mm = 0;
  std::optional<Interval> mean_error_ratio;  // against the intended diameter; measured: 95 %
  double peak_ratio = 0;                     // variation, half of fastest - slowest
  std::optional<double> audible_ratio;       // rms, weighted by rate, where the turning speed is known
  std::vector<SpeedHarmonic> harmonics;
  bool eccentricity_known = false;
};
struct SpeedPlan {
  std::string surface;
  double intended_mm = 0, belt_thickness_mm = 0;
  std::optional<double> turns_hz;
  std::vector<SpeedRow> rows;
};

struct RotorPlan {
  std::string old_material, new_material;  // old empty: not known, old figures absent
  std::optional<MassProperties> old_part;
  MassProperties new_part;
  bool per_mm_width = false;  // width not known: figures for 1 mm of it
  std::optional<RotorChange> change;
  std::optional<double> speed_rpm, ripple_hz;
  std::optional<double> hoop_MPa, mean_hoop_MPa;
  std::optional<double>
      burst_speed_margin;  // speed at which the mean hoop stress reaches the strength, over the speed
};

struct ReplacementPlan {
  std::string part, material_new;
  std::vector<PlannedSize> sizes;  // in the order of making
  std::optional<ShaftFit> fit;
  std::string fit_feature;  // the bore's name
  std::optional<SpeedPlan> speed;
  std::vector<ToolRanking> tools;
  std::vector<FormTool> form_tools;  // section case, projection case
  std::optional<Crown> crown;
  Profile profile;  // of the replacement, for drawing and mass
  std::optional<RotorPlan> rotor;
  std::vector<CheckLine> check_sheet;
  std::vector<Warning> cautions, warnings;

  const PlannedSize* find(const std::string& name) const;
  const PlannedSize* running() const;  // the running surface; null without an outside feature
};

// Errors: kBadArgument (names that the record has not, fits that the tables have not), kNoAnswer (nothing to
// make).
Result<ReplacementPlan> make_plan(const PartRecord& record, const PlanOptions& options = {},
                                  const PartRecord* copy = nullptr);

// The object "replacement" of the part record, and back. Values that are absent leave no key; unknown keys
// are skipped.
std::string plan_json(const ReplacementPlan& plan);
// Errors: kFileDamaged.
Result<ReplacementPlan> parse_plan(const std::string& json_text);

// The plan that the record holds; absent: none was saved. It is read here alone. Errors: kFileDamaged (what and where).
Result<std::optional<ReplacementPlan>> plan_of(const PartRecord& record);
// Replaces it.
void put_plan(PartRecord& record, const ReplacementPlan& plan);

// One page for the terminal: what to dial first.
std::string plan_text(const ReplacementPlan& plan, const Ink& ink = plain_ink);

}  // namespace rondure::plan
