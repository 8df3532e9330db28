#include "rondure/readings/reading_line.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <cstdio>
#include <optional>
#include <vector>

#include "line_text.hpp"
#include "rondure/core/quoting.hpp"

namespace rondure {
namespace {

// "nan", "-inf", "infinity": a number by other people's programs, never a reading.
bool is_not_finite(std::string_view token) {
  std::string t = lower(trimmed(token));
  if (!t.empty() && (t[0] == '+' || t[0] == '-')) t.erase(0, 1);
  return t == "nan" || t == "inf" || t == "infinity" || t.starts_with("nan(");
}

Error bad_line(std::string_view found, const std::string& needed) {
  return {ErrorCode::kBadLine, "found " + quoted_for_message(found) + ", needed " + needed};
}

// Whether commas are decimal signs here: something else separates, and no comma stands beside a blank.
bool comma_is_decimal(std::string_view line) {
  if (line.find(',') == std::string_view::npos) return false;
  if (line.find(';') != std::string_view::npos) return true;
  if (line.find('.') != std::string_view::npos) return false;
  bool blank_between = false;
  for (std::size_t i = 0; i < line.size(); ++i) {
    if (is_blank(line[i])) blank_between = true;
    if (line[i] == ',' && (i == 0 || i + 1 == line.size() || is_blank(line[i - 1]) || is_blank(line[i + 1])))
      return false;
  }
  return blank_between;
}

bool starts_like_number(char c) {
  return std::isdigit(static_cast<unsigned char>(c)) || c == '+' || c == '-' || c == '.';
}

// Fields of a point line. A blank before a unit ("12.5 mm, 3 mm") does not separate.
std::vector<std::string> split_point_line(std::string_view line) {
  const bool decimal_comma = comma_is_decimal(line);
  const bool semicolons = line.find(';') != std::string_view::npos;
  const bool commas = !decimal_comma && !semicolons && line.find(',') != std::string_view::npos;
  std::vector<std::string> fields;
  if (semicolons || commas) {
    const char separator = semicolons ? ';' : ',';
    for (std::size_t from = 0;;) {
      const auto to = line.find(separator, from);
      fields.emplace_back(trimmed(line.substr(from, to == std::string_view::npos ? to : to - from)));
      if (to == std::string_view::npos) break;
      from = to + 1;
    }
    while (!fields.empty() && fields.back().empty()) fields.pop_back();  // left over by a spreadsheet
  } else {
    for (std::size_t i = 0; i < line.size();) {
      if (is_blank(line[i])) {
        ++i;
        continue;
      }
      auto to = line.find_first_of(" \t", i);
      if (to == std::string_view::npos) to = line.size();
      const std::string_view token = line.substr(i, to - i);
      const bool unit_of_last = !fields.empty() && !starts_like_number(token[0]) &&
                                parse_unit(token).has_value() && parse_number(fields.back()).has_value();
      if (unit_of_last)
        fields.back() += token;
      else
        fields.emplace_back(token);
      i = to;
    }
  }
  if (decimal_comma)
    for (std::string& field : fields) std::replace(field.begin(), field.end(), ',', '.');
  return fields;
}

struct Coordinate {
  double mm = 0;
  std::string digits;  // as typed, without a unit; of another unit: converted
  int decimals = 0;
  bool converted = false;
};

int decimals_of(std::string_view digits) {
  const auto e = digits.find_first_of("eE");
  const auto mantissa = digits.substr(0, e);
  const auto point = mantissa.find('.');
  int decimals = point == std::string_view::npos ? 0 : int(mantissa.size() - point - 1);
  if (e != std::string_view::npos)
    if (const auto exponent = parse_number(digits.substr(e + 1)); exponent)
      decimals -= int(std::clamp(*exponent, -1000.0, 1000.0));
  return std::clamp(decimals, 0, 30);
}

// A number typed in another unit, in the file's: rounded to less than half the step it was read in, and no
// coarser than people read in that unit (0.001 mm, 0.0001 in).
Result<Coordinate> in_other_unit(double mm, int own_decimals, LengthUnit own, LengthUnit unit,
                                 const char* what) {
  if (std::abs(mm) > kLargestReading_mm)
    return bad_line(std::to_string(mm) + "mm", std::string(what) + " below 1e9 mm");
  const double step = std::pow(10.0, -own_decimals) * mm_per(own) / mm_per(unit);
  const int usual = unit == LengthUnit::kInch   ? 4
                    : unit == LengthUnit::kMm   ? 3
                    : unit == LengthUnit::kThou ? 1
                                                : 0;
  const int decimals = std::clamp(int(std::ceil(-std::log10(0.41 * step))), usual, 12);
  char text[48];
  std::snprintf(text, sizeof text, "%.*f", decimals, mm / mm_per(unit));
  return Coordinate{*parse_number(text) * mm_per(unit), text, decimals, true};
}

Result<Coordinate> parse_coordinate(std::string_view field, LengthUnit unit, const char* what) {
  const std::string needed = std::string(what) + " as a plain number in " + std::string(unit_word(unit));
  if (is_not_finite(field))
    return Error{ErrorCode::kNotFinite, "found " + quoted_for_message(field) + ", needed " + needed};
  auto end = field.find_first_not_of("+-0123456789.eE");
  if (end == std::string_view::npos) end = field.size();
  std::string_view digits = field.substr(0, end), rest = trimmed(field.substr(end));
  const auto number = parse_number(digits);
  if (!number && number.error().code == ErrorCode::kNotFinite)
    return Error{ErrorCode::kNotFinite, "found " + quoted_for_message(field) + ", needed " + needed};
  if (!number) return bad_line(field, needed);
  if (!rest.empty()) {
    const auto own = parse_unit(rest);
    if (!own) return bad_line(field, needed);
    if (*own != unit) return in_other_unit(*number * mm_per(*own), decimals_of(digits), *own, unit, what);
  }
  Coordinate c{*number * mm_per(unit), std::string(digits), decimals_of(digits)};
  if (std::abs(c.mm) > kLargestReading_mm) return bad_line(field, std::string(what) + " below 1e9 mm");
  return c;
}

Result<Reading> parse_point(std::string_view line, LengthUnit unit) {
  const auto fields = split_point_line(line);
  if (fields.size() > 3)
    return bad_line(line,
                    "x,y or x,y,sigma (with decimal commas, put spaces or semicolons between the numbers)");
  for (const auto& field : fields)
    if (is_not_finite(field))
      return Error{ErrorCode::kNotFinite, "found " + quoted_for_message(field) + ", needed x and y"};
  if (fields.size() < 2) return bad_line(line, "x and y");
  const auto x = parse_coordinate(fields[0], unit, "x");
  if (!x) return x.error();
  const auto y = parse_coordinate(fields[1], unit, "y");
  if (!y) return y.error();
  Reading reading;
  MeasuredPoint point{{x->mm, y->mm}};
  reading.csv = x->digits + "," + y->digits;
  reading.decimals = std::max(x->decimals, y->decimals);
  reading.converted = x->converted || y->converted;
  if (fields.size() == 3) {
    const auto sigma = parse_coordinate(fields[2], unit, "sigma");
    if (!sigma) return sigma.error();
    if (sigma->mm < 0) return bad_line(fields[2], "a standard uncertainty of 0 or more");
    point.sigma_mm = sigma->mm;
    reading.csv += "," + sigma->digits;
  }
  reading.value = point;
  return reading;
}

// A length of a worded form, "R" or "R +- U", above 0.
Result<Estimate> worded_length(std::string_view text, LengthUnit unit, const char* what,
                               std::string_view form) {
  if (is_not_finite(text))
    return Error{ErrorCode::kNotFinite,
                 "found " + quoted_for_message(text) + ", needed " + std::string(form)};
  const auto value = parse_length_with_u_mm(text, unit);
  if (!value && value.error().code == ErrorCode::kNotFinite)
    return Error{ErrorCode::kNotFinite,
                 "found " + quoted_for_message(text) + ", needed " + std::string(form)};
  if (!value) return bad_line(text, std::string(form));
  if (!(value->value > 0) || value->value > kLargestReading_mm || value->u > kLargestReading_mm)
    return bad_line(text, std::string(what) + " above 0 and below 1e9 mm");
  return *value;
}

Result<double> worded_angle_rad(std::string_view text, std::string_view form) {
  std::string_view t = trimmed(text);
  for (std::string_view ending : {"degrees", "deg", "\u00b0"})
    if (t.ends_with(ending)) {
      t = trimmed(t.substr(0, t.size() - ending.size()));
      break;
    }
  if (is_not_finite(t))
    return Error{ErrorCode::kNotFinite,
                 "found " + quoted_for_message(text) + ", needed " + std::string(form)};
  const auto angle = parse_number(t);
  if (!angle) return bad_line(text, std::string(form));
  if (std::abs(*angle) > 3600) return bad_line(text, "an angle in degrees");
  return rad(*angle);
}

// Lengths inside a worded form keep the decimal point in the file.
std::string with_points(std::string_view text) {
  std::string t(trimmed(text));
  std::replace(t.begin(), t.end(), ',', '.');
  return t;
}

// The text of `rest` before and after the word `word` that stands alone; nothing when it does not.
std::optional<std::pair<std::string_view, std::string_view>> around_word(std::string_view rest,
                                                                         std::string_view word) {
  const std::string low = lower(rest);
  for (std::size_t at = low.find(word); at != std::string::npos; at = low.find(word, at + 1)) {
    const auto after = at + word.size();
    const bool alone = at > 0 && !is_letter(low[at - 1]) && after < low.size() && !is_letter(low[after]);
    if (alone) return std::pair{trimmed(rest.substr(0, at)), trimmed(rest.substr(after))};
  }
  return std::nullopt;
}

Result<Reading> parse_chord(std::string_view line, std::string_view rest, LengthUnit unit) {
  constexpr std::string_view kForm = "chord C sagitta H";
  const auto parts = around_word(rest, "sagitta");
  if (!parts) return bad_line(line, std::string(kForm));
  const auto chord = worded_length(parts->first, unit, "a chord", kForm);
  if (!chord) return chord.error();
  const auto sagitta = worded_length(parts->second, unit, "a sagitta", kForm);
  if (!sagitta) return sagitta.error();
  return Reading{ChordReading{*chord, *sagitta},
                 "chord " + with_points(parts->first) + " sagitta " + with_points(parts->second)};
}

Result<Reading> parse_overlay(std::string_view line, std::string_view rest, LengthUnit unit) {
  constexpr std::string_view kForm = "overlay R +- U";
  const auto radius = worded_length(rest, unit, "a radius", kForm);
  if (!radius) return radius.error();
  if (!(radius->u > 0)) return bad_line(line, "overlay R +- U, with the uncertainty of the nearest line");
  return Reading{OverlayReading{*radius}, "overlay " + with_points(rest)};
}

Result<Reading> parse_two_point(std::string_view line, std::string_view rest, LengthUnit unit) {
  constexpr std::string_view kForm = "two-point D at A";
  const auto parts = around_word(rest, "at");
  if (!parts) return bad_line(line, std::string(kForm));
  const auto diameter = worded_length(parts->first, unit, "a diameter", kForm);
  if (!diameter) return diameter.error();
  const auto angle = worded_angle_rad(parts->second, kForm);
  if (!angle) return angle.error();
  return Reading{TwoPointReading{*diameter, wrap_axis_rad(*angle), typed_step_mm(parts->first, unit)},
                 "two-point " + with_points(parts->first) + " at " + with_points(parts->second)};
}

Result<Reading> parse_polar(std::string_view line, std::string_view rest, LengthUnit unit) {
  constexpr std::string_view kForm = "polar R at A";
  const auto parts = around_word(rest, "at");
  if (!parts) return bad_line(line, std::string(kForm));
  const auto radius = worded_length(parts->first, unit, "a radius", kForm);
  if (!radius) return radius.error();
  const auto angle = worded_angle_rad(parts->second, kForm);
  if (!angle) return angle.error();
  Reading reading{PolarReading{radius->value, wrap_direction_rad(*angle), radius->u},
                  "polar " + with_points(parts->first) + " at " + with_points(parts->second)};
  const double step = typed_step_mm(parts->first, unit) / mm_per(unit);
  reading.decimals = std::clamp(int(std::ceil(-std::log10(step) - 1e-9)), 0, 30);
  return reading;
}

}  // namespace

double typed_step_mm(std::string_view text, LengthUnit unit) {
  std::string number = lower(trimmed(text.substr(0, text.find("+-"))));
  std::replace(number.begin(), number.end(), ',', '.');
  const auto end = std::min(number.find_first_not_of("+-0123456789.e"), number.size());
  const std::string_view digits = std::string_view(number).substr(0, end);
  double step = std::pow(10.0, -decimals_of(digits));
  std::string_view rest = trimmed(std::string_view(number).substr(end));
  if (const auto slash = number.rfind('/');
      slash != std::string::npos) {  // 3/16in, 1 3/16in: its denominator
    const auto stop = std::min(number.find_first_not_of("0123456789", slash + 1), number.size());
    const auto parts = parse_number(std::string_view(number).substr(slash + 1, stop - slash - 1));
    if (parts && *parts > 0) step = 1 / *parts;
    rest = trimmed(std::string_view(number).substr(stop));
  }
  const auto own = parse_unit(rest);
  return step * mm_per(own ? *own : unit);
}

std::string_view unit_word(LengthUnit unit) { return unit == LengthUnit::kInch ? "inch" : symbol(unit); }

MeasuredPoint point_of(const PolarReading& polar) {
  return {{polar.radius_mm * std::cos(polar.at_rad), polar.radius_mm * std::sin(polar.at_rad)},
          polar.sigma_mm,
          polar.line};
}

Result<Reading> parse_reading_line(std::string_view text, LengthUnit unit) {
  const std::string_view line = trimmed(text);
  if (line.size() > kLongestLine_bytes)
    return Error{ErrorCode::kBadLine, "found " + std::to_string(line.size()) +
                                          " characters in one line, needed one reading a line"};
  for (const char c : line)  // a control character inside would break the file's line
    if ((static_cast<unsigned char>(c) < 0x20 && c != '\t') || c == 0x7F) return bad_line(line, "x and y");
  const auto word_end = std::min(line.find_first_of(" \t,;"), line.size());
  const std::string word = lower(line.substr(0, word_end));
  const std::string_view rest = trimmed(line.substr(word_end));
  if (word == "chord") return parse_chord(line, rest, unit);
  if (word == "overlay") return parse_overlay(line, rest, unit);
  if (word == "two-point") return parse_two_point(line, rest, unit);
  if (word == "polar") return parse_polar(line, rest, unit);
  return parse_point(line, unit);
}

}  // namespace rondure
