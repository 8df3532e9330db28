// Single figures and words of the page, worked by hand from the sample record.
#include <catch2/catch.hpp>

#include "rondure/record/plan_section.hpp"
#include "rondure/report/comparison_text.hpp"
#include "rondure/report/feature_text.hpp"
#include "rondure/report/page.hpp"
#include "sample_record.hpp"

using namespace rondure;

namespace {}  // namespace

TEST_CASE("page: a crown is given by its radius, wherever it stands", "[report][page]") {
  // The sample's crown: diameter 26.01 +- 0.8 mm, so R 13.005 +- 0.40 mm.
  const PartRecord record = sample::roller();
  for (const std::string& page : {report_page(record, sample::page_options()), report_page(record, {})}) {
    CHECK(has(page, "13.00"));
    CHECK(has(page, "\u00b1 0.40"));
    CHECK_FALSE(has(page, "26.01"));
    CHECK_FALSE(has(page, "\u00b1 0.80"));
  }
  PartRecord alone = record;  // then the opening lines tell of it
  alone.features = {record.features[1]};
  alone.original.reset();
  const std::string page = report_page(alone, {});
  CHECK(has(page, "13.00"));
  CHECK_FALSE(has(page, "26.01"));
}

TEST_CASE("page: the chance that a round part shows as much", "[report][page]") {
  PartRecord record = sample::roller();
  record.features[0].ellipse->p_round = 0.0623;
  CHECK(has(report_page(record, {}), "6.2 %"));
}

TEST_CASE("page: roundness in mm and inch, places left out above and below", "[report][page]") {
  const std::string page = report_page(sample::roller(), sample::page_options());
  CHECK(has(page, "0.0312"));
  CHECK(has(page, "0.00123"));  // 0.0312 / 25.4
  CHECK(has(page, "0.120 mm above the outline"));
  CHECK(has(page, "0.030 mm below the outline"));
}

TEST_CASE("page: every caution and every limit of the plan stands on it", "[report][page]") {
  PartRecord record = sample::roller();
  record.replacement = *parse_plan(sample::plan());
  const std::string page = report_page(record, sample::page_options());
  const auto& plan = record.replacement;
  REQUIRE(plan);
  REQUIRE_FALSE(plan->cautions.empty());
  for (const Warning& caution : plan->cautions) {
    std::string text = caution.text.substr(0, caution.text.find_first_of("'\"&<"));
    INFO(text);
    CHECK(has(page, text));
  }
  int limits = 0;
  for (const auto& line : plan->check_sheet) {
    if (!line.lower_mm || !line.upper_mm) continue;
    char lower[32], upper[32];  // rounded inward: within half a um of the limits
    std::snprintf(lower, sizeof lower, "%.3f", *line.lower_mm + 0.0004999);
    std::snprintf(upper, sizeof upper, "%.3f", *line.upper_mm - 0.0004999);
    INFO(line.name << " " << lower << " to " << upper);
    CHECK(has(page, std::string(lower) + " to\u00a0" + upper));
    ++limits;
  }
  CHECK(limits >= 3);
}

TEST_CASE("feature text: a radius has half the diameter's budget, and left-out places are high or low",
          "[report][text]") {
  Feature crown = sample::roller().features[1];
  TextOptions all;
  all.all = true;
  const std::string text = feature_text(crown, all);
  CHECK(has(text, "0.3500 mm  form, from the prior"));  // 0.7 mm of the diameter
  CHECK(has(text, "0.1500 mm  edge noise"));
  const std::string outside = feature_text(sample::roller_outside(), all);
  CHECK(has(outside, "118 to 130 deg, 0.120 mm high"));
  CHECK(has(outside, "300 to 302 deg, 0.030 mm low"));
}

TEST_CASE("comparison text: an arc's difference is that of its radius, unlike shrinkage is said",
          "[report][text]") {
  Comparison c;
  FeatureComparison crown;
  crown.name = "crown", crown.kind = "arc";
  crown.a_mm = 26.0, crown.b_mm = 25.9, crown.difference_mm = -0.1;
  crown.u_a_mm = crown.u_b_mm = 0.02;
  crown.u_difference_mm = 0.04;
  crown.change = SizeChange::kSmaller;
  c.features = {crown};
  CommonShrinkage s;
  s.features = 2, s.ratio = {0.002, 0.0001}, s.ratio95 = {0.0018, 0.0022}, s.p_alike = 0.01;
  c.shrinkage = s;
  std::string text = comparison_text(c, "A", "B");
  CHECK(has(text, "-0.050 +- 0.020"));  // half of -0.1 +- 0.04
  CHECK(has(text, "NOT all alike"));
  c.shrinkage->p_alike = 0.5;
  text = comparison_text(c, "A", "B");
  CHECK(has(text, "all shrank alike"));
}
