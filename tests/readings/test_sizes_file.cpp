#include <catch2/catch.hpp>

#include "rondure/readings/sizes_file.hpp"

using namespace rondure;

TEST_CASE("sizes file: the contract's header, units by line, optional making scatter", "[readings][sizes]") {
  const auto sizes = parse_sizes(
      "# the roller\nname,kind,size,u,unit,u_made\noutside, outside, 12.444, 0.004, mm,\n"
      "shaft,metal,0.1181,0.0002,in,0.0003  # micrometer\nhub,outside,\"6.97\",5um,mm\n");
  REQUIRE(sizes);
  REQUIRE(sizes->size() == 3);
  CHECK((*sizes)[0].size_mm == 12.444);
  CHECK_FALSE((*sizes)[0].u_made_mm);
  CHECK((*sizes)[1].size_mm == Approx(0.1181 * 25.4));
  CHECK(*(*sizes)[1].u_made_mm == Approx(0.0003 * 25.4));
  CHECK((*sizes)[1].line == 4);
  CHECK((*sizes)[2].u_mm == Approx(0.005));
}

TEST_CASE("sizes file: semicolons, decimal commas, columns in any order, a unit for the file",
          "[readings][sizes]") {
  const auto sizes =
      parse_sizes("# unit: in\nkind;name;size;minor;u\r\noutside;rim;0,4921;0,4890;0,0002\r\n");
  REQUIRE(sizes);
  CHECK((*sizes)[0].size_mm == Approx(0.4921 * 25.4));
  CHECK(*(*sizes)[0].minor_mm == Approx(0.4890 * 25.4));
}

TEST_CASE("sizes file: refusals name the line", "[readings][sizes]") {
  const std::string head = "name,kind,size,u,unit\na,outside,12,0.01,mm\n";
  const auto refused = [](const std::string& text, ErrorCode code, const std::string& words) {
    const auto sizes = parse_sizes(text);
    REQUIRE_FALSE(sizes);
    INFO(sizes.error().message());
    CHECK(sizes.error().code == code);
    CHECK(sizes.error().detail.find(words) != std::string::npos);
  };
  refused("", ErrorCode::kNoAnswer, "no sizes");
  refused("name,kind,size,u,unit\n", ErrorCode::kNoAnswer, "no sizes");
  refused("12.4,12.5\n", ErrorCode::kBadLine, "line 1: found no column 'name'");
  refused(head + "b,rim,12,0.01,mm\n", ErrorCode::kBadLine, "line 3: found the kind 'rim'");
  refused(head + "b,bore,twelve,0.01,mm\n", ErrorCode::kBadLine, "line 3: found 'twelve' for size");
  refused(head + "b,bore,12,,mm\n", ErrorCode::kBadLine, "line 3: found no u");
  refused(head + "b,bore,12,-0.01,mm\n", ErrorCode::kBadLine, "line 3");
  refused(head + "b,bore,0,0.01,mm\n", ErrorCode::kBadLine, "line 3: found no size above 0");
  refused(head + "b,bore,12,0.01,furlong\n", ErrorCode::kBadLine, "line 3: found the unit 'furlong'");
  refused(head + "b,bore,1e999,0.01,mm\n", ErrorCode::kNotFinite, "line 3");
  refused(head + "b,bore,nan,0.01,mm\n", ErrorCode::kBadLine, "line 3");
  refused(head + "a,bore,12,0.01,mm\n", ErrorCode::kBadLine, "line 3: found the name 'a' a second time");
  refused(head + "b,bore,12,13,mm\n", ErrorCode::kBadLine, "line 3");
}
