#include "rondure/fit/outline_form.hpp"

namespace rondure {
namespace {
constexpr std::string_view kNames[] = {"", "round", "oval", "lobed", "irregular", "undecided"};
}

std::string_view name(OutlineForm form) { return kNames[static_cast<int>(form)]; }

OutlineForm parse_outline_form(std::string_view name) {
  for (int k = 1; k <= static_cast<int>(OutlineForm::kUndecided); ++k)
    if (kNames[k] == name) return static_cast<OutlineForm>(k);
  return OutlineForm::kNotJudged;
}

}  // namespace rondure
