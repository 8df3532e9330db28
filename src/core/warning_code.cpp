#include "rondure/core/warning_code.hpp"

namespace rondure {

std::string_view word(WarningCode code) {
  switch (code) {
    case WarningCode::kOther:
      return "";
    case WarningCode::kEccentricity:
      return "eccentricity";
    case WarningCode::kClippedLight:
      return "clipped-light";
    case WarningCode::kFlanksDiffer:
      return "flanks-differ";
    case WarningCode::kSizeUndecided:
      return "size-undecided";
  }
  return "";
}

WarningCode code_of(const Warning& warning) {
  for (const WarningCode code : {WarningCode::kEccentricity, WarningCode::kClippedLight,
                                 WarningCode::kFlanksDiffer, WarningCode::kSizeUndecided})
    if (warning.code == word(code)) return code;
  return WarningCode::kOther;
}

bool is_caution(const Warning& warning) { return code_of(warning) != WarningCode::kEccentricity; }

}  // namespace rondure
