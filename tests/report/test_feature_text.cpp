#include <algorithm>
#include <catch2/catch.hpp>
#include <sstream>

#include "rondure/report/feature_text.hpp"
#include "sample_record.hpp"

using namespace rondure;

namespace {
Feature oval_feature() {
  Feature f;
  f.name = "rim", f.kind = FeatureKind::kOutside;
  f.points = {120, 118, 357};
  f.circle = CircleResult{12.4523, 0.0061, {}, 0.004, Interval{12.4402, 12.4646}};
  f.ellipse = EllipseResult{12.463, 12.442, 34.0, {}, 0.021, 0.004, Interval{0.013, 0.029}, 0.00002};
  f.excluded = {{118, 126, 0.12, 2, {17, 18}}};
  f.budget = {{UncertaintySource::kEdgeNoise, 0.001},
              {UncertaintySource::kScale, 0.006},
              {UncertaintySource::kTemperature, 0}};
  f.verdict = OutlineForm::kOval;
  return f;
}
const TextOptions kAll{LengthUnit::kMm, 80, true, plain_ink};
}  // namespace

TEST_CASE("feature text: both units, as many decimals as u carries", "[report][text]") {
  const std::string text = feature_text(oval_feature(), kAll);
  INFO(text);
  CHECK(has(text, "12.4523 +- 0.0061 mm   0.49025 +- 0.00024 in"));
  CHECK(has(text, "a round part shows as much in under 0.1 %"));
  CHECK(has(text, "118 to 126 deg, 0.120 mm high, 2 points, lines 17 18"));
  CHECK(text.find("scale") < text.find("edge noise"));  // largest share first
  CHECK_FALSE(has(text, "temperature"));                // nothing from there
}

TEST_CASE("feature text: an arc is given as a radius, an open interval in words", "[report][text]") {
  Feature f = oval_feature();
  f.ellipse.reset();
  f.points.coverage_deg = 30;
  f.circle->diameter95_mm.reset();
  const std::string text = feature_text(f, kAll);
  INFO(text);
  CHECK(has(text, "radius"));
  CHECK_FALSE(has(text, "diameter"));
  CHECK(has(text, "no upper limit"));
}

TEST_CASE("feature text: both units on every line of a size, nothing that adds nothing", "[report][text]") {
  Feature f = oval_feature();
  f.budget.push_back({UncertaintySource::kBoardAndLens, 0.000003});
  f.ellipse->u_ovality_mm = 0.00024, f.ellipse->ovality95_mm = Interval{0.0205, 0.0215};
  const std::string text = feature_text(f, kAll);
  INFO(text);
  CHECK(has(text, "95 %: 12.4402 to 12.4646 mm   0.48977 to 0.49073 in"));
  CHECK(has(text, "0.0210 +- 0.0002 mm   0.00083 +- 0.00001 in"));
  CHECK_FALSE(has(text, "board and lens"));
  CHECK_FALSE(has(text, "0.0000 mm"));
  CHECK(text.find("  shape        oval") < text.find("  ovality"));  // the word before the figures
}

TEST_CASE("feature text: noise that would show as much as was measured is no figure", "[report][text]") {
  Feature f = oval_feature();
  f.roundness = RoundnessResult{};
  f.roundness->lsci = ReferenceCircleResult{0.024, 12.45, {}};
  f.roundness->noise_floor_mm = 0.006;
  CHECK(has(feature_text(f, kAll), "RONt 0.0240 LSCI mm (noise alone: 0.0060)"));
  f.roundness->noise_floor_mm = 31825;
  const std::string text = feature_text(f, kAll);
  INFO(text);
  CHECK(has(text, "RONt 0.0240 LSCI mm (noise alone shows as much)"));
  CHECK_FALSE(has(text, "31825"));
}

TEST_CASE("feature table: one aligned line a feature, warnings named", "[report][text]") {
  Feature round = oval_feature();
  round.name = "bore", round.verdict = OutlineForm::kRound, round.ellipse.reset();
  round.source.file = "pictures/of/the/old/reader/film-advance-roller.jpg";
  Feature oval = oval_feature();
  oval.source.file = "a.jpg";
  oval.warnings = {{"clipped-light", "words"}, {"eccentricity", "words"}};
  const std::string text = feature_table({round, oval});
  INFO(text);
  std::vector<std::string> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  REQUIRE(lines.size() == 3);
  CHECK(lines[0].find("diameter mm") == lines[1].find("12.4523 +- 0.0061"));
  CHECK(lines[0].find("diameter mm") == lines[2].find("12.4523 +- 0.0061"));
  CHECK(lines[1].starts_with("..."));
  CHECK(has(lines[1], "film-advance-roller.jpg  bore"));
  CHECK(lines[2].ends_with("oval   clipped-light"));
}

// 2026-11: colours were found by 13 patterns over the finished text, so a name or a note could be coloured for its words.
TEST_CASE("feature text: its writer says which pieces are good or doubtful, and no others are",
          "[report][text]") {
  const Ink marks = [](Says says, std::string text) {
    return (says == Says::kGood ? "{good:" : says == Says::kBad ? "{bad:" : "{doubt:") + text + "}";
  };
  Feature f = oval_feature();
  f.name = "  shape        round";
  f.warnings = {{WarningCode(), "warning: the word oval, and within, in a sentence"}};
  std::string marked = feature_text(f, {LengthUnit::kMm, 80, true, marks});
  CHECK(marked.find("  shape        {doubt:oval}") != std::string::npos);
  CHECK(marked.find("{doubt:note") != std::string::npos);
  CHECK(std::count(marked.begin(), marked.end(), '{') == 2);
  for (const char* mark : {"{doubt:", "}"})
    for (std::size_t at; (at = marked.find(mark)) != std::string::npos;)
      marked.erase(at, std::string(mark).size());
  CHECK(marked == feature_text(f, kAll));
  f.verdict = OutlineForm::kRound;
  CHECK(feature_text(f, {LengthUnit::kMm, 80, true, marks}).find("{good:round}") != std::string::npos);
  f.verdict = OutlineForm::kLobed, f.verdict_upr = 3;
  CHECK(feature_text(f, {LengthUnit::kMm, 80, true, marks}).find("{doubt:lobed}, 3 a turn") !=
        std::string::npos);
}
