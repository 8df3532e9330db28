#include <catch2/catch.hpp>

#include "../../src/photo/edge/normal_table.hpp"

using namespace rondure;

TEST_CASE("normal table: within 3e-10 of the law, its ends included", "[edges]") {
  double worst = 0;
  for (int i = 0; i <= 120'000; ++i) {
    const double z = -6 + i * 1e-4;
    worst = std::max({worst, std::abs(normal_table().cdf(z) - normal_cdf(z)),
                      std::abs(normal_table().density(z) - normal_density(z))});
  }
  CHECK(worst < 3e-10);
  CHECK(normal_table().cdf(0) == Approx(0.5).margin(1e-15));
}
