// What to measure on the copy, in the order of making, and with what: blanks to fill in at the bench.
//
// An instrument is good enough when the tolerance zone is at least four times its expanded uncertainty (k =
// 2): zone >= 4 * 2 u (the four-to-one rule of the trade, common practice, no source). The coarsest
// instrument that is good enough is named; where none is, the finest one with a note. Instruments and their
// uncertainties: built-in table instruments.csv.
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "rondure/core/feature_kind.hpp"
#include "rondure/core/geometry.hpp"
#include "rondure/core/length.hpp"

namespace rondure::plan {

struct CheckLine {
  std::string name;  // of the feature, or "outside run-out"
  FeatureKind kind;  // outside, bore, width, arc, run-out, roundness or shaft
  std::optional<double> target_mm, lower_mm, upper_mm;
  std::string when;  // "before parting off", "on the shaft"
  std::string instrument;
  double u_mm = 0;         // of the instrument for this
  double zone_over_U = 0;  // tolerance zone over 2 u; at least 4 is good enough
};

struct Instrument {
  std::string name;
  double u_mm = 0;
  bool good_enough = false;
};
// For a kind of size and a zone of limits (mm); none for a kind that the table does not know.
std::optional<Instrument> choose_instrument(FeatureKind kind, double size_mm, double zone_mm);

// The sheet as CSV for filling in: name,kind,target,lower,upper,measured,u,unit,instrument,when. `measured`
// and `u` are blank; lengths in `unit`.
std::string check_sheet_csv(const std::vector<CheckLine>& lines, const std::string& part, LengthUnit unit);

}  // namespace rondure::plan
