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
// One surface has one size: an outside that agrees with one surface of the record's side view, within 95 %, is planned
// under the side view's name by the better measured of the two (a note names the other); one that may be several, or is
// none, stays with a caution.
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
#include "rondure/making/form_tool.hpp"
#include "rondure/making/replacement.hpp"
#include "rondure/making/tool_radius.hpp"
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

// Errors: kBadArgument (names that the record has not, fits that the tables have not), kNoAnswer (nothing to
// make).
Result<ReplacementPlan> make_plan(const PartRecord& record, const PlanOptions& options = {},
                                  const PartRecord* copy = nullptr);

// One page for the terminal: what to dial first.
std::string plan_text(const ReplacementPlan& plan, const Ink& ink = plain_ink);

}  // namespace rondure::plan
