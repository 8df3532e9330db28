#include <catch2/catch.hpp>

#include "rondure/core/result.hpp"

using namespace rondure;

TEST_CASE("error: its message is one line, whatever it quotes", "[core]") {
  // 2026-11: a calibration file whose kind held line ends made an error of many lines.
  const Error error{ErrorCode::kBadCalibration,
                    "found a calibration of kind 'pl\n\t\x1b[31mane\x7f', needed camera"};
  CHECK(error.message() ==
        "calibration not possible: found a calibration of kind 'pl   [31mane ', needed camera");
  CHECK(Error{ErrorCode::kBadArgument, ""}.message() == "argument not usable");
}
