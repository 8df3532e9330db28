// Sizes typed by hand: the SIZES.csv of the contract, one measured size a line.
//
//   name,kind,size,u,unit[,u_made][,minor]
//
// The header names the columns, in any order; comma, semicolon or tab separates (a decimal comma is accepted
// where the separator is no comma). `#` starts a comment; "# unit: in" gives the unit of lines without one.
// Numbers may carry their own unit ("0.4895in"). kind: outside, bore, bore-on-metal, width, arc (its radius)
// or metal. u: standard uncertainty of the measuring; u_made: standard deviation of the making. minor (ours):
// smallest diameter of an oval part, `size` being its largest.
#pragma once
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "rondure/core/feature_kind.hpp"
#include "rondure/core/length.hpp"
#include "rondure/core/result.hpp"

namespace rondure {

struct SizeLine {
  std::string name;
  FeatureKind kind;
  double size_mm = 0, u_mm = 0;
  std::optional<double> u_made_mm, minor_mm;
  int line = 0;
};

inline constexpr std::size_t kMostSizes = 200;

// Errors: kBadLine ("line 4: found ..., needed ..."), kNotFinite, kNoAnswer (no sizes).
Result<std::vector<SizeLine>> parse_sizes(const std::string& text, LengthUnit bare = LengthUnit::kMm);

}  // namespace rondure
