// The designers' size grids (`original --grids`): whatever is accepted weighs 1 in all and gives sizes in
// order.
#include <cmath>
#include <cstdint>
#include <string>

#include "must.hpp"
#include "rondure/interpret/size_grids.hpp"

using namespace rondure;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto grids = parse_size_grids({reinterpret_cast<const char*>(data), size});
  if (!grids) {
    must(!grids.error().detail.empty() && grids.error().message().find('\n') == std::string::npos);
    return 0;
  }
  must(!grids->metric.empty() || !grids->inch.empty());
  for (const UnitSystem system : {UnitSystem::kMetric, UnitSystem::kInch}) {
    double weight = 0;
    for (const SizeGrid& g : grids->of(system)) {
      must(std::isfinite(g.step_mm) && g.step_mm >= kFinestStep_mm && g.weight >= 0);
      weight += g.weight;
    }
    must(grids->of(system).empty() || std::abs(weight - 1) < 1e-9);
    double before_mm = 0;
    for (const GridSize& s : sizes_between(grids->of(system), 12, 12.02)) {
      must(s.size_mm > before_mm && std::isfinite(s.prior_weight));
      must(!size_label(s.size_mm, system).empty());
      before_mm = s.size_mm;
    }
  }
  return 0;
}
