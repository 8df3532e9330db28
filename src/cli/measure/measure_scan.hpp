// --scan: a flatbed scan instead of a photograph.
#pragma once
#include <string>
#include <vector>

#include "cli/terminal/command.hpp"
#include "rondure/measure/scan_source.hpp"

namespace rondure::cli {

struct ScanOption {
  bool given = false;
  std::string resolution;  // empty: that of the file
};
void add_scan_option(CLI::App& command, ScanOption& option);

// `photos`: a file that the parser took for the resolution goes back to the head of them. `calibration`: file of
// calibrate scanner, or empty.
Result<ScanAsked> scan_asked(const ScanOption& option, std::vector<std::string>& photos,
                             const std::string& calibration);
void add_calibrate_scanner(CLI::App& calibrate, Action& action);  // as those of command.hpp

}  // namespace rondure::cli
