// Point sets with certified answers, and our answers beside them. Text form, one item a line; # starts a
// comment:
//   set NAME
//   source TEXT
//   value QUANTITY CERTIFIED ALLOWED [PUBLISHED]     ALLOWED: largest difference that passes
//   point X Y
// QUANTITY: circle.r, circle.cx, circle.cy (geometric least squares), ellipse.a, ellipse.b, ellipse.cx,
// ellipse.cy (orthogonal distance), circumscribed.r, zone.width.
#pragma once
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"

namespace rondure::cli {

struct ReferenceValue {
  std::string quantity, published;  // published: as printed in the source; empty = none
  double certified = 0, allowed = 0;
};

struct ReferenceSet {
  std::string name, source;
  std::vector<ReferenceValue> values;
  std::vector<PartPoint> points;
};

// Errors: kBadLine with the number of the line.
Result<std::vector<ReferenceSet>> parse_reference_sets(std::string_view text);

struct CheckedValue {
  ReferenceValue reference;
  std::optional<double> ours;  // absent = refused
  std::string refusal;
  int digits = 0;  // leading digits in which ours agrees with the certified value, at most 15
  bool passed = false;
};

std::vector<CheckedValue> check(const ReferenceSet& set);

}  // namespace rondure::cli
