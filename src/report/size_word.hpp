// What the first size of a feature is called.
#pragma once
#include "rondure/interpret/feature.hpp"

namespace rondure {

inline const char* size_word(const Feature& feature, bool by_radius) {
  if (feature.kind == FeatureKind::kWidth) return "width";
  return by_radius ? "radius" : "diameter";
}

}  // namespace rondure
