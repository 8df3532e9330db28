// Lengths, ratios, temperatures and units of the command line: finite or refused.
#include <cmath>
#include <cstdint>
#include <string>

#include "must.hpp"
#include "rondure/core/length.hpp"

using namespace rondure;

namespace {
template <class T>
void finite(const Result<T>& value) {
  if (!value) {
    must(!value.error().message().empty());
    return;
  }
  if constexpr (std::is_same_v<T, double>) {
    must(std::isfinite(*value));
  } else {
    must(std::isfinite(value->value) && std::isfinite(value->u) && value->u >= 0);
  }
}
}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  for (const LengthUnit unit : {LengthUnit::kMm, LengthUnit::kInch}) {
    finite(parse_length_mm(text, unit));
    finite(parse_length_with_u_mm(text, unit));
  }
  finite(parse_number(text));
  finite(parse_ratio(text));
  finite(parse_ratio_with_u(text));
  finite(parse_temperature_c(text));
  (void)parse_unit(text).has_value();
  return 0;
}
