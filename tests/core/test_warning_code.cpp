#include <catch2/catch.hpp>

#include "rondure/core/warning.hpp"

using namespace rondure;

TEST_CASE("warnings: the code decides, no word of the sentence", "[core][warning]") {
  for (const WarningCode code : {WarningCode::kEccentricity, WarningCode::kClippedLight,
                                 WarningCode::kFlanksDiffer, WarningCode::kSizeUndecided})
    for (const char* text : {"0.0012 mm off the centre of outside", "anything else", ""}) {
      const Warning w{code, text};
      CHECK_FALSE(code.word().empty());
      CHECK(WarningCode::from_record(code.word()) == code);
      CHECK(is_caution(w) == (code != WarningCode::kEccentricity));
    }
  const Warning like{"no-ellipse", "eccentricity, clipped-light and flanks-differ are only spoken of"};
  CHECK(like.code == WarningCode("no-ellipse"));
  CHECK_FALSE(like.code == WarningCode::kEccentricity);
  CHECK(is_caution(like));
}

TEST_CASE("warnings: a code of a newer version is none of this one's, and a caution", "[core][warning]") {
  for (const char* word : {"eccentricity-of-the-lamp", "clipped", "", "zzz", "Eccentricity"}) {
    const WarningCode code = WarningCode::from_record(word);
    CHECK(code == WarningCode());
    CHECK(code.word().empty());
    CHECK(code.is_caution());
  }
  STATIC_REQUIRE(WarningCode("eccentricity") == WarningCode::kEccentricity);
}
