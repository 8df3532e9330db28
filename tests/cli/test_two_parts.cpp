// Two parts in one picture: a record each, under the names that the CSV and the overlay have too.
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdint>
#include <iterator>
#include <nlohmann/json.hpp>
#include <vector>

#include "process.hpp"

using nlohmann::json;

namespace {

constexpr int kWidth_px = 900, kHeight_px = 480;

// A baseline TIFF (revision 6.0, section 3) of one uncompressed strip.
std::string grey_tiff(const std::string& pixels) {
  std::string file("II*\0", 4);
  const auto number = [&](std::uint32_t value, int bytes) {
    for (int i = 0; i < bytes; ++i) file += static_cast<char>(value >> (8 * i) & 0xFF);
  };
  number(static_cast<std::uint32_t>(8 + pixels.size()), 4);
  file += pixels;
  const std::uint32_t entries[][3] = {
      {256, 4, kWidth_px}, {257, 4, kHeight_px}, {258, 3, 8},
      {259, 3, 1},         {262, 3, 1},          {273, 4, 8},
      {277, 3, 1},         {278, 4, kHeight_px}, {279, 4, kWidth_px * kHeight_px}};
  number(std::size(entries), 2);
  for (const auto& [tag, type, value] : entries)
    number(tag, 2), number(type, 2), number(1, 4), number(value, 4);
  number(0, 4);
  return file;
}

// Dark rings on light ground; the edge as wide as a lens makes it.
struct Ring {
  double x_px, y_px, outside_px, bore_px;  // diameters
};
std::string picture_of(const std::vector<Ring>& rings) {
  std::string pixels;
  for (int y = 0; y < kHeight_px; ++y)
    for (int x = 0; x < kWidth_px; ++x) {
      double cover = 0;
      for (const Ring& r : rings) {
        const double d = std::hypot(x - r.x_px, y - r.y_px);
        const auto inside = [&](double diameter_px) { return 0.5 * std::erfc((d - diameter_px / 2) / 1.2); };
        cover += inside(r.outside_px) - inside(r.bore_px);
      }
      // a little texture, so that noise is not 0
      const double noise = 1.5 * std::sin(12.9898 * x + 78.233 * y + 0.37 * x * y);
      pixels += static_cast<char>(std::lround(200 - 150 * cover + noise));
    }
  return grey_tiff(pixels);
}

}  // namespace

TEST_CASE("two parts in a picture: a record each, with the names of the CSV", "[cli][measure][save]") {
  const Folder folder;
  const std::string photo = folder.write("two.tif", picture_of({{240, 240, 400, 120}, {660, 230, 300, 90}}));
  const std::string part = folder.path("knob.json");
  const Run run = rondure_run({"measure", photo, "--scale", "20px/mm+-0.01", "--linear", "--save", part,
                               "--csv", folder.path("all.csv"), "--overlay", folder.path("found.png")});
  INFO(run.out << run.err);
  REQUIRE(run.exit_code == 0);
  CHECK_THAT(run.out, Catch::Contains("knob-2.json"));
  const std::string csv = folder.read("all.csv");
  const std::vector<std::pair<std::string, std::vector<double>>> wanted = {{"knob.json", {20, 6}},
                                                                           {"knob-2.json", {15, 4.5}}};
  for (const auto& [file, sizes_mm] : wanted) {
    const json features = json::parse(folder.read(file)).at("features");
    REQUIRE(features.size() == sizes_mm.size());
    for (std::size_t i = 0; i < sizes_mm.size(); ++i) {
      const json& c = features[i].at("circle");
      const double u_mm = c.at("u_diameter_mm");
      CHECK(std::fabs(c.at("diameter_mm").get<double>() - sizes_mm[i]) < 3 * u_mm + 0.002);
      CHECK(csv.find(features[i].at("name").get<std::string>()) != std::string::npos);
      CHECK(run.out.find(features[i].at("name").get<std::string>()) != std::string::npos);
    }
    CHECK(rondure_run({"report", folder.path(file), "-o", folder.path("page.html"), "--quiet"}).exit_code ==
          0);
    CHECK(rondure_run({"original", folder.path(file), "--quiet"}).exit_code == 0);
  }
}

// 2026-11: a further picture's parts were renamed in the first part's record alone: its table said "outside" for the
// record's "outside 2", and its second part replaced the first picture's second part.
TEST_CASE(
    "two parts in each of two pictures, one record a part: nothing is replaced, names alike in the table",
    "[cli][measure][save]") {
  const Folder folder;
  const std::string part = folder.path("knob.json");
  const auto measure = [&](const std::string& photo) {
    const Run run = rondure_run({"measure", photo, "--scale", "20px/mm+-0.01", "--linear", "--save", part,
                                 "--csv", folder.path("all.csv"), "--outlines", folder.path("edges.json")});
    INFO(run.out << run.err);
    REQUIRE(run.exit_code == 0);
  };
  const auto names = [&](const std::string& file) {
    std::vector<std::string> out;
    const json record = json::parse(folder.read(file));
    for (const json& f : record.at("features")) out.push_back(f.at("name"));
    return out;
  };
  measure(folder.write("one.tif", picture_of({{240, 240, 400, 120}, {660, 230, 300, 90}})));
  const std::string other =
      folder.write("other.tif", picture_of({{250, 240, 400, 120}, {670, 230, 300, 90}}));
  using Names = std::vector<std::string>;
  const Names first{"outside", "bore", "outside 2", "bore 2"},
      second{"outside, part 2", "bore, part 2", "outside 2, part 2", "bore 2, part 2"};
  for (int again = 0; again < 2; ++again) {  // the same picture again takes its own names
    measure(other);
    CHECK(names("knob.json") == first);
    CHECK(names("knob-2.json") == second);
    const std::string csv = folder.read("all.csv");
    for (const char* line : {",outside 2,", ",bore 2,", ",\"outside 2, part 2\",", ",\"bore 2, part 2\","})
      CHECK_THAT(csv, Catch::Contains(line));
    Names drawn;
    const json outlines = json::parse(folder.read("edges.json"));
    for (const json& edge : outlines.at("edges")) drawn.push_back(edge.at("name"));
    CHECK(drawn == Names{"outside 2", "bore 2", "outside 2, part 2", "bore 2, part 2"});
  }
}
