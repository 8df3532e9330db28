#include "rondure/core/shown.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace rondure {
namespace {

std::string without_minus_zero(double value, int decimals) {
  char buffer[64];
  std::snprintf(buffer, sizeof buffer, "%.*f", decimals, value);
  const std::string text = buffer;
  return text.find_first_not_of("-0.") == std::string::npos && text.front() == '-' ? text.substr(1) : text;
}

double to_grid(double value, int decimals) {
  const double grid = std::pow(10.0, decimals);
  return std::round(value * grid) / grid;
}

// Columns that a UTF-8 text takes: its bytes without those that continue a sign.
std::size_t columns(std::string_view text) {
  return static_cast<std::size_t>(
      std::ranges::count_if(text, [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
}

// Coarsest figures of limits in a unit.
int usual_decimals(LengthUnit unit) {
  switch (unit) {
    case LengthUnit::kMm:
      return 3;
    case LengthUnit::kInch:
      return 5;
    case LengthUnit::kThou:
      return 2;
    case LengthUnit::kMicrometre:
      return 0;
  }
  return 3;
}

// Whether a limit is a whole micrometre.
bool is_coarse(const std::optional<double>& mm) {
  return !mm || std::fabs(*mm * 1000 - std::round(*mm * 1000)) < 0.02;
}

constexpr double kSlack = 1e-4;  // of the last figure: what binary numbers leave of a decimal one

}  // namespace

int shown_decimals(std::optional<double> u_mm) {
  if (!u_mm || !(*u_mm > 0)) return 4;
  const int two_figures = decimals_for_u(*u_mm);
  return two_figures <= 4 ? two_figures : std::max(4, two_figures - 1);
}

std::string u_text(double u, int decimals) {
  const double last = std::pow(10.0, -decimals);
  return u < last / 2 ? "<" + without_minus_zero(last, decimals) : without_minus_zero(u, decimals);
}

std::string LengthWords::value(double mm, std::optional<double> u_mm, int decimals_mm, bool inch) const {
  const double unit = inch ? kMmPerInch : 1;
  const int decimals = decimals_mm + (inch ? 1 : 0);
  std::string text = without_minus_zero(mm / unit, decimals);
  if (u_mm) text += std::string(plus_minus_) + u_text(*u_mm / unit, decimals);
  return text + (inch ? " in" : " mm");
}

std::string LengthWords::number(double mm, int decimals_mm) const {
  return inch_first_ ? without_minus_zero(mm / kMmPerInch, decimals_mm + 1)
                     : without_minus_zero(mm, decimals_mm);
}

std::string LengthWords::one(double mm, int decimals_mm) const {
  return value(mm, std::nullopt, decimals_mm, inch_first_);
}

std::string LengthWords::one_u(double mm, std::optional<double> u_mm) const {
  return value(mm, u_mm, shown_decimals(u_mm), inch_first_);
}

std::string LengthWords::other(double mm, int decimals_mm) const {
  return value(mm, std::nullopt, decimals_mm, !inch_first_);
}

std::string LengthWords::both(double mm, std::optional<double> u_mm, bool brackets) const {
  const int decimals = shown_decimals(u_mm);
  const std::string second = value(mm, u_mm, decimals, !inch_first_);
  return value(mm, u_mm, decimals, inch_first_) + (brackets ? " (" + second + ")" : "   " + second);
}

std::string LengthWords::both_at(double mm, int decimals_mm, bool brackets) const {
  const std::string second = other(mm, decimals_mm);
  return one(mm, decimals_mm) + (brackets ? " (" + second + ")" : "   " + second);
}

std::string LengthWords::one_range(const Interval& mm, int decimals_mm) const {
  return number(mm.lo, decimals_mm) + " to " + one(mm.hi, decimals_mm);
}

std::string LengthWords::range(const Interval& mm, int decimals_mm) const {
  const LengthWords second(inch_first_ ? LengthUnit::kMm : LengthUnit::kInch, plus_minus_);
  return one_range(mm, decimals_mm) + "   " + second.one_range(mm, decimals_mm);
}

PrintedAxes printed_axes(double major_mm, double minor_mm, double ovality_mm, int decimals_mm, bool inch) {
  const double unit = inch ? kMmPerInch : 1;
  const int decimals = decimals_mm + (inch ? 1 : 0);
  const double ovality = to_grid(ovality_mm / unit, decimals);
  const double minor = to_grid(((major_mm + minor_mm) / unit - ovality) / 2, decimals);
  return {without_minus_zero(minor + ovality, decimals), without_minus_zero(minor, decimals)};
}

PrintedLimits::Figures PrintedLimits::figures(LengthUnit unit) const {
  Figures f;
  const double per = mm_per(unit);
  if (!lower_mm_ && !upper_mm_) {
    f.decimals = usual_decimals(unit) - (unit == LengthUnit::kInch || unit == LengthUnit::kThou ? 1 : 0);
    if (target_mm_) f.target = *target_mm_ / per;
    return f;
  }
  f.decimals = usual_decimals(unit);
  const bool metric = unit == LengthUnit::kMm || unit == LengthUnit::kMicrometre;
  if (metric && !(is_coarse(lower_mm_) && is_coarse(upper_mm_) && is_coarse(target_mm_))) ++f.decimals;
  for (constexpr int kMostDecimals = 9; f.decimals <= kMostDecimals; ++f.decimals) {
    const double grid = std::pow(10.0, f.decimals);
    if (lower_mm_) f.lower = std::ceil(*lower_mm_ / per * grid - kSlack) / grid;
    if (upper_mm_) f.upper = std::floor(*upper_mm_ / per * grid + kSlack) / grid;
    if (!f.lower || !f.upper || *f.lower <= *f.upper) break;
  }
  if (target_mm_) {
    f.target = to_grid(*target_mm_ / per, f.decimals);
    if (f.lower) f.target = std::max(*f.target, *f.lower);
    if (f.upper) f.target = std::min(*f.target, *f.upper);
  }
  return f;
}

std::string PrintedLimits::lower(LengthUnit unit) const {
  const Figures f = figures(unit);
  return f.lower ? without_minus_zero(*f.lower, f.decimals) : "";
}
std::string PrintedLimits::upper(LengthUnit unit) const {
  const Figures f = figures(unit);
  return f.upper ? without_minus_zero(*f.upper, f.decimals) : "";
}
std::string PrintedLimits::target(LengthUnit unit) const {
  const Figures f = figures(unit);
  return f.target ? without_minus_zero(*f.target, f.decimals) : "";
}
std::string PrintedLimits::range(LengthUnit unit, std::string_view to) const {
  if (lower_mm_ && upper_mm_) return lower(unit) + std::string(to) + upper(unit);
  if (upper_mm_) return "up to " + upper(unit);
  if (lower_mm_) return "from " + lower(unit);
  return target(unit);
}

std::string marked(std::string text, std::string_view word, const Ink& ink, Says says) {
  if (const auto at = text.find(word); at != std::string::npos)
    text.replace(at, word.size(), ink(says, std::string(word)));
  return text;
}

std::string chance_words(double p) {
  if (p < 0.001) return "under 0.1 %";
  return without_minus_zero(100 * p, p < 0.0995 ? 1 : 0) + " %";
}

std::string wrapped(const std::string& text, const std::string& first, const std::string& other,
                    std::size_t width) {
  std::string out, line = first;
  bool fresh = true;  // nothing but the indent yet
  std::size_t at = 0;
  while (at < text.size()) {
    const auto space = std::min(text.find(' ', at), text.size());
    const std::string word = text.substr(at, space - at);
    if (!fresh && columns(line) + columns(word) + 1 > width) {
      out += line + '\n';
      line = other;
      fresh = true;
    }
    if (!line.empty() && line.back() != ' ') line += ' ';
    line += word;
    fresh = false;
    at = space + 1;
  }
  return out + line + '\n';
}

}  // namespace rondure
