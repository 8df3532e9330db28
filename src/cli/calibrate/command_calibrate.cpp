#include "cli/measure/measure_scan.hpp"
#include "cli/terminal/command.hpp"

namespace rondure::cli {

void add_calibrate(CLI::App& program, Action& action) {
  CLI::App* calibrate = program.add_subcommand(
      "calibrate",
      "Calibrates the instrument: camera, measuring plane, scale, board, scanner or comparator stage.");
  calibrate->require_subcommand(1);
  add_calibrate_camera(*calibrate, action);
  add_calibrate_plane(*calibrate, action);
  add_calibrate_scale(*calibrate, action);
  add_calibrate_board(*calibrate, action);
  add_calibrate_board_print(*calibrate, action);
  add_calibrate_scanner(*calibrate, action);
  add_calibrate_stage(*calibrate, action);
}

}  // namespace rondure::cli
