// The form of an outline, as verdict.hpp judges it.
#pragma once
#include <string_view>

namespace rondure {

enum class OutlineForm { kNotJudged, kRound, kOval, kLobed, kIrregular, kUndecided };
std::string_view name(OutlineForm form);  // as in the record: "round" ...; empty when not judged
OutlineForm parse_outline_form(std::string_view name);  // kNotJudged for a name that is none
// The points showed a form, or that there is none.
constexpr bool is_told(OutlineForm form) {
  return form != OutlineForm::kNotJudged && form != OutlineForm::kUndecided;
}

}  // namespace rondure
