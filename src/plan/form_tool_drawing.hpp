// The two ways to grind a form tool, side by side, on a sheet 180 mm wide.
#pragma once
#include "rondure/plan/replacement_plan.hpp"
#include "svg_sheet.hpp"

namespace rondure::plan {

// Draws from `top` down; returns the height used, 0 without a form tool.
double draw_form_tools(SvgSheet& sheet, const ReplacementPlan& plan, double top);

}  // namespace rondure::plan
