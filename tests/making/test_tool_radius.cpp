#include <catch2/catch.hpp>
#include <cmath>

#include "rondure/making/crown.hpp"
#include "rondure/making/form_tool.hpp"
#include "rondure/making/tool_radius.hpp"

using namespace rondure;
using namespace rondure::plan;

// Common practice, no source: a radius of 0.518 in cut for a wanted 0.512 in over a 0.25 in width is off by
// 0.0002 in at the edges.
TEST_CASE("tool radius: 0.518 in for 0.512 in over a quarter inch is two tenths off at the edges",
          "[plan][tool]") {
  const WantedRadius wanted{"track", {0.512 * 25.4, 0.002 * 25.4}, 0.25 * 25.4};
  const auto r = rank_tools(wanted, {{"wheel", ToolKind::kWheel, 0.518 * 25.4, 0}});
  REQUIRE(r);
  const double inch = r->choices[0].edge_error_mm / 25.4;
  CHECK(std::round(std::fabs(inch) * 1e4) == 2);
  CHECK(inch < 0);  // larger radius: cuts less deep at the edges
  CHECK(r->choices[0].best_error_mm == Approx(std::fabs(r->choices[0].edge_error_mm) / 2));
  // exact by plane geometry
  const auto depth = [](double radius) { return radius - std::sqrt(radius * radius - 0.125 * 0.125); };
  CHECK(inch == Approx(depth(0.518) - depth(0.512)).epsilon(1e-9));
}

// Trade figure (derived): width 3, R 25 against 30: 7.5 um by (w^2/8)|1/R1 - 1/R2|.
TEST_CASE("tool radius: near-miss formula within a percent where the arc is flat", "[plan][tool]") {
  const auto r = rank_tools({"", {25, 0}, 3}, {{"a", ToolKind::kCutter, 30, 0}});
  CHECK(std::fabs(r->choices[0].edge_error_mm) == Approx(0.0075).epsilon(0.01));
}

TEST_CASE("tool radius: what the measurement can tell, by differences", "[plan][tool]") {
  const double radius = 13.0, u = 0.05, w = 6.35;
  const auto r = rank_tools({"", {radius, u}, w},
                            {{"near", ToolKind::kCutter, 13.05, 0}, {"far", ToolKind::kCutter, 13.5, 0}});
  const double h = 1e-5;
  const double slope = (*sagitta_mm(radius + h, w) - *sagitta_mm(radius - h, w)) / (2 * h);
  CHECK(r->measurement_can_tell_mm == Approx(2 * u * std::fabs(slope)).epsilon(1e-6));
  CHECK(r->choices[0].tool == "near");
  CHECK(r->choices[0].within_measurement);
  CHECK_FALSE(r->choices[1].within_measurement);
}

TEST_CASE("tool radius: the shelf with wraps, best first, too small named", "[plan][tool]") {
  const auto shelf = parse_tools(
      "# the shelf\nname,kind,radius,diameter,thickness,unit\narbor 25,arbor,,25,,mm\nball 1 "
      "in,cutter,0.5,,,in\n"
      "\"paper, wet\",paper,,,0.15,mm\ntiny,cutter,2,,,mm\n");
  REQUIRE(shelf);
  CHECK(shelf->size() == 4);
  const auto r = rank_tools({"track", {12.64, 0.02}, 6}, *shelf);
  REQUIRE(r);
  REQUIRE(r->choices.size() == 3);
  CHECK(r->choices[0].tool == "arbor 25 with paper, wet");
  CHECK(r->choices[0].radius_mm == Approx(12.65));
  CHECK(r->too_small == std::vector<std::string>{"tiny"});
  for (std::size_t i = 1; i < r->choices.size(); ++i)
    CHECK(std::fabs(r->choices[i - 1].edge_error_mm) <= std::fabs(r->choices[i].edge_error_mm));
}

TEST_CASE("tool radius: bad shelves are refused with the line", "[plan][tool]") {
  const std::string head = "name,kind,radius,diameter,thickness,unit\n";
  for (const char* bad :
       {"a,cutter,,,,mm", "a,cutter,1,2,,mm", "a,saw,1,,,mm", "a,cutter,-1,,,mm", "a,cutter,x,,,mm",
        "a,cutter,1,,,furlong", ",cutter,1,,,mm", "a,paper,1,,,mm", "a,cutter,,,1,mm"}) {
    const auto r = parse_tools(head + bad);
    INFO(bad);
    REQUIRE_FALSE(r);
    CHECK(r.error().code == ErrorCode::kBadLine);
    CHECK(r.error().detail.find("line 2") != std::string::npos);
  }
  CHECK_FALSE(parse_tools("").has_value());
  CHECK_FALSE(parse_tools("1,2,3\n").has_value());
  CHECK_FALSE(parse_tools(head).has_value());
  CHECK_FALSE(rank_tools({"", {3, 0}, 7}, {{"a", ToolKind::kCutter, 5, 0}}).has_value());
  CHECK_FALSE(rank_tools({"", {3, 0}, 2}, {{"p", ToolKind::kPaper, 0, 0.1}}).has_value());
}

