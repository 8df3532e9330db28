#include <catch2/catch.hpp>
#include <regex>

#include "rondure/photo/board_print.hpp"

using namespace rondure;

TEST_CASE("printable board: squares of true size, page of true size, both bars", "[photo][board]") {
  const auto svg = board_svg({9, 6, 5}, *paper_named("a4"));
  REQUIRE(svg);
  CHECK(svg->find("width=\"210mm\" height=\"297mm\" viewBox=\"0 0 210 297\"") != std::string::npos);
  const std::regex square("M[0-9.]+ [0-9.]+h5v5h-5z");
  const auto count =
      std::distance(std::sregex_iterator(svg->begin(), svg->end(), square), std::sregex_iterator());
  CHECK(count == 35);  // half of 10 x 7
  CHECK(svg->find("150 mm between the outer ticks") != std::string::npos);
  CHECK(std::count(svg->begin(), svg->end(), '<') == std::count(svg->begin(), svg->end(), '>'));
}

TEST_CASE("printable board: laid across when needed, refused when too large", "[photo][board]") {
  const auto across = board_svg({9, 6, 20}, *paper_named("A4"));
  REQUIRE(across);
  CHECK(across->find("width=\"297mm\"") != std::string::npos);
  CHECK(board_svg({9, 6, 40}, *paper_named("a4")).error().code == ErrorCode::kBadArgument);
  CHECK(paper_named("foolscap").error().code == ErrorCode::kBadArgument);
}
