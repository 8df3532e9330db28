// Readings files and typed lines: whatever is accepted is finite, and reads back the same from the line the
// file keeps.
#include <cmath>
#include <cstdint>

#include "must.hpp"
#include "rondure/readings/points_file.hpp"
#include "rondure/readings/slip.hpp"

using namespace rondure;

namespace {

void whole_file(const std::string& text, LengthUnit unit) {
  const auto readings = parse_points(text, unit);
  if (!readings) {
    must(readings.error().detail.starts_with("line "));  // says where
    must(readings.error().message().find('\n') == std::string::npos);
    return;
  }
  for (const auto& p : readings->points)
    must(std::isfinite(p.at.x_mm) && std::isfinite(p.at.y_mm) && std::isfinite(p.sigma_mm) &&
         p.sigma_mm >= 0);
  must(std::isfinite(readings->resolution_mm) && readings->resolution_mm >= 0);
  must(readings->orientation_rad.empty() || readings->orientation_rad.size() == readings->points.size());
  for (const auto& place : readings->again)
    for (const int i : place) must(i >= 0 && std::size_t(i) < readings->points.size());
  if (const auto u = repeatability(*readings, {0, 0})) must(std::isfinite(u->s_mm));
}

void typed_line(const std::string& text, LengthUnit unit, int decimals) {
  const auto reading = parse_reading_line(with_decimals(text, decimals), unit);
  if (!reading) return;
  const auto again = parse_reading_line(reading->csv, unit);
  must(again && again->csv == reading->csv && again->value.index() == reading->value.index());
  must(reading->csv.find('\n') == std::string::npos);
  for (const auto& slip : possible_slips(reading->csv, unit))
    must(std::isfinite(slip.at.x_mm) && std::isfinite(slip.at.y_mm));
}

}  // namespace

// The first byte chooses the unit and the way in.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  constexpr LengthUnit kUnits[] = {LengthUnit::kMm, LengthUnit::kInch, LengthUnit::kThou,
                                   LengthUnit::kMicrometre};
  const LengthUnit unit = kUnits[data[0] % 4];
  const std::string text(reinterpret_cast<const char*>(data) + 1, size - 1);
  if ((data[0] & 4) == 0)
    whole_file(text, unit);
  else
    typed_line(text.substr(0, text.find('\n')), unit, (data[0] >> 3) % 9);
  return 0;
}
