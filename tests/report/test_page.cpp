#include <catch2/catch.hpp>
#include <fstream>
#include <regex>

#include "rondure/record/plan_section.hpp"
#include "rondure/report/page.hpp"
#include "sample_record.hpp"

using namespace rondure;

namespace {
int count(const std::string& text, const std::string& pattern) {
  const std::regex expression(pattern);
  return static_cast<int>(
      std::distance(std::sregex_iterator(text.begin(), text.end(), expression), std::sregex_iterator()));
}
}  // namespace

TEST_CASE("page: the answer comes first, in one sentence", "[report][page]") {
  const std::string answer = answer_sentence(sample::roller());
  CHECK(answer ==
        "outside: diameter 12.4523 \u00b1 0.0061 mm (0.49025 \u00b1 0.00024 in), oval by 0.0208 mm; most "
        "likely drawn as 12.5 mm (87 %).");
  const std::string page = report_page(sample::roller(), sample::page_options());
  CHECK(page.find("class=\"answer\"") < page.find("<figure>"));
  CHECK(page.find("<figure>") < page.find("<h2"));  // the answer's picture belongs to it
}

TEST_CASE("page: self-contained: no script, no address outside the file", "[report][page]") {
  const std::string page = report_page(sample::roller(), sample::page_options());
  CHECK_FALSE(has(page, "<script"));
  CHECK_FALSE(std::regex_search(page, std::regex("(src|href)=\"(?!data:|#)")));
  CHECK(count(page, "https?://") == count(page, "http://www\\.w3\\.org/2000/svg"));
}

TEST_CASE("page: its parts stand in the order in which they are asked for", "[report][page]") {
  PartRecord record = sample::roller();
  record.replacement = *parse_plan(sample::plan());
  const std::string page = report_page(record, sample::page_options());
  std::size_t last = 0;
  for (const char* part : {"<dt>Measured</dt>",
                           "<dt>Drawn as</dt>",
                           "<dt>Make</dt>",
                           "The size of outside on a line of sizes",
                           "What to make</h2>",
                           "Sizes to make",
                           "Fit and grip",
                           "Tool</th>",
                           "Speed</th>",
                           "Mass</th>",
                           "Section of the replacement",
                           "Check sheet for the copy",
                           "Take care",
                           "What it was drawn as</h2>",
                           "How outside was measured</h2>",
                           "Photograph of outside",
                           "Roundness chart of outside",
                           "Deviation from the least-squares circle against angle, for outside",
                           "Amplitude of the outline",
                           "What the standard uncertainty of the size",
                           "The other features</h2>",
                           "crown: R 13.0",
                           "What was read, and how</h2>"}) {
    INFO(part);
    const std::size_t at = page.find(part);
    REQUIRE(at != std::string::npos);
    CHECK(at > last);
    last = at;
  }
}

TEST_CASE("page: one figure is the same wherever it stands", "[report][page]") {
  PartRecord record = sample::roller();
  record.features[0].ellipse->u_ovality_mm = 0.00024;
  record.features[0].ellipse->ovality95_mm = Interval{0.0203, 0.0213};  // more figures than a bench can use
  const std::string page = report_page(record, {});
  CHECK(has(page, "oval by 0.0208 mm"));
  CHECK(has(page, "Ovality 0.0208 \u00b1 0.0002 mm (0.00082 \u00b1 0.00001 in)"));
  CHECK(has(page, "12.4523 \u00b1 0.0061 mm"));
  CHECK_FALSE(has(page, "+-"));
  // an arc shows its radius: the budget's bars are those of the radius too (form 0.7 mm of the diameter)
  CHECK(has(page, "0.3500 mm (0.01378 in)"));
  CHECK(has(page, "standard uncertainty of the radius is made of"));
}

TEST_CASE("page: says whether the sizes are for 20 degrees", "[report][page]") {
  PartRecord record = sample::roller();
  CHECK(has(report_page(record, {}), "No temperature was given"));
  for (Feature& f : record.features) f.budget.push_back({UncertaintySource::kTemperature, 0.001});
  CHECK(has(report_page(record, {}), "The sizes are for 20 \u00b0C."));
}

