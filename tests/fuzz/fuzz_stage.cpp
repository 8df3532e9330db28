// Stage calibration files: whatever is accepted corrects a reading to something finite and is written again
// the same.
#include <cmath>
#include <cstdint>
#include <cstdlib>

#include "rondure/readings/stage.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto stage = rondure::parse_stage_calibration(std::string(reinterpret_cast<const char*>(data), size));
  if (!stage) {
    if (stage.error().detail.empty()) std::abort();
    return 0;
  }
  const auto p = stage->part_from_stage({100, -50});
  if (!std::isfinite(p.x_mm) || !std::isfinite(p.y_mm) || !std::isfinite(stage->u_mean_scale_ratio()) ||
      !std::isfinite(stage->u_ovality_ratio()))
    std::abort();
  const auto again = rondure::parse_stage_calibration(rondure::to_json(*stage));
  if (!again || again->residuals.size() != stage->residuals.size()) std::abort();
  return 0;
}