TEST_CASE("crown: radius, height and edge diameter agree both ways", "[plan][crown]") {
  const auto c = crown_from_radius(12.5, 60, 8);
  REQUIRE(c);
  CHECK(c->height_mm == Approx(60 - std::sqrt(60 * 60 - 16.0)).epsilon(1e-10));
  CHECK(c->edge_diameter_mm == Approx(12.5 - 2 * c->height_mm));
  const auto back = crown_from_height(12.5, c->height_mm, 8);
  CHECK(back->radius_mm == Approx(60).epsilon(1e-9));
  CHECK(*sagitta_mm(1e7, 8) == Approx(64 / 8e7).epsilon(1e-9));
  CHECK_FALSE(crown_from_radius(12.5, 3, 8).has_value());
  CHECK_FALSE(crown_from_height(12.5, 0, 8).has_value());
  CHECK_FALSE(sagitta_mm(std::nan(""), 1).has_value());
}

namespace {
// Section case in space: a cylinder of radius rho about the flank direction f through the work plane's
// (depth, height) plane; where its flank meets the rake face, as depth towards the tool at `across`. Found by
// bisection on the edge.
double section_depth(double rho, double across, double alpha, double gamma) {
  // x points into the work, y up, z across. Flank direction falls away from the work by alpha; the cylinder
  // touches the origin from behind: its axis passes -rho * n, n the unit normal of the flank there.
  const double fx = -std::sin(alpha), fy = -std::cos(alpha), nx = std::cos(alpha), ny = -std::sin(alpha);
  const auto outside = [&](double t) {  // of the cylinder, at the point of the rake face at depth t
    const double px = -t + rho * nx, py = -t * std::tan(gamma) + rho * ny;
    const double along = px * fx + py * fy;
    const double qx = px - along * fx, qy = py - along * fy;
    return qx * qx + qy * qy + across * across - rho * rho;
  };
  double in = rho * 0.9, out = 0;  // inside the tool deep down, outside at depth 0
  for (int i = 0; i < 200; ++i) {
    const double mid = (in + out) / 2;
    (outside(mid) > 0 ? out : in) = mid;
  }
  return (in + out) / 2;
}
double apex_radius(double depth, double across) { return across * across / (2 * depth); }
}  // namespace

TEST_CASE("form tool: section case against the cylinder cut by the rake face in space", "[plan][form-tool]") {
  for (const double alpha : {0.0, 8.0, 15.0, 25.0})
    for (const double gamma : {-5.0, 0.0, 10.0}) {
      const auto t = correct_form_tool(FormToolCase::kSection, 5.0, 4.0, alpha, gamma);
      REQUIRE(t);
      INFO("clearance " << alpha << " rake " << gamma);
      const double across = 0.02;
      CHECK(apex_radius(section_depth(t->ground_radius_mm, across, rad(alpha), rad(gamma)), across) ==
            Approx(5.0).epsilon(1e-4));
      CHECK(apex_radius(section_depth(5.0, across, rad(alpha), rad(gamma)), across) ==
            Approx(t->uncorrected_radius_mm).epsilon(1e-4));
    }
}

TEST_CASE("form tool: projection case against the tilted arc", "[plan][form-tool]") {
  for (const double gamma : {0.0, 8.0, 15.0}) {
    const auto t = correct_form_tool(FormToolCase::kProjection, 5.0, 4.0, 12, gamma);
    REQUIRE(t);
    // the arc in its face, turned by gamma about the z axis, seen along y
    const double across = 0.02, in_face = *sagitta_mm(t->ground_radius_mm, 2 * across);
    CHECK(apex_radius(in_face * std::cos(rad(gamma)), across) == Approx(5.0).epsilon(1e-4));
    for (const FormPoint& p : t->profile)
      CHECK(p.tool_depth_mm * std::cos(rad(gamma)) == Approx(p.work_depth_mm).margin(1e-12));
  }
}

// Trade figures (derived): 8 deg 0.9903 / 1.0098, 15 deg 0.9659 / 1.0353.
TEST_CASE("form tool: the two cases go opposite ways", "[plan][form-tool]") {
  CHECK(correct_form_tool(FormToolCase::kSection, 1, 1, 8, 0)->uncorrected_radius_mm ==
        Approx(0.9903).margin(5e-5));
  CHECK(correct_form_tool(FormToolCase::kProjection, 1, 1, 8, 8)->uncorrected_radius_mm ==
        Approx(1.0098).margin(5e-5));
  CHECK(correct_form_tool(FormToolCase::kSection, 1, 1, 15, 0)->uncorrected_radius_mm ==
        Approx(0.9659).margin(5e-5));
  CHECK(correct_form_tool(FormToolCase::kProjection, 1, 1, 0, 15)->uncorrected_radius_mm ==
        Approx(1.0353).margin(5e-5));
  CHECK(correct_form_tool(FormToolCase::kProjection, 1, 1, 12, 0)->ground_radius_mm == 1);
}

TEST_CASE("form tool: circular tool by its triangle, and refusals", "[plan][form-tool]") {
  CHECK(*circular_form_tool_radius_mm(13, 5, 2) == Approx(std::sqrt(10.0 * 10 + 25)));  // 5-12-13 triangle
  CHECK(*circular_form_tool_radius_mm(13, 0, 2) == Approx(11));
  CHECK_FALSE(circular_form_tool_radius_mm(13, 14, 2).has_value());
  CHECK_FALSE(circular_form_tool_radius_mm(13, 5, 12).has_value());
  CHECK_FALSE(correct_form_tool(FormToolCase::kSection, 1, 3, 8, 0).has_value());
  CHECK_FALSE(correct_form_tool(FormToolCase::kSection, 1, 1, 50, 0).has_value());
  CHECK_FALSE(correct_form_tool(FormToolCase::kSection, 1, 1, std::nan(""), 0).has_value());
}
