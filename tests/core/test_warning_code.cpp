#include <catch2/catch.hpp>

#include "rondure/core/warning_code.hpp"

using namespace rondure;

TEST_CASE("warnings: the code decides, no word of the sentence", "[core][warning]") {
  for (const WarningCode code : {WarningCode::kEccentricity, WarningCode::kClippedLight,
                                 WarningCode::kFlanksDiffer, WarningCode::kSizeUndecided})
    for (const char* text : {"0.0012 mm off the centre of outside", "anything else", ""}) {
      const Warning w{std::string(word(code)), text};
      CHECK_FALSE(word(code).empty());
      CHECK(code_of(w) == code);
      CHECK(is_caution(w) == (code != WarningCode::kEccentricity));
    }
  const Warning like{"short-arc", "eccentricity, clipped-light and flanks-differ are only spoken of"};
  CHECK(code_of(like) == WarningCode::kOther);
  CHECK(is_caution(like));
}
