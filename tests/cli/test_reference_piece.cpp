// measure --reference and calibrate board-print as a user runs them: the roller beside a 12 mm pin, on a board that
// was printed 0.21 % too large (images-demo/roller_pin.jpg; truth.json: pin 12.0014 mm, roller 12.44375 mm).
#include <catch2/catch.hpp>
#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>

#include "process.hpp"

namespace {

const std::string kPhoto = std::string(RONDURE_SOURCE) + "/images-demo/roller_pin.jpg";
const std::string kPin = "12.000mm+-0.002mm@1325,209,6mm+-0.01mm";

std::string camera_file(const Folder& folder) {
  std::vector<std::string> arguments = {"calibrate", "camera"};
  for (const char* n : {"01", "02", "03", "04", "05", "06", "07", "08", "09", "10"})
    arguments.push_back(std::string(RONDURE_SOURCE) + "/images-demo/views/view_" + n + ".jpg");
  const std::string file = folder.path("cam.json");
  arguments.insert(arguments.end(), {"--board", "9x6", "--square", "5mm", "-o", file});
  REQUIRE(rondure_run(arguments).exit_code == 0);
  return file;
}

nlohmann::json first_circle(const Run& run) {
  INFO(run.err);
  REQUIRE(run.exit_code == 0);
  return nlohmann::json::parse(run.out)["features"][0]["circle"];
}

}  // namespace

TEST_CASE("measure --reference: a pin finds the size that a bad print hides, its board is kept",
          "[cli][reference][repeats]") {
  const Folder folder;
  const std::string camera = camera_file(folder);
  const auto measure = [&](std::vector<std::string> more) {
    std::vector<std::string> all = {"measure", kPhoto, "--calibration", camera, "--height", "5.973mm+-0.01mm",
                                    "--json",  "-"};
    all.insert(all.end(), more.begin(), more.end());
    return rondure_run(all);
  };
  constexpr double kTrue = 12.44375;
  const auto board = first_circle(measure({"--board", "9x6", "--square", "5mm"}));
  CHECK(board["diameter_mm"].get<double>() < kTrue - 0.02);
  CHECK(board["u_diameter_mm"].get<double>() > 0.012);
  const Run by_pin = measure({"--board", "9x6", "--square", "5mm", "--reference", kPin});
  const auto pin = first_circle(by_pin);
  CHECK(pin["u_diameter_mm"].get<double>() <= 0.003);
  CHECK(std::abs(pin["diameter_mm"].get<double>() - kTrue) < 2 * pin["u_diameter_mm"].get<double>());
  CHECK_THAT(by_pin.out, Catch::Contains("% too large"));
  const auto all = nlohmann::json::parse(by_pin.out);
  CHECK(all["features"].size() == 3);  // rim, hub, shaft: the pin is no part
  CHECK(all["features"][0]["budget"].dump().find("reference piece") != std::string::npos);

  const std::string print = folder.path("print.json");
  const Run keep = rondure_run({"calibrate", "board-print", kPhoto, "--calibration", camera, "--board", "9x6",
                                "--square", "5mm", "--reference", kPin, "-o", print});
  INFO(keep.err);
  REQUIRE(keep.exit_code == 0);
  const auto kept = nlohmann::json::parse(folder.read("print.json"));
  CHECK(kept["kind"] == "board-print");
  CHECK(kept["board"]["square_mm"].get<double>() == Approx(5 * 1.0021).epsilon(4e-4));
  CHECK(kept["board"]["u_square_ratio"].get<double>() < 4e-4);
  const auto next_time = first_circle(measure({"--board", print}));
  CHECK(next_time["u_diameter_mm"].get<double>() < 0.005);
  CHECK(std::abs(next_time["diameter_mm"].get<double>() - kTrue) <
        2 * next_time["u_diameter_mm"].get<double>());
  const Run twice = measure({"--board", print, "--square", "5mm"});
  CHECK(twice.exit_code == 2);
  CHECK(twice.one_line_on_error());
}

