// The sizes file of `original --sizes`: whatever is accepted holds named sizes above their uncertainty.
#include <cmath>
#include <cstdint>
#include <string>

#include "must.hpp"
#include "rondure/readings/sizes_file.hpp"

using namespace rondure;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const LengthUnit unit = data[0] % 2 == 0 ? LengthUnit::kMm : LengthUnit::kInch;
  const auto sizes = parse_sizes(std::string(reinterpret_cast<const char*>(data) + 1, size - 1), unit);
  if (!sizes) {
    must(!sizes.error().detail.empty() && sizes.error().message().find('\n') == std::string::npos);
    return 0;
  }
  must(!sizes->empty() && sizes->size() <= kMostSizes);
  for (const SizeLine& s : *sizes) {
    must(!s.name.empty() && s.line > 0);
    must(std::isfinite(s.size_mm) && s.u_mm >= 0 && s.u_mm < s.size_mm);
    must(!s.u_made_mm || (std::isfinite(*s.u_made_mm) && *s.u_made_mm >= 0));
    must(!s.minor_mm || (*s.minor_mm > 0 && *s.minor_mm <= s.size_mm));
  }
  return 0;
}
