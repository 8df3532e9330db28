#include "cli/measure/measure_scan.hpp"

#include <filesystem>

namespace rondure::cli {
void add_scan_option(CLI::App& command, ScanOption& option) {
  command
      .add_option_function<std::vector<std::string>>(
          "--scan",
          [&option](const std::vector<std::string>& values) {
            option.given = true;
            if (!values.empty()) option.resolution = values.front();
          },
          "a flatbed scan: resolution from the file, or as given (--scan 600dpi); --calibration then takes a "
          "scanner's "
          "file (calibrate scanner)")
      ->expected(0, 1)
      ->trigger_on_parse()
      ->type_name("RESOLUTION");
}

Result<ScanAsked> scan_asked(const ScanOption& option, std::vector<std::string>& photos,
                             const std::string& calibration) {
  ScanAsked out;
  std::error_code ignored;
  if (!option.resolution.empty()) {
    const auto stated = parse_resolution(option.resolution);
    if (stated)
      out.stated = *stated;
    else if (std::filesystem::exists(option.resolution, ignored))
      photos.insert(photos.begin(), option.resolution);  // "--scan a.png b.png"
    else
      return stated.error();
  }
  if (calibration.empty()) return out;
  auto scanner = load_scanner(calibration);
  if (!scanner) return scanner.error();
  out.scanner = std::move(*scanner);
  return out;
}

}  // namespace rondure::cli
