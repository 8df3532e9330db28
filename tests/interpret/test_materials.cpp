#include <catch2/catch.hpp>
#include <cmath>

#include "rondure/interpret/materials.hpp"

using namespace rondure;

TEST_CASE("materials: names and words, any case", "[interpret][materials]") {
  CHECK(find_ageing_material("pom-c").name == "POM-C");
  CHECK(find_ageing_material(" Acetal ").name == "POM");
  CHECK(find_ageing_material("nylon 66").name == "PA66");
  CHECK(find_ageing_material("steel").metal);
  CHECK_FALSE(find_ageing_material("unobtainium").known);
  CHECK_FALSE(find_ageing_material("").known);
}

TEST_CASE("materials: every law is a probability law, and the moulding shrinkage is not in it",
          "[interpret][materials]") {
  for (const std::string& name : ageing_material_names()) {
    const AgeingMaterial m = find_ageing_material(name);
    INFO(name);
    CHECK(m.known);
    if (m.metal) {
      CHECK(m.law.exact());
      continue;
    }
    double mass = 0, mean = 0, square = 0;
    const int steps = 200000;
    const double step = (m.law.ceiling - m.law.floor) / steps;
    for (int i = 0; i < steps; ++i) {
      const double s = m.law.floor + (i + 0.5) * step, p = m.law.density(s) * step;
      mass += p, mean += p * s, square += p * s * s;
    }
    CHECK(mass == Approx(1).margin(1e-6));
    CHECK(m.law.mean() == Approx(mean).margin(1e-7));
    CHECK(m.law.sd() == Approx(std::sqrt(square - mean * mean)).margin(1e-7));
    CHECK_FALSE(m.levels.empty());
    double chance = 0;
    for (const MakingLevel& l : m.levels) chance += l.chance;
    CHECK(chance == Approx(1));
    CHECK(m.poisson_ratio > 0.25);
  }
  // acetal: 2 % in the mould, a few tenths of a percent with age
  const AgeingMaterial pom = find_ageing_material("POM-C");
  CHECK(pom.law.mean() < 0.004);
  CHECK(pom.moulding_percent.hi >= 2);
}

// Source: DIN 16742 table as transcribed in the project's trade facts, section 3 (TG6 and TG7, 10 to 18 mm).
TEST_CASE("materials: making scatter from the moulding tolerances", "[interpret][materials]") {
  const AgeingMaterial pom = find_ageing_material("POM-C"), abs = find_ageing_material("ABS");
  CHECK(moulding_sd_mm(pom, pom.levels[0], 12, false) == Approx(0.35 / 2));
  CHECK(moulding_sd_mm(pom, pom.levels[1], 12, false) == Approx(0.22 / 2));
  CHECK(moulding_sd_mm(pom, pom.levels[2], 12, false) == Approx(0.09 / 2));
  CHECK(moulding_sd_mm(pom, pom.levels[1], 12, true) == Approx(0.26 / 2));
  CHECK(moulding_sd_mm(abs, abs.levels[0], 3, false) == Approx(0.05 / 2));  // up to and including 3 mm
  CHECK(moulding_sd_mm(abs, abs.levels[0], 3.01, false) == Approx(0.08 / 2));
  CHECK(moulding_sd_mm(abs, abs.levels[0], 0.5, false) ==
        Approx(0.05 / 2));  // below the table: its first row
  CHECK(moulding_sd_mm(abs, abs.levels[0], 60, false) > moulding_sd_mm(abs, abs.levels[0], 30, false));
  const AgeingMaterial nbr = find_ageing_material("NBR");
  CHECK(moulding_sd_mm(nbr, nbr.levels[1], 12, false) == Approx(0.20 / 2));  // ISO 3302-1 M2
  CHECK(metal_sd_mm(3) == Approx(0.025 / 2));                                // IT9 of 3 mm: 25 um (ISO 286-1)
  CHECK(metal_sd_mm(12) == Approx(0.043 / 2));
}

TEST_CASE("materials: stated shrinkage", "[interpret][materials]") {
  const auto law = stated_shrinkage({0.003, 0.002});
  REQUIRE(law);
  CHECK(law->density(-1e-6) == 0);
  CHECK(law->density(0.003) > law->density(0.006));
  CHECK(stated_shrinkage({0.003, 0})->exact());
  CHECK_FALSE(stated_shrinkage({-0.01, 0.002}));
  CHECK_FALSE(stated_shrinkage({0.9, 0.002}));
}
