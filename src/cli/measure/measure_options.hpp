// The command line of `measure`.
#pragma once
#include <string>
#include <vector>

#include "cli/measure/measure_edges.hpp"
#include "cli/measure/measure_scan.hpp"
#include "cli/measure/measure_side.hpp"
#include "cli/measure/measure_turned.hpp"
#include "cli/measure/measure_views.hpp"
#include "cli/terminal/command.hpp"
#include "rondure/measure/measure_photo.hpp"

namespace rondure::cli {

struct MeasureOptions {
  CommonOptions common;
  std::vector<std::string> photos;
  std::string calibration, board, square, board_uncertainty, height, scale, near, form, overlay, outlines,
      csv, channel;
  std::vector<std::string> references;
  ScanOption scan;
  bool linear = false, srgb = false, all = false;
  int threads = 0;  // 0 = as many as the machine has
  SideWords side;
  EdgeWords edges;
  ViewsWords views;
  TurnedWords turned;
};

void add_measure_options(CLI::App& command, MeasureOptions& options);

// What the command line says, read once for all photographs; whether their samples are linear light is noted in it.
// Errors: kBadArgument, kCalibrationMismatch and those of the files that it names.
Result<PhotoOptions> photo_options(MeasureOptions& given);

}  // namespace rondure::cli
