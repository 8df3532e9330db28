// `measure`: what a person says of single edges, and where the edges run in the picture.
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "process.hpp"

using json = nlohmann::json;

namespace {
const std::string kRollerPhoto = std::string(RONDURE_SOURCE) + "/images-demo/roller.jpg";

std::vector<std::string> measure(std::vector<std::string> more) {
  std::vector<std::string> all{"measure", kRollerPhoto, "--board", "9x6",    "--square",
                               "5mm",     "--height",   "6mm",     "--json", "-"};
  all.insert(all.end(), more.begin(), more.end());
  return all;
}
json feature(const Run& run, const std::string& name) {
  const auto record = json::parse(run.out);
  for (const auto& f : record["features"])
    if (f["name"] == name) return f;
  return {};
}
}  // namespace

TEST_CASE("measure: edges are called what a person says, and shadows are none of the part",
          "[cli][measure]") {
  const Run found = rondure_run(measure({}));
  const Run run = rondure_run(measure({"--call", "outside=shadow", "--call", "hub step=outside"}));
  REQUIRE(run.exit_code == 0);
  const auto features = json::parse(run.out)["features"];
  CHECK(features.size() == json::parse(found.out)["features"].size() - 1);
  CHECK(features[0]["name"] == "outside");
  CHECK(features[0]["circle"]["diameter_mm"] == feature(found, "hub step")["circle"]["diameter_mm"]);
  // nothing is said of being off the middle of a shadow
  CHECK(run.out.find("off the centre") == std::string::npos);
  CHECK(found.out.find("off the centre") != std::string::npos);
}

TEST_CASE("measure: sectors are left out and taken in", "[cli][measure]") {
  const Run found = rondure_run(measure({}));
  const Run run = rondure_run(measure({"--leave-out", "bore@30..90", "--take-in", "outside@105..120"}));
  REQUIRE(run.exit_code == 0);
  const auto bore = feature(run, "bore"), outside = feature(run, "outside");
  REQUIRE(bore["excluded"].size() == 1);
  CHECK(bore["excluded"][0]["from_deg"] == 30.0);
  CHECK(bore["points"]["used"] < feature(found, "bore")["points"]["used"]);
  CHECK(feature(found, "outside")["excluded"].size() == 1);  // the nib
  CHECK_FALSE(outside.contains("excluded"));
  CHECK(run.out.find("chosen-by-hand") != std::string::npos);
}

TEST_CASE("measure: an edge that is not there is named with those that are", "[cli][measure]") {
  for (const std::string wrong : {"rim=bore", "=bore", "bore=", "bore"}) {
    const Run run = rondure_run(measure({"--call", wrong}));
    CHECK(run.exit_code != 0);
    CHECK(run.one_line_on_error());
  }
  CHECK(rondure_run(measure({"--call", "rim=bore"})).err.find("outside, hub step, bore") !=
        std::string::npos);
  for (const std::string wrong : {"bore", "bore@", "bore@30", "bore@a..b", "@1..2", "bore@1..9999"}) {
    const Run run = rondure_run(measure({"--leave-out", wrong}));
    CHECK(run.exit_code == 2);
    CHECK(run.one_line_on_error());
  }
  CHECK(rondure_run(measure({"--call", "outside=shadow", "--call", "hub step=foot", "--call", "bore=mark"}))
            .exit_code == 1);
}

TEST_CASE("measure: --outlines tells where the edges run in the picture", "[cli][measure]") {
  const Folder folder;
  const Run run = rondure_run(measure({"--outlines", folder.path("o.json"), "--call", "hub step=foot"}));
  REQUIRE(run.exit_code == 0);
  std::ifstream in(folder.path("o.json"));
  const auto drawn = json::parse(in);
  CHECK(drawn["width_px"] == 1600);
  REQUIRE(drawn["edges"].size() == 2);
  CHECK(drawn["edges"][0]["found_as"] == "outside");
  CHECK(drawn["not_the_part"][0]["called"] == "foot");
  CHECK(drawn["not_the_part"][0]["found_as"] == "hub step");
  // the outline is the circle of the record, seen through its own map onto the picture
  const auto outside = feature(run, "outside");
  const auto a = outside["pixel_from_part"];
  const double cx = outside["circle"]["center_mm"][0], cy = outside["circle"]["center_mm"][1],
               r_mm = outside["circle"]["diameter_mm"].get<double>() / 2;
  const double x = a[0].get<double>() * cx + a[1].get<double>() * cy + a[2].get<double>(),
               y = a[3].get<double>() * cx + a[4].get<double>() * cy + a[5].get<double>(),
               px_per_mm = std::hypot(a[0].get<double>(), a[3].get<double>());
  for (const auto& p : drawn["edges"][0]["outline_px"])
    CHECK(std::hypot(p[0].get<double>() - x, p[1].get<double>() - y) ==
          Approx(px_per_mm * r_mm).epsilon(0.02));
  CHECK(drawn["edges"][0]["left_out_px"].size() == 1);
}

TEST_CASE("measure: without a board, --outlines tells what looks like its corners", "[cli][measure]") {
  const Folder folder;
  const Run run = rondure_run(
      {"measure", kRollerPhoto, "--board", "20x15", "--square", "5mm", "--outlines", folder.path("o.json")});
  CHECK(run.exit_code == 1);
  CHECK(run.one_line_on_error());
  std::ifstream in(folder.path("o.json"));
  const auto drawn = json::parse(in);
  CHECK(drawn["corners_px"].size() >= 54);
  CHECK(drawn["edges"].empty());
}
