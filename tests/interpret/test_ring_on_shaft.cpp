#include <catch2/catch.hpp>
#include <fstream>
#include <sstream>

#include "rondure/core/csv_table.hpp"
#include "rondure/interpret/ring_on_shaft.hpp"

using namespace rondure;

namespace {
CsvTable trade_table(const std::string& name) {
  std::ifstream in(std::string(RONDURE_TEST_DATA) + "/trade/" + name);
  std::stringstream text;
  text << in.rdbuf();
  return CsvTable(text.str());
}
}  // namespace

// Source: tests/data/trade/ring_on_shaft.csv, Lame's equations checked there against finite differences (n =
// 4000).
TEST_CASE("ring on shaft: the tabulated factors", "[interpret][ring]") {
  const CsvTable table = trade_table("ring_on_shaft.csv");
  REQUIRE(table.rows() == 65);
  for (std::size_t i = 0; i < table.rows(); ++i) {
    const double k = *table.number(i, "k_bore_over_OD"), nu = *table.number(i, "nu");
    INFO("k " << k << " nu " << nu);
    CHECK(held_ring_outer_share(k, nu) == Approx(*table.number(i, "outer_shrink_over_s")).margin(5.1e-6));
    CHECK(held_ring_pressure_share(k, nu) == Approx(*table.number(i, "p_over_Es")).margin(5.1e-6));
    CHECK(held_ring_hoop_share(k, nu) == Approx(*table.number(i, "hoop_bore_over_Es")).margin(5.1e-6));
    CHECK(stuck_ring_outer_share(k, nu) ==
          Approx(*table.number(i, "outer_shrink_over_s_axial_held")).margin(5.1e-6));
  }
}

TEST_CASE("ring on shaft: properties", "[interpret][ring]") {
  for (const double nu : {0.3, 0.38, 0.5}) {
    double before = 1.0001;
    for (double k = 0; k < 1; k += 0.05) {
      const double f = held_ring_outer_share(k, nu);
      CHECK(f < before);  // the thicker the shaft, the less the outside moves
      CHECK(f > 0);
      // hoop stress E s - nu p (trade facts, section 4)
      CHECK(held_ring_hoop_share(k, nu) == Approx(1 - nu * held_ring_pressure_share(k, nu)).epsilon(1e-12));
      before = f;
    }
  }
  // a clearance delays the hold: continuous at s = c, and the held formula without it
  CHECK(outer_shrinkage_with_clearance(0.002, 0.003, 0.3, 0.35) == 0.002);
  CHECK(outer_shrinkage_with_clearance(0.003 + 1e-12, 0.003, 0.3, 0.35) == Approx(0.003));
  CHECK(outer_shrinkage_with_clearance(0.004, 0, 0.3, 0.35) ==
        Approx(0.004 * held_ring_outer_share(0.3, 0.35)));
  CHECK(shrinkage_from_crack_gap(0.2, 3) == Approx(0.0212207).epsilon(1e-5));  // 0.2/(3 pi)
}
