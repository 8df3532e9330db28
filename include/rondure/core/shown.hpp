// How lengths are shown: the number of decimals, which unit stands first, limits rounded inwards, lines broken at
// the terminal's width. Every text, page, sheet and drawing prints through here, so that one value is one figure
// everywhere.
#pragma once
#include <optional>
#include <string>
#include <string_view>

#include "rondure/core/geometry.hpp"
#include "rondure/core/ink.hpp"
#include "rondure/core/length.hpp"

namespace rondure {

// What the user asked of the text.
struct TextOptions {
  LengthUnit unit = LengthUnit::kMm;  // mm and um lead with mm, in and thou with inches
  std::size_t width = 80;             // columns of a line
  bool all = false;                   // every figure, not the four lines a feature
  Ink ink = plain_ink;                // colours what is good, doubtful or bad
};

// Decimals of mm for a standard uncertainty: two figures of u as long as those are tenths of a micrometre or more,
// then one; never so few that u reads 0. Without u four. Inches take one more.
int shown_decimals(std::optional<double> u_mm);

// A standard uncertainty with that many decimals; what would round to 0 is told as "<0.00001".
std::string u_text(double u, int decimals);

// Lengths in both units, the one asked for in front.
class LengthWords {
public:
  explicit LengthWords(LengthUnit asked = LengthUnit::kMm, std::string_view plus_minus = " +- ")
      : inch_first_(asked == LengthUnit::kInch || asked == LengthUnit::kThou), plus_minus_(plus_minus) {}
  bool inch_first() const { return inch_first_; }
  const char* symbol() const { return inch_first_ ? "in" : "mm"; }  // of the first unit
  // "12.452" or "0.49024": the first unit alone.
  std::string number(double mm, int decimals_mm) const;
  // "12.452 mm" or "0.49024 in"; with u "12.452 +- 0.006 mm".
  std::string one(double mm, int decimals_mm) const;
  std::string one_u(double mm, std::optional<double> u_mm) const;
  // The same in the other unit.
  std::string other(double mm, int decimals_mm) const;
  // "12.452 +- 0.006 mm   0.4902 +- 0.0002 in", or with brackets "12.452 +- 0.006 mm (0.4902 +- 0.0002 in)".
  std::string both(double mm, std::optional<double> u_mm, bool brackets = false) const;
  std::string both_at(double mm, int decimals_mm, bool brackets = true) const;
  // "12.419 to 12.469 mm   0.4889 to 0.4909 in"; the first unit alone for `one_range`.
  std::string range(const Interval& mm, int decimals_mm) const;
  std::string one_range(const Interval& mm, int decimals_mm) const;
  // A note or a reason that was put in words with mm in front ("0.044 mm (0.0017 in)", "an edge 6 mm up"): where inches
  // lead, each length with inches in front, those that had mm alone too. A length without a blank before its unit is what
  // somebody types and stays, as does a bore or tool that is called by its mm ("3 mm H7").
  std::string sentence(const std::string& text) const;

private:
  std::string value(double mm, std::optional<double> u_mm, int decimals_mm, bool inch) const;
  bool inch_first_;
  std::string_view plus_minus_;
};

// The largest and the smallest diameter of an oval as printed: their difference is the ovality as printed.
struct PrintedAxes {
  std::string major, minor;
};
PrintedAxes printed_axes(double major_mm, double minor_mm, double ovality_mm, int decimals_mm, bool inch);

// Limits of size as printed: rounded inwards, a lower limit up and an upper one down, so that what is inside the
// printed limits is inside those of the record. mm to 0.001 (finer where the limits are), inches to 0.00001. A target
// goes to the nearest figure within them; without limits it has 0.001 mm and 0.0001 in.
class PrintedLimits {
public:
  PrintedLimits(std::optional<double> lower_mm, std::optional<double> upper_mm,
                std::optional<double> target_mm = std::nullopt)
      : lower_mm_(lower_mm), upper_mm_(upper_mm), target_mm_(target_mm) {}
  // Empty where there is none.
  std::string lower(LengthUnit unit) const;
  std::string upper(LengthUnit unit) const;
  std::string target(LengthUnit unit) const;
  // "2.983 to 2.993", "up to 0.013", else the target.
  std::string range(LengthUnit unit, std::string_view to = " to ") const;

private:
  struct Figures {
    int decimals = 0;
    std::optional<double> lower, upper, target;  // in the unit, rounded
  };
  Figures figures(LengthUnit unit) const;
  std::optional<double> lower_mm_, upper_mm_, target_mm_;
};

// A chance in a text: "under 0.1 %", "1.2 %", "16 %".
std::string chance_words(double p);

// `text` with the first `word` in it marked; as it is without the word.
std::string marked(std::string text, std::string_view word, const Ink& ink, Says says);

// `text` in lines of at most `width` columns, the first behind `first`, the others behind `other`.
std::string wrapped(const std::string& text, const std::string& first, const std::string& other,
                    std::size_t width);

}  // namespace rondure
