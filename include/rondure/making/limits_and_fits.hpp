// Limits and fits after ISO 286-1 and -2:2010, nominal sizes over 0 up to and including 30 mm (H, h, JS
// and js: 50 mm).
//
// Every value is LOOKED UP in the built-in tables (iso286_it, iso286_shaft_fd, iso286_hole_fd, iso286_delta;
// their headers state what was read and what is from memory). The standard's own power law is never used:
// below 10 mm its rounding departs from the tables by a micrometre and more.
//
// Shafts d e f g h js k m n p r s u; holes D E F G H JS K M N P R S; grades IT4 to IT16 as far as the tables
// go. Not held: a to c, t and above, sizes over 30 mm. Nothing is guessed for these: kBadArgument. js and JS
// are +- IT/2 as ISO 286-1 defines them; printed tables may round odd values of IT7 to IT11 down to a whole
// um. Deviations in mm, upper >= lower, signs as on a drawing. Clearance is hole minus shaft; negative =
// interference.
#pragma once
#include <optional>
#include <string>
#include <string_view>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"

namespace rondure::plan {

struct ToleranceClass {
  std::string letter;  // as written: "H", "js"
  int grade = 0;       // 7 of IT7
  bool hole = false;   // capital letter
  std::string text() const { return letter + std::to_string(grade); }
};

struct LimitDeviations {
  double upper_mm = 0, lower_mm = 0;  // ES and EI of a hole, es and ei of a shaft
};

// "H7", "js6". Errors: kBadArgument.
Result<ToleranceClass> parse_tolerance_class(std::string_view text);
// Width of the tolerance zone. Errors: kBadArgument (grade or size outside the table).
Result<double> standard_tolerance_mm(double nominal_mm, int grade);
// Errors: kBadArgument.
Result<LimitDeviations> limit_deviations(double nominal_mm, const ToleranceClass& tolerance);

struct Fit {
  ToleranceClass hole, shaft;
  std::string text() const { return hole.text() + "/" + shaft.text(); }
};
// "H7/p6", hole first. Errors: kBadArgument.
Result<Fit> parse_fit(std::string_view text);

enum class FitKind { kClearance, kTransition, kInterference };
std::string_view name(FitKind kind);  // "clearance", "transition", "interference"
std::optional<FitKind> parse_fit_kind(std::string_view name);

struct FitLimits {
  LimitDeviations hole, shaft;
  double min_clearance_mm = 0, max_clearance_mm = 0;  // EI - es, ES - ei
  FitKind kind = FitKind::kClearance;
};
// ISO 286-1: clearance fit when EI >= es, interference fit when ES <= ei (a contact at the limits counts),
// else transition.
Result<FitLimits> fit_limits(double nominal_mm, const Fit& fit);

// ANSI B4.1-1967 (R1999), table 11: force fits FN1 light drive and FN2 medium drive, sizes up to 1.19 in.
// Interference of shaft over hole, mm. Errors: kBadArgument.
Result<Interval> force_fit_interference_mm(double nominal_mm, std::string_view class_name);

}  // namespace rondure::plan
