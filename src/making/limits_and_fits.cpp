#include "rondure/making/limits_and_fits.hpp"

#include <cctype>
#include <cmath>
#include <cstdio>

#include "csv_table.hpp"

namespace rondure::plan {
namespace {

Error bad(std::string detail) { return {ErrorCode::kBadArgument, std::move(detail)}; }

std::string size_text(double mm) {
  char buffer[40];
  std::snprintf(buffer, sizeof buffer, "%.4g mm", mm);
  return buffer;
}

// "all", "up to IT8", "above IT8", "IT4-IT7 (0 in all other grades)" -> does the row serve this grade?
bool serves(std::string_view grades, int grade) {
  int a = 0, b = 0;
  const std::string text(grades);
  if (std::sscanf(text.c_str(), "up to IT%d", &a) == 1) return grade <= a;
  if (std::sscanf(text.c_str(), "above IT%d", &a) == 1) return grade > a;
  if (std::sscanf(text.c_str(), "IT%d-IT%d", &a, &b) == 2) return a <= grade && grade <= b;
  return text == "all";
}

// The fundamental deviation in mm and the limit it belongs to ("es", "ei", "ES", "EI").
struct FundamentalDeviation {
  double value_mm = 0;
  std::string limit;
};

Result<double> delta_mm(double nominal_mm, int grade) {
  const CsvTable& table = CsvTable::builtin("iso286_delta.csv");
  const int row = table.step(nominal_mm);
  const double um = row < 0 ? NAN : table.number(static_cast<std::size_t>(row), "IT" + std::to_string(grade));
  if (!std::isfinite(um))
    return bad("no Delta for IT" + std::to_string(grade) + " at " + size_text(nominal_mm));
  return um * 1e-3;
}

Result<FundamentalDeviation> fundamental_deviation(double nominal_mm, const ToleranceClass& tolerance) {
  const CsvTable& table = CsvTable::builtin(tolerance.hole ? "iso286_hole_fd.csv" : "iso286_shaft_fd.csv");
  bool letter_known = false;
  std::string limited;
  for (std::size_t i = 0; i < table.rows(); ++i) {
    if (table.text(i, "letter") != tolerance.letter) continue;
    letter_known = true;
    if (!(table.number(i, "over_mm") + 1e-9 < nominal_mm && nominal_mm <= table.number(i, "upto_mm") + 1e-9))
      continue;
    FundamentalDeviation found{table.number(i, tolerance.hole ? "base_um" : "fd_um") * 1e-3,
                               std::string(table.text(i, "limit"))};
    const std::string_view grades = table.text(i, "grades");
    if (!serves(grades, tolerance.grade)) {
      if (grades.find("0 in all other grades") != std::string_view::npos)
        return FundamentalDeviation{0, found.limit};
      limited = std::string(grades);
      continue;
    }
    if (table.text(i, "add_delta") == "1") {
      const auto delta = delta_mm(nominal_mm, tolerance.grade);
      if (!delta) return delta.error();
      found.value_mm += *delta;
    }
    return found;
  }
  if (!letter_known)
    return bad("found the tolerance class '" + tolerance.text() + "', needed a letter of the tables: " +
               (tolerance.hole ? "D E F G H JS K M N P R S" : "d e f g h js k m n p r s u"));
  if (!limited.empty())
    return bad("the tables hold " + tolerance.letter + " " + limited + " only, not " + tolerance.text());
  return bad("found " + size_text(nominal_mm) + ", needed a size over 0 up to 30 mm for " + tolerance.text());
}

}  // namespace

Result<ToleranceClass> parse_tolerance_class(std::string_view text) {
  ToleranceClass c;
  std::size_t i = 0;
  while (i < text.size() && std::isalpha(static_cast<unsigned char>(text[i]))) c.letter += text[i++];
  int digits = 0;
  while (i < text.size() && std::isdigit(static_cast<unsigned char>(text[i])) && digits++ < 2)
    c.grade = c.grade * 10 + (text[i++] - '0');
  bool upper = !c.letter.empty(), lower = !c.letter.empty();
  for (const char ch : c.letter) (std::isupper(static_cast<unsigned char>(ch)) ? lower : upper) = false;
  if (i != text.size() || digits == 0 || c.letter.size() > 2 || !(upper || lower))
    return bad("found '" + std::string(text.substr(0, 30)) + "', needed a tolerance class such as H7 or p6");
  c.hole = upper;
  return c;
}

Result<double> standard_tolerance_mm(double nominal_mm, int grade) {
  const CsvTable& table = CsvTable::builtin("iso286_it.csv");
  const int row = table.step(nominal_mm);
  if (row < 0) return bad("found " + size_text(nominal_mm) + ", needed a size over 0 up to 50 mm");
  const double um = table.number(static_cast<std::size_t>(row), "IT" + std::to_string(grade));
  if (!std::isfinite(um)) return bad("found grade IT" + std::to_string(grade) + ", needed IT4 to IT16");
  return um * 1e-3;
}

Result<LimitDeviations> limit_deviations(double nominal_mm, const ToleranceClass& tolerance) {
  const auto width = standard_tolerance_mm(nominal_mm, tolerance.grade);
  if (!width) return width.error();
  if (tolerance.letter == "JS" || tolerance.letter == "js") {
    return LimitDeviations{*width / 2, -*width / 2};
  }
  if (tolerance.letter == "H") return LimitDeviations{*width, 0};
  if (tolerance.letter == "h") return LimitDeviations{0, -*width};
  const auto fd = fundamental_deviation(nominal_mm, tolerance);
  if (!fd) return fd.error();
  const bool is_upper = fd->limit == "es" || fd->limit == "ES";
  return is_upper ? LimitDeviations{fd->value_mm, fd->value_mm - *width}
                  : LimitDeviations{fd->value_mm + *width, fd->value_mm};
}

Result<Fit> parse_fit(std::string_view text) {
  const auto slash = text.find('/');
  if (slash == std::string_view::npos)
    return bad("found '" + std::string(text.substr(0, 30)) + "', needed a fit such as H7/p6");
  const auto hole = parse_tolerance_class(text.substr(0, slash));
  if (!hole) return hole.error();
  const auto shaft = parse_tolerance_class(text.substr(slash + 1));
  if (!shaft) return shaft.error();
  if (!hole->hole || shaft->hole)
    return bad("found '" + std::string(text.substr(0, 30)) + "', needed hole (capital) before shaft: H7/p6");
  return Fit{*hole, *shaft};
}

std::string_view name(FitKind kind) {
  switch (kind) {
    case FitKind::kClearance:
      return "clearance";
    case FitKind::kTransition:
      return "transition";
    case FitKind::kInterference:
      return "interference";
  }
  return "";
}

std::optional<FitKind> parse_fit_kind(std::string_view text) {
  for (const FitKind kind : {FitKind::kClearance, FitKind::kTransition, FitKind::kInterference})
    if (name(kind) == text) return kind;
  return std::nullopt;
}

Result<FitLimits> fit_limits(double nominal_mm, const Fit& fit) {
  const auto hole = limit_deviations(nominal_mm, fit.hole);
  if (!hole) return hole.error();
  const auto shaft = limit_deviations(nominal_mm, fit.shaft);
  if (!shaft) return shaft.error();
  FitLimits f{*hole, *shaft, hole->lower_mm - shaft->upper_mm, hole->upper_mm - shaft->lower_mm,
              FitKind::kTransition};
  constexpr double kRounding_mm = 1e-9;  // limits are tenths of a micrometre: sums round far below
  if (f.min_clearance_mm >= -kRounding_mm)
    f.kind = FitKind::kClearance;
  else if (f.max_clearance_mm <= kRounding_mm)
    f.kind = FitKind::kInterference;
  return f;
}

Result<Interval> force_fit_interference_mm(double nominal_mm, std::string_view class_name) {
  const CsvTable& table = CsvTable::builtin("ansi_b4_1_force_fits.csv");
  const double inch = nominal_mm / kMmPerInch;
  for (std::size_t i = 0; i < table.rows(); ++i)
    if (table.text(i, "class") == class_name && table.number(i, "over_in") + 1e-10 < inch &&
        inch <= table.number(i, "upto_in") + 1e-10)
      return Interval{table.number(i, "interf_min") * kMmPerInch / 1000,
                      table.number(i, "interf_max") * kMmPerInch / 1000};
  return bad("found " + std::string(class_name) + " at " + size_text(nominal_mm) +
             ", needed FN1 or FN2 up to 1.19 in");
}

}  // namespace rondure::plan
