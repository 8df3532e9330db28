// The filled-in check sheet of `compare`: whatever is accepted is finite, with an uncertainty of 0 or more.
#include <cmath>
#include <cstdint>
#include <string>

#include "must.hpp"
#include "rondure/record/filled_sheet.hpp"

using namespace rondure;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto sheet =
      parse_filled_sheet(std::string(reinterpret_cast<const char*>(data), size), {{"bore", 0.002}});
  if (!sheet) {
    must(!sheet.error().detail.empty() && sheet.error().message().find('\n') == std::string::npos);
    return 0;
  }
  must(!sheet->features.empty());
  for (const Feature& f : sheet->features) {
    must(f.circle && std::isfinite(f.circle->diameter_mm));
    must(!f.circle->u_diameter_mm ||
         (std::isfinite(*f.circle->u_diameter_mm) && *f.circle->u_diameter_mm >= 0));
  }
  for (const auto& [name, planned] : sheet->limits) {
    must(std::isfinite(planned.target_mm));
    for (const auto& limit : {planned.limits.lower_mm, planned.limits.upper_mm})
      must(!limit || std::isfinite(*limit));
  }
  return 0;
}
