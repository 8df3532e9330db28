// Quoting for HTML, SVG and CSV.
#include <catch2/catch.hpp>

#include "rondure/core/quoting.hpp"

using namespace rondure;
using Fields = std::vector<std::string>;

TEST_CASE("markup: what would be read as markup is replaced, control characters are dropped",
          "[core][markup]") {
  CHECK(escape_markup("a < b & \"c\" > 'd'") == "a &lt; b &amp; &quot;c&quot; &gt; &#39;d&#39;");
  CHECK(escape_markup(std::string_view("x\0\x1b[31my\n\tz", 11)) == "x[31my\n\tz");
  CHECK(escape_markup("\u00b5m") == "\u00b5m");
}

// RFC 4180, section 2, rules 5 to 7.
TEST_CASE("csv: quotation marks keep separators, two of them are one", "[core][csv]") {
  CHECK(csv_fields("a, b ,c") == Fields{"a", "b", "c"});
  CHECK(csv_fields("\"a, b\",\"say \"\"so\"\"\",") == Fields{"a, b", "say \"so\"", ""});
  CHECK(csv_fields("1,5;\"x;y\"", ';') == Fields{"1,5", "x;y"});
  CHECK(csv_fields("") == Fields{""});
}

TEST_CASE("csv: a field comes back as it was written", "[core][csv]") {
  for (const std::string text : {"bore", "hub step", "groove, outer wall", "say \"so\"", "1;5", "\"", ""})
    CHECK(csv_fields("a," + csv_field(text) + ",b") == Fields{"a", text, "b"});
  CHECK(csv_field("bore") == "bore");
  CHECK(csv_field("two\nlines") == "two lines");  // read again it is the same text, and is written the same
}
