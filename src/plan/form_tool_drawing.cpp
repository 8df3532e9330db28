#include "form_tool_drawing.hpp"

#include <fmt/format.h>

#include <cmath>

#include "rondure/core/length.hpp"
#include "rondure/plan/section_drawing.hpp"

namespace rondure::plan {
namespace {

constexpr double kHeight = 60;  // mm of the sheet that a row of tools takes

At along(At from, double dx, double dy, double length) {
  return {from.x + dx * length, from.y + dy * length};
}

std::string radius_text(double mm) { return fmt::format("R{:.3f} ({:.4f} in)", mm, mm / kMmPerInch); }

// Side view: work on the left, tool on the right, edge at centre height.
void side_view(SvgSheet& sheet, const FormTool& t, At apex) {
  const double alpha = rad(t.clearance_deg), gamma = rad(t.rake_deg), work = 20;
  const auto on_work = [&](double angle) {
    return At{apex.x - work + work * std::cos(angle), apex.y - work * std::sin(angle)};
  };
  const At from = on_work(rad(-42)), to = on_work(rad(42));
  sheet.path(
      fmt::format("M{:.3f} {:.3f}A{:g} {:g} 0 0 0 {:.3f} {:.3f}", from.x, from.y, work, work, to.x, to.y));
  sheet.line({apex.x - work - 3, apex.y}, {apex.x + 4, apex.y}, SvgSheet::Line::kCentre);
  const At top = along(apex, std::cos(gamma), std::sin(gamma), 24),
           heel = along(apex, std::sin(alpha), std::cos(alpha), 23);
  sheet.closed({apex, top, {top.x, heel.y}, heel});
  sheet.text({apex.x - work + 2, apex.y - 3}, "work", 2.4);
  sheet.text({top.x - 2, top.y + 4}, "tool", 2.4, "end");
  sheet.line(apex, {apex.x, apex.y + 27});  // upright
  sheet.line(heel, along(apex, std::sin(alpha), std::cos(alpha), 27.5));
  sheet.text({apex.x - 1.5, apex.y + 24}, fmt::format("clearance {:g}\u00b0", t.clearance_deg), 2.4, "end");
  if (t.rake_deg != 0) {
    sheet.line(apex, {apex.x + 30, apex.y});
    sheet.text({top.x + 2, top.y}, fmt::format("rake {:g}\u00b0", t.rake_deg), 2.4);
  }
  // the gauge, square to the flank
  const At touch = along(apex, std::sin(alpha), std::cos(alpha), 13);
  const At out = along(touch, std::cos(alpha), -std::sin(alpha), 17);
  sheet.line(along(touch, -std::cos(alpha), std::sin(alpha), 5), out, SvgSheet::Line::kThin);
  sheet.path(fmt::format("M{:.3f} {:.3f}l{:.3f} {:.3f}l{:.3f} {:.3f}", touch.x + 1.8 * std::sin(alpha),
                         touch.y + 1.8 * std::cos(alpha), 1.8 * std::cos(alpha), -1.8 * std::sin(alpha),
                         -1.8 * std::sin(alpha), -1.8 * std::cos(alpha)),
             SvgSheet::Line::kThin);
  sheet.text({touch.x + 4, touch.y - 1.6 - 4 * std::sin(alpha)}, "gauge", 2.4);
}

// View square to the top face: the edge as it is, hollow for a crown, round for a groove.
void face_view(SvgSheet& sheet, const FormTool& t, bool hollow, At middle) {
  const double half = 13, radius = std::fmax(half, t.ground_radius_mm * 2 * half / t.width_mm);
  const At top{middle.x, middle.y - half}, bottom{middle.x, middle.y + half};
  sheet.path(
      fmt::format("M{0:.3f} {1:.3f}A{2:.3f} {2:.3f} 0 0 {3} {0:.3f} {4:.3f}L{5:.3f} {4:.3f}L{5:.3f} {1:.3f}Z",
                  top.x, top.y, radius, hollow ? 1 : 0, bottom.y, middle.x + 24));
  sheet.line({middle.x - 8, middle.y}, {middle.x + 28, middle.y}, SvgSheet::Line::kCentre);
  const double y = -0.5 * half, to_centre = std::sqrt(radius * radius - half * half);
  const double bulge = std::sqrt(radius * radius - y * y) - to_centre;
  const At edge{middle.x + (hollow ? bulge : -bulge), middle.y + y}, out{middle.x - 9, middle.y - half - 1};
  sheet.line(edge, out);
  sheet.arrow_head(edge, out);
  sheet.text({out.x - 1, out.y + 1}, fmt::format("R{:.3f}", t.ground_radius_mm), 2.4, "end");
}

}  // namespace

double draw_form_tools(SvgSheet& sheet, const ReplacementPlan& plan, double top) {
  if (plan.form_tools.empty()) return 0;
  double x = 6;
  for (const FormTool& stored : plan.form_tools) {
    const auto worked = correct_form_tool(stored.which, stored.wanted_radius_mm, stored.width_mm,
                                          stored.clearance_deg, stored.rake_deg);
    if (!worked || !(stored.width_mm > 0) || x > 100) continue;  // a plan from a file may hold what cannot be
    const FormTool& t = *worked;
    const bool section = t.which == FormToolCase::kSection;
    sheet.text(
        {x, top + 4},
        section ? "Form tool ground round along the flank" : "Form tool with a true arc in its top face", 2.8,
        "start", true, true);
    sheet.text({x, top + 8.5},
               section ? "side view; radius gauged square to the flank" : "seen square to the top face", 2.4);
    if (section)
      side_view(sheet, t, {x + 34, top + 23});
    else
      face_view(sheet, t, plan.crown.has_value(), {x + 28, top + 30});
    sheet.text({x, top + kHeight - 6},
               fmt::format("to cut R{:.3f} grind {}", t.wanted_radius_mm, radius_text(t.ground_radius_mm)),
               2.8);
    sheet.text({x, top + kHeight - 2},
               std::fabs(t.depth_factor - 1) < 1e-9
                   ? std::string("no correction")
                   : fmt::format("depths on the tool {:.4f} times those on the work", t.depth_factor),
               2.4);
    x += 90;
  }
  return x > 6 ? kHeight + 4 : 0;
}

std::string form_tool_svg(const ReplacementPlan& plan) {
  SvgSheet sheet;
  const double height = draw_form_tools(sheet, plan, 2);
  if (height == 0) return {};
  return sheet.document(180, height + 4, "Form tool: how each case is ground",
                        "Left: side view of a tool ground round along its flank. Right: a tool with a true "
                        "arc in its top face.");
}

}  // namespace rondure::plan
