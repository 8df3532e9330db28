// Solid parts in real light, drawn by an independent ray tracer (tests/data/solid_scenes): shadows, wall, chamfer, camera off
// the axis. The program as a user calls it, height told.
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "process.hpp"

using nlohmann::json;

namespace {

struct Answer {
  double error_mm, u_mm, px_per_mm;
  std::string verdict;
};

Answer measured(const std::string& number) {
  const std::filesystem::path folder =
      std::filesystem::absolute(std::filesystem::path(RONDURE_TEST_DATA) / "solid_scenes");
  std::ifstream in(folder / (number + ".json"));
  const json truth = json::parse(in);
  const json &part = truth.at("part"), &near = part.at("near_px");
  const Run run = rondure_run({"measure", (folder / (number + ".jpg")).string(), "--calibration",
                               (folder / (number + ".camera.json")).string(), "--board", "9x6", "--square",
                               "5mm", "--height", part.at("outside").at("z_mm").dump() + "mm", "--near",
                               near[0].dump() + "," + near[1].dump(), "--json", "-"});
  INFO(run.err);
  REQUIRE(run.exit_code == 0);
  const json features = json::parse(run.out).at("features");
  for (const json& f : features)
    if (f.at("name") == "outside")
      return {
          f.at("circle").at("diameter_mm").get<double>() - part.at("outside").at("diameter_mm").get<double>(),
          f.at("circle").at("u_diameter_mm"), truth.at("camera").at("px_per_mm"), f.value("verdict", "")};
  FAIL("no outside in scene " << number);
  return {};
}

}  // namespace

TEST_CASE("measure: solid parts in real light are right within their uncertainty and within 0.36 px",
          "[cli][measure][solid]") {
  const auto number = GENERATE(as<std::string>{}, "003", "004", "005", "025", "031");
  const Answer answer = measured(number);
  INFO("scene " << number << ": error " << answer.error_mm << " mm, u " << answer.u_mm << " mm, "
                << answer.verdict);
  CHECK(std::abs(answer.error_mm) <= 3 * answer.u_mm);
  CHECK(std::abs(answer.error_mm) * answer.px_per_mm <=
        0.36);  // three times the rms of 0.12 px that is wanted
  CHECK(answer.u_mm <= 0.06);
  CHECK(answer.verdict != "oval");  // all are round
}

// Known failures; they fall silent when the program learns to measure or to refuse these.
TEST_CASE("measure: a thin part on speckle and a glossy one on wood", "[cli][measure][solid][!mayfail]") {
  const auto number = GENERATE(as<std::string>{}, "024", "030");
  const Answer answer = measured(number);
  CHECK(std::abs(answer.error_mm) <= 4 * answer.u_mm);
}

// The ground darkens beside a part 1.5 mm high: 0.5 px outwards.
TEST_CASE("measure: a thin part in a light tent", "[cli][measure][solid][!mayfail]") {
  const Answer answer = measured("033");
  CHECK(std::abs(answer.error_mm) <= 3 * answer.u_mm);
  CHECK(std::abs(answer.error_mm) * answer.px_per_mm <= 0.36);
}
