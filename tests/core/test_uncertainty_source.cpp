// The sources of uncertainty: their words in the record, and what makes two sizes share one.
#include <catch2/catch.hpp>
#include <set>

#include "rondure/core/uncertainty_source.hpp"

using namespace rondure;
using Source = UncertaintySource;

TEST_CASE("uncertainty sources: every one has its own words, and is found by them", "[core][uncertainty]") {
  std::set<std::string_view> words;
  for (int k = 0; k < static_cast<int>(Source::kOther); ++k) {
    const auto source = static_cast<Source>(k);
    INFO(name(source));
    CHECK_FALSE(name(source).empty());
    CHECK(words.insert(name(source)).second);
    CHECK(parse_uncertainty_source(name(source)) == source);
    CHECK(BudgetLine::from_record(std::string(name(source)), 0.1).source == source);
  }
  CHECK(words.size() == 16);
}

TEST_CASE("uncertainty sources: words this version does not know are kept and shared with nothing",
          "[core][uncertainty]") {
  for (const char* words : {"lens cap", "scale of the board", "Form", "noise", "pin", ""}) {
    const BudgetLine line = BudgetLine::from_record(words, 0.002);
    INFO(words);
    CHECK(line.source == Source::kOther);
    CHECK(line.text() == words);
    CHECK(line.u_mm == 0.002);
    CHECK(shared_by(line.source) == SharedBy::kNothing);
    CHECK_FALSE(of_the_fit(line.source));
  }
}

TEST_CASE("uncertainty sources: the calibration, the picture, or nothing", "[core][uncertainty]") {
  for (const Source s : {Source::kScale, Source::kBoardAndLens})
    CHECK(shared_by(s) == SharedBy::kCalibration);
  CHECK(shared_by(Source::kReferencePiece) == SharedBy::kPicture);
  for (const Source s : {Source::kEdgeNoise, Source::kForm, Source::kFormPrior, Source::kReading,
                         Source::kHeight, Source::kEdgeOffset, Source::kTemperature})
    CHECK(shared_by(s) == SharedBy::kNothing);
  for (const Source s : {Source::kEdgeNoise, Source::kForm, Source::kFormPrior}) CHECK(of_the_fit(s));
  CHECK_FALSE(of_the_fit(Source::kScale));
}
