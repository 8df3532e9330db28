// What a form A beside noise adds up to, from its tridiagonal shape: m steps for each ratio r of the one to the other.
#pragma once
#include <span>

#include "few_components.hpp"

namespace rondure {

struct FormSums {
  double log_det = 0;    // ln det(1 + r A)
  double explained = 0;  // r v'(1 + r A)^-1 v, v the last of the vectors; A has no negative eigenvalue
};
// For each of `r`, 0 or more; as many `out`.
void form_sums(const Tridiagonal& form, std::span<const double> r, std::span<FormSums> out);

}  // namespace rondure
