// Correction of a form tool for clearance and rake: the radius to grind so that the wanted radius is cut. Two
// different cases, kept apart (derived; checked against the geometry in space):
//
//   Section     The flank is ground as a cylinder of radius rho about the flank direction; a radius gauge is
//   held square to
//               the flank. The edge lies in the rake face. Depth square to the flank = work depth * cos(alpha
//               + gamma) / cos(gamma); apex radius to grind rho = R cos(gamma) / cos(alpha + gamma). Without
//               rake rho = R / cos(alpha), and a tool ground to R cuts R cos(alpha).
//   Projection  The edge is a true arc R_t in its own face (seen in a picture square to the face), and the
//   face is tilted by
//               gamma to the axial plane of the work. Depth shrinks by cos(gamma): apex radius cut = R_t /
//               cos(gamma), so R_t = R cos(gamma).
// With no rake and an arc ground true in the horizontal plane there is nothing to correct.
// Valid for work radii large against the form depth, edge at centre height. Apex radii; over a wide arc a fit
// sees less. Lengths mm, angles deg: clearance alpha in [0, 40], rake gamma in [-20, 40], alpha + gamma
// under 80.
#pragma once
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"

namespace rondure::plan {

enum class FormToolCase { kSection, kProjection };

struct FormPoint {
  double across_mm = 0;      // along the axis of the work, 0 in the middle
  double work_depth_mm = 0;  // below the apex, on the part
  double tool_depth_mm =
      0;  // below the apex, on the tool: square to the flank (section) or in the face (projection)
};

struct FormTool {
  FormToolCase which = FormToolCase::kSection;
  double clearance_deg = 0, rake_deg = 0;
  double wanted_radius_mm = 0, width_mm = 0;
  double ground_radius_mm = 0;       // apex radius to grind
  double uncorrected_radius_mm = 0;  // what a tool ground to the wanted radius would cut
  double depth_factor = 1;           // tool depth over work depth
  std::vector<FormPoint> profile;    // 21 points over the width
};
// Errors: kBadArgument.
Result<FormTool> correct_form_tool(FormToolCase which, double wanted_radius_mm, double width_mm,
                                   double clearance_deg, double rake_deg);

// Circular form tool: its axis lies `offset_mm` above the edge (which is at centre height); radius of the
// tool at work depth t for the radius R_o that cuts depth 0: sqrt((sqrt(R_o^2 - o^2) - t)^2 + o^2). Errors:
// kBadArgument.
Result<double> circular_form_tool_radius_mm(double outer_radius_mm, double offset_mm, double work_depth_mm);

}  // namespace rondure::plan
