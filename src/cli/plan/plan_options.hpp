// What is typed after `rondure plan`, and its meaning.
#pragma once
#include <string>
#include <vector>

#include "cli/terminal/command.hpp"
#include "rondure/plan/replacement_plan.hpp"

namespace rondure::cli {

// As typed; empty = not given.
struct PlanCommand {
  std::string record, material_new = "brass", material_old, shaft_material = "steel";
  std::vector<std::string> fits, interferences, choices;
  std::string shaft, tools, belt, speed, frequency, speed_error, speed_variation, run_out_old, belt_stiffness,
      rest_inertia;
  std::vector<std::string> widths_of;  // "WIDTH=OUTSIDE"
  std::string surface, crown, width, arc_width, radius, steps, clearance, rake, form_tool, copy;
  std::string drawing, outline, check_sheet, json, unit = "mm";
  std::string save;  // file; empty with saves = PART.json itself
  bool saves = false, quiet = false, shaft_material_given = false, all = false;
};

// Lengths, rates, files of tools and steps read. Errors: kBadArgument or kBadLength with the option's name in
// front; those of the files.
Result<plan::PlanOptions> read_options(const PlanCommand& c);

// Radii on the shelf; a line with a wrong word is left out, with what is wrong. Errors: when no line is right.
struct Shelf {
  std::vector<plan::ShelfTool> tools;
  std::vector<Warning> left_out;
};
Result<Shelf> read_shelf(const std::string& file, LengthUnit bare);

}  // namespace rondure::cli
