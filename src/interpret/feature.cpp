#include "rondure/interpret/feature.hpp"

namespace rondure {
namespace {
constexpr std::string_view kSourceTypes[] = {"", "photo", "readings", "chord", "overlay", "two-point"};
}

std::string_view name(SourceType type) { return kSourceTypes[static_cast<int>(type)]; }

SourceType parse_source_type(std::string_view name) {
  for (int k = 1; k <= static_cast<int>(SourceType::kTwoPoint); ++k)
    if (kSourceTypes[k] == name) return static_cast<SourceType>(k);
  return SourceType::kUnknown;
}

}  // namespace rondure
