// Form of the orders 9 to 30 behind that of a family to order 8: neighbouring points share it, so that among many readings
// of an arc it is no scatter that is free from point to point (a spectrum to order 30, 360 readings over 120 degrees: radius
// held 82 to 85 % when it was taken for that).
#pragma once
#include <vector>

#include "rondure/fit/form_prior.hpp"

namespace rondure {

// By judgement. The spectra that study_readings_coverage draws end there too; its "laws" (12 lobes, the orders 2 to 8 alike) are
// drawn otherwise.
inline constexpr int kFormHighestOrder = 30;

// `share` (to order 8) with the orders 9 to 30 behind it, whose amplitude falls as 1/k and whose rms is `rest` times tau.
std::vector<double> with_higher_orders(std::vector<double> share, double rest);
// All round by six readings, the noise told.
const FormPrior& six_readings_form_prior();
// Dense edge with a sector left out, orders from kTextureFirstOrder on: none, alike up to some order between 10 and 40 (the
// points say which), or falling as 1/k to 30. What the texture does within the gap is then as unsure as its own spectrum
// leaves it.
inline constexpr int kTextureFirstOrder = 6;
const FormPrior& texture_beside_a_gap();
// Highest order that any family has; 0 where none has columns.
int last_order(const FormPrior& prior, int first_order);

// Arcs of dense points whose neighbours share errors (photographs), and a gap in readings all round; else arc_form_prior.
const FormPrior& dense_arc_form_prior();

}  // namespace rondure
