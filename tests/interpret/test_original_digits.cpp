// 2026-11: sets learn the habits of a designer; a part asked alone must answer to the digit as it did before. The figures
// are those of the program as it stood then.
#include <catch2/catch.hpp>

#include "rondure/interpret/original.hpp"

using namespace rondure;

TEST_CASE("original: one part alone answers to the digit as before there were sets", "[original]") {
  const std::vector<SizeObservation> sizes = {{"outside", "outside", 12.437, 0.006, {}, {}, 0},
                                              {"bore", "bore-on-metal", 3.004, 0.004, {}, {}, 0},
                                              {"width", "width", 7.961, 0.01, {}, {}, 0},
                                              {"hub", "outside", 6.21, 0.008, 0.02, 0.03, 0.006},
                                              {"pin", "metal", 3.001, 0.002, {}, {}, 0}};
  OriginalOptions options;
  options.material = "POM-C";
  options.may_be_worn = {"outside"};
  options.evidence = {{"width", {8.0, 0.2}, "stated"}};
  const auto r = infer_original(sizes, options);
  REQUIRE(r);
  const auto same = [](double found, double before) { CHECK(found == Approx(before).epsilon(1e-12)); };
  same(r->log_evidence, 6.67905751834918);
  same(r->p_metric, 0.999929818809373);
  same(r->shrinkage_mean, 0.00347573961692568);
  same(r->shrinkage95.hi, 0.00958336707719979);
  const struct {
    const char* best;
    double probability, rest, unshrunk_mm;
  } before[] = {{"12.5 mm", 0.630180803276265, 0.0211841581381065, 12.476816680167},
                {"3 mm", 0.997938913831606, 0.00206108616839351, 3.00400000000001},
                {"8 mm", 0.916462730798108, 0.0116717576118503, 7.98880314145103},
                {"6.2 mm", 0.521030168773664, 0.00327453357762675, 6.22497676340089},
                {"3 mm", 0.998123561613054, 0.00187643838694562, 3.001}};
  for (std::size_t i = 0; i < sizes.size(); ++i) {
    const OriginalFeature& f = r->features[i];
    CHECK(f.candidates[0].label == before[i].best);
    same(f.candidates[0].probability, before[i].probability);
    CHECK(f.rest_probability == Approx(before[i].rest).margin(1e-12));
    same(f.unshrunk_mm.value, before[i].unshrunk_mm);
  }
  REQUIRE(r->measure_next.size() == 2);
  same(r->measure_next[0].expected_gain_bits, 0.962912363490224);
}
