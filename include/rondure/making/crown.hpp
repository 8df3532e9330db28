// Crowned rollers: height, radius and width of the crown. A crown of radius Rc over a face of width w falls
// by h = Rc - sqrt(Rc^2 - w^2/4) at its edges on the radius (about w^2/(8 Rc)); derived, plane geometry.
// Lengths mm.
#pragma once
#include <string>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"

namespace rondure::plan {

// Sagitta of an arc of this radius over this chord, without loss of digits. Errors: kBadArgument (chord over
// 2 R).
Result<double> sagitta_mm(double radius_mm, double chord_mm);

struct Crown {
  double radius_mm = 0, width_mm = 0;
  double height_mm = 0;  // on the radius: how far the edges lie below the middle
  double edge_diameter_mm = 0;
};
// Errors: kBadArgument.
Result<Crown> crown_from_radius(double apex_diameter_mm, double crown_radius_mm, double width_mm);
Result<Crown> crown_from_height(double apex_diameter_mm, double height_mm, double width_mm);

// What is usual for flat belts, in words with its source, for an apex diameter: published crown heights start
// at 25 mm; below that the original's crown is to be copied.
std::string usual_crown(double apex_diameter_mm);

}  // namespace rondure::plan
