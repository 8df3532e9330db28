// Drawings of the replacement.
//
// section_svg: a dimensioned full section, true to scale (a scale of ISO 5455, stated on the sheet), first in
// mm with inches in brackets. Limits of size are written out (ISO 129-1); roundness and circular run-out
// stand in tolerance frames with their symbols against the bore as datum A (ISO 1101); the section is hatched
// at 45 degrees (ISO 128). The form tool, where there is one, stands below: how each case is ground. No
// script, no external font, no ids: several may stand in one page. form_tool_svg: that part alone, not to
// scale. outline_*: the same section as bare geometry at 1:1 in mm for people who draw on: DXF (ASCII, R12:
// LINE and ARC on the layers OUTLINE and AXIS) or SVG. Axis of the part along x, left end at x = 0.
//
// A plan without an outside size, or with steps that cannot be, has no drawing: empty text. Where the width
// is not known, the section is drawn half as wide as its diameter and its width is marked "?".
#pragma once
#include <string>

#include "rondure/plan/replacement_plan.hpp"

namespace rondure::plan {

std::string section_svg(const ReplacementPlan& plan);
std::string form_tool_svg(const ReplacementPlan& plan);
std::string outline_dxf(const Profile& profile);
std::string outline_svg(const Profile& profile);

// What is seen of it from the side, left to right: points (z along the axis, r).
std::vector<Eigen::Vector2d> outside_line(const Profile& profile);

// One half of the section as a closed line of points (z along the axis, r), crowns in steps of at most 2
// degrees.
std::vector<Eigen::Vector2d> half_section(const Profile& profile);

}  // namespace rondure::plan