TEST_CASE("measure --reference: no circle, not there, another size: one line each, nothing written",
          "[cli][reference]") {
  const Folder folder;
  const auto refused = [&](const std::string& reference, int exit_code, const std::string& words) {
    const Run run = rondure_run({"measure", kPhoto, "--board", "9x6", "--square", "5mm", "--height", "0mm",
                                 "--reference", reference, "--json", folder.path("out.json")});
    INFO(run.err);
    CHECK(run.exit_code == exit_code);
    CHECK(run.one_line_on_error());
    CHECK_THAT(run.err, Catch::Contains(words));
    CHECK_FALSE(std::filesystem::exists(folder.path("out.json")));
  };
  refused("12mm@100,100", 1, "found none around 100,100 px");
  refused("10mm@1325,209", 1, "10.000 mm was said");
  refused("12mm", 2, "needed one like 6.000mm+-0.002mm@1210,840");
}

// 2026-11-30: the pin's edge was sought as a flat disc's, and its shadow's taken: 0.26 mm (7.7 u) and 0.14 mm (4.1 u) off, or
// refused; of 14 such scenes 9 refused, 5 off by 3 u and more (tests/bench/solid_scenes/study_pins). In 011 the bevel in the
// light is taken for the edge on one side, so that the pin seems oval by 0.1 mm. In 024 the pin's shadow is as clear an
// outline as the pin: refused, until only outlines of the pin's size were looked for.
TEST_CASE("measure --reference: a pin that stands in real light is seen as the solid it is",
          "[cli][reference][solid][repeats]") {
  const auto number = GENERATE(as<std::string>{}, "003", "007", "011", "024");
  const std::string at = std::string(RONDURE_TEST_DATA) + "/solid_scenes/pin-" + number;
  const nlohmann::json truth = nlohmann::json::parse(std::ifstream(at + ".json"));
  const auto place = [](const nlohmann::json& thing) {
    return thing.at("near_px")[0].dump() + "," + thing.at("near_px")[1].dump();
  };
  const nlohmann::json &part = truth.at("part"), &pin = truth.at("pin");
  const auto circle =
      first_circle(rondure_run({"measure", at + ".jpg", "--calibration", at + ".camera.json", "--board",
                                "9x6", "--square", "5mm", "--height", "6mm", "--near", place(part),
                                "--reference", "12.000mm+-0.002mm@" + place(pin) + ",6mm", "--json", "-"}));
  const double error_mm =
      circle.at("diameter_mm").get<double>() - part.at("outside").at("diameter_mm").get<double>();
  const double u_mm = circle.at("u_diameter_mm");
  INFO("scene " << number << ": error " << error_mm << " mm, u " << u_mm << " mm");
  CHECK(std::abs(error_mm) < 2 * u_mm);
  CHECK(std::abs(error_mm) < 0.03);
  CHECK(u_mm < 0.05);
}

// A pin's bevel that is not known moves its size by 0.055 mm for each mm (height over the camera's); told, it does not.
TEST_CASE("measure --reference: a pin whose bevel is told makes the size surer", "[cli][reference][solid]") {
  const std::string at = std::string(RONDURE_TEST_DATA) + "/solid_scenes/pin-003";
  const nlohmann::json truth = nlohmann::json::parse(std::ifstream(at + ".json"));
  const auto place = [&](const char* thing) {
    const auto& px = truth.at(thing).at("near_px");
    return px[0].dump() + "," + px[1].dump();
  };
  const auto by = [&](const std::string& height) {
    return first_circle(
        rondure_run({"measure", at + ".jpg", "--calibration", at + ".camera.json", "--board", "9x6",
                     "--square", "5mm", "--height", "6mm", "--near", place("part"), "--reference",
                     "12.000mm+-0.002mm@" + place("pin") + "," + height, "--json", "-"}));
  };
  const auto plain = by("6mm"), told = by("5.9mm+-0.02mm");  // truth: 6 mm high, a bevel of 0.1 mm
  CHECK(told.at("u_diameter_mm").get<double>() < plain.at("u_diameter_mm").get<double>());
  CHECK(std::abs(told.at("diameter_mm").get<double>() - 12.4) < 2 * told.at("u_diameter_mm").get<double>());
}
