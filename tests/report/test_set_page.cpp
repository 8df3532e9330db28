// The page of a set, from an answer made by hand.
#include <catch2/catch.hpp>
#include <regex>

#include "rondure/report/page.hpp"
#include "rondure/report/set_page.hpp"
#include "rondure/report/set_text.hpp"
#include "sample_record.hpp"

using namespace rondure;

namespace {

SetPartResult roller(const std::string& name, double mm, bool odd) {
  SetPartResult part;
  part.name = name;
  part.original.about = "outside";
  part.original.shrinkage_mean = 0.003;
  OriginalFeature f;
  f.name = "outside";
  f.kind = "outside";
  f.measured_mm = mm;
  f.u_mm = 0.01;
  f.unshrunk_mm = {mm + 0.04, 0.02};
  f.undecided = odd;
  f.candidates = {{"12.5 mm", 12.5, odd ? 0.4 : 0.97, UnitSystem::kMetric},
                  {"12.4 mm", 12.4, 0.03, UnitSystem::kMetric}};
  part.original.features = {f};
  part.alone = {"12.5 mm", 12.5, 0.68};
  part.p_other_drawing = odd ? 0.9 : 0;
  return part;
}

SetResult set() {
  SetResult r;
  r.p_metric = 0.999;
  r.material = "POM-C";
  r.shrinkage_mean = 0.0031;
  r.shrinkage95 = {0.001, 0.006};
  r.same_drawing = {"outside"};
  r.habits = {{UnitSystem::kMetric, "0.5 mm", 0.7}, {UnitSystem::kMetric, "0.01 mm", 0.02}};
  r.parts = {roller("r<1>", 12.46, false), roller("r2", 12.45, false), roller("r3", 12.31, true)};
  r.parts[1].original.warnings = {{"uncertainty-assumed", "'outside' has no uncertainty"}};
  r.odd = {{"r3", 0.9, 0.01, 0, 10, {{"r2", "outside", {"12.5 mm", 12.5, 0.9}, {"12.5 mm", 12.5, 0.97}}}}};
  r.warnings = {{"alike-features", "two are alike"}};
  return r;
}

}  // namespace

TEST_CASE("set page: one line a part, what they share, which does not fit", "[report][set]") {
  const std::string page = set_page(set(), {"Rollers & co", {"r1.html", "r2.html", ""}, "2026-11-28"});
  for (const char* words :
       {"<h1>Rollers &amp; co</h1>", "<a href=\"r1.html\">r&lt;1&gt;</a>", "<a href=\"r2.html\">r2</a>",
        "2 of 3 sizes decided together (0 alone): 2 \u00d7 12.5 mm; metric over 99 %.",
        "drawn as,<br>with the set", "does not fit the set: 10 to 1", "with r3", "without it",
        "Sizes drawn on steps of 0.5 mm 70 %", "r2</strong>: &#39;outside&#39; has no uncertainty",
        "two are alike", "The sizes of the parts on a line of sizes"}) {
    INFO(words);
    CHECK(has(page, words));
  }
  CHECK_FALSE(has(page, "r3.html"));
  CHECK_FALSE(has(page, "0.01 mm 2 %"));
  CHECK_FALSE(has(page, "<script"));
  CHECK_FALSE(has(page, "nan"));
  // Relative links only.
  CHECK_FALSE(std::regex_search(page, std::regex("(src|href)=\"(/|https?:|file:)")));
  CHECK(has(set_text(set()), "warning: 'r2': 'outside' has no uncertainty"));
}

TEST_CASE("set page: parts of very different sizes have no line of sizes in common", "[report][set]") {
  SetResult r = set();
  r.parts[1].original.features[0].measured_mm = 20;
  r.parts[1].original.features[0].unshrunk_mm = {20.1, 0.02};
  CHECK_FALSE(has(set_page(r, {}), "line of sizes"));
  CHECK(has(set_page(r, {}), "A set of parts"));
}

TEST_CASE("set page: inches stand first where they are asked for, on the line of sizes too",
          "[report][set]") {
  SetPageOptions options;
  options.unit = LengthUnit::kInch;
  const std::string inch = set_page(set(), options), mm = set_page(set(), {});
  CHECK(has(inch, "0.4906\u00a0in<br><span class=\"soft\">12.460\u00a0mm"));
  CHECK(has(inch, ">in</text>"));
  CHECK_FALSE(has(inch, ">mm</text>"));
  CHECK(has(mm, "12.460\u00a0mm<br><span class=\"soft\">0.4906\u00a0in"));
  CHECK_FALSE(has(mm, ">in</text>"));
}

TEST_CASE("set page: a part's page shows what it was drawn as with the set and alone", "[report][set]") {
  PartRecord record;
  Feature f;
  f.name = "outside";
  f.circle = CircleResult{};
  f.circle->diameter_mm = 12.46;
  record.features = {f};
  PageOptions options;
  CHECK(has(report_page(record, options), "not asked yet"));
  const SetPartResult part = set().parts[0];
  options.set = SetLink{"set.html", "One of a set", part.original, best_words(part.alone)};
  const std::string page = report_page(record, options);
  CHECK(has(page, "most likely 12.5 mm (97 %); that is with the set, alone 12.5 mm (68 %)"));
  CHECK_FALSE(has(page, "not asked yet"));
}

TEST_CASE("set page: a part's page leads back to it", "[report][set]") {
  PageOptions options;
  CHECK_FALSE(has(report_page({}, options), "One of a set"));
  options.set = SetLink{"set.html", "One of a set of 3 parts"};
  CHECK(has(report_page({}, options), "<a href=\"set.html\">One of a set of 3 parts</a>"));
}
