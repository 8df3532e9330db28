// What to make, as a value: the sizes with their limits and where each comes from, the fit on the shaft, the effect on
// speed, tools, mass, the check sheet and the cautions. The part record holds one (record/part_record.hpp); plan/ makes
// it and shows it. Lengths mm.
#pragma once
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "rondure/core/feature_kind.hpp"
#include "rondure/core/geometry.hpp"
#include "rondure/core/warning.hpp"
#include "rondure/making/check_sheet.hpp"
#include "rondure/making/crown.hpp"
#include "rondure/making/form_tool.hpp"
#include "rondure/making/inertia.hpp"
#include "rondure/making/shaft_fit.hpp"
#include "rondure/making/speed.hpp"
#include "rondure/making/tool_radius.hpp"

namespace rondure::plan {

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

}  // namespace rondure::plan