TEST_CASE("page: drawings have words for a screen reader, tables a scope, headings an order",
          "[report][page]") {
  const std::string page = report_page(sample::roller(), sample::page_options());
  CHECK(count(page, "<figure>") >= 6);
  CHECK(count(page, "<svg [^>]*role=\"img\" aria-label=\"[^\"]+\"") == count(page, "<figure>"));
  CHECK(count(page, "<th>") == 0);  // every header cell says what it heads
  CHECK(count(page, "<h1>") == 1);
  CHECK(page.find("<h1>") < page.find("<h2"));
  CHECK(has(page, "<html lang=\"en\">"));
}

TEST_CASE("page: the readings of an oval stand side by side", "[report][page]") {
  const std::string page = report_page(sample::roller(), {});
  CHECK(has(page, "how its shape may have come about"));
  CHECK(has(page, "at least 12.507 mm"));
}

TEST_CASE("page: the record's words cannot break it", "[report][page]") {
  PartRecord record = sample::roller();
  record.name = "<script>alert(1)</script> & \"quotes\"";
  record.features[0].name = "a<b>&'c";
  record.original->features[0].name = record.features[0].name;
  const std::string page = report_page(record, {});
  CHECK_FALSE(has(page, "<script"));
  CHECK_FALSE(has(page, "a<b>"));
  CHECK(has(page, "a&lt;b&gt;&amp;&#39;c"));
}

TEST_CASE("page: an option that is named is not broken at its dashes", "[report][page]") {
  PartRecord record = sample::roller();
  record.warnings.push_back(
      {"height-unlikely", "the height is a guess: give it (--height 6mm) or --board-print FILE, well-known"});
  const std::string page = report_page(record, {});
  CHECK(has(page,
            "give it (<span class=\"whole\">--height</span> 6mm) or <span "
            "class=\"whole\">--board-print</span> FILE, well-known"));
  CHECK(has(page, ".whole { white-space: nowrap; }"));
}

TEST_CASE("page: a record with almost nothing still makes a page", "[report][page]") {
  CHECK(has(report_page({}, {}), "Nothing has been measured yet."));
  PartRecord record;
  Feature f;
  f.name = "rim";
  f.circle = CircleResult{};
  record.features.push_back(f);
  const std::string page = report_page(record, {});
  CHECK_FALSE(has(page, "nan"));
  CHECK_FALSE(has(page, "inf "));
}

TEST_CASE("page: says when a source is no longer what was measured", "[report][page]") {
  CHECK(has(report_page(sample::roller(), sample::page_options()), "NO LONGER the file that was measured"));
}

// Not run by default: writes the sample page to look at (build/sample-page.html).
TEST_CASE("page: write the sample page", "[.sample-page]") {
  std::ofstream(RONDURE_BINARY "/sample-page.html") << report_page(sample::roller(), sample::page_options());
}

// 2026-11-30: the page's first line had the outside as seen from above, the plan below it the better one from the side.
TEST_CASE("page: a surface seen from above and from the side has one size, the better one", "[report]") {
  PartRecord record = sample::roller();
  record.original.reset(), record.replacement.reset();
  Feature rim;
  rim.name = "rim", rim.kind = FeatureKind::kOutside;
  rim.circle = CircleResult{12.4482, 0.0021, {}, 0, Interval{12.4441, 12.4523}};
  rim.budget = {{UncertaintySource::kScale, 0.0021}};
  record.features.push_back(rim);
  ProfileSegment segment;
  segment.name = "rim", segment.to_mm = 6, segment.diameter_mm = Estimate{12.4482, 0.0021};
  record.profile = SideProfile{};
  record.profile->segments = {segment};
  const std::string page = report_page(record, sample::page_options());
  const std::string head = page.substr(page.find("<dt>Measured</dt>"), 120);
  INFO(head);
  CHECK(has(head, "rim 12.4482 \u00b1 0.0021 mm"));
  CHECK(has(answer_sentence(record), "rim: diameter 12.4482 \u00b1 0.0021 mm"));
  CHECK(has(page, "is the same surface as"));
  CHECK(has(page, "data:image"));  // the photograph goes with it
  // The form seen from above stands about that size.
  CHECK(has(page, ">12.4619"));                 // the largest two-point size, 12.4660, less 0.0041
  CHECK(count(page, "12[.]4523 \u00b1") == 1);  // in the note that the two are one
  record.profile.reset();
  CHECK(has(report_page(record, sample::page_options()), "12.4523 \u00b1"));
}
