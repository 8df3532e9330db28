#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>

#include "process.hpp"

namespace {

// A 10 mm pin, 0.02 mm oval, read on a stage whose x scale is long by 0.1 %: readings to 0.001 mm.
std::string pin_readings(bool turned) {
  std::string text = "# unit: mm\n";
  for (const int angle : {0, 45, 90}) {
    if (angle > 0 && !turned) break;
    text += "# orientation: " + std::to_string(angle) + "\n";
    for (int i = 0; i < 16; ++i) {
      const double t = 2 * M_PI * i / 16, part = t - angle * M_PI / 180;
      const double r = 5 + 0.005 * std::cos(2 * part);
      char line[64];
      std::snprintf(line, sizeof line, "%.3f,%.3f\n", (20 + r * std::cos(t)) / 1.001, 10 + r * std::sin(t));
      text += line;
    }
  }
  return text;
}

}  // namespace

TEST_CASE("calibrate stage: a turned pin gives scale, squareness and the pin's own ovality", "[cli][stage]") {
  const Folder folder;
  const auto file = folder.write("pin.csv", pin_readings(true));
  const Run run =
      rondure_run({"calibrate", "stage", file, "--pin", "10.000mm", "-o", folder.path("stage.json")});
  INFO(run.err);
  REQUIRE(run.exit_code == 0);
  CHECK_THAT(run.out, Catch::Contains("x scale") && Catch::Contains("long axis at"));
  const auto j = nlohmann::json::parse(folder.read("stage.json"));
  CHECK(j["format"] == "rondure-calibration");
  CHECK(j["version"] == 1);
  CHECK(j["kind"] == "stage");
  CHECK(j["scale_x_ratio"].get<double>() == Approx(0.001).margin(1e-4));
  CHECK(j["scale_y_ratio"].get<double>() == Approx(0).margin(1e-4));
  CHECK(j["pin"]["ovality_mm"].get<double>() == Approx(0.02).margin(0.001));
  CHECK(j["residuals"].size() == 48);
  CHECK(j["made_from"]["sha256"].get<std::string>().size() == 64);
  CHECK(j["when"].get<std::string>().size() == 20);
}

TEST_CASE("calibrate stage: refusals are one line and leave no file", "[cli][stage]") {
  const Folder folder;
  const auto good = folder.write("pin.csv", pin_readings(false));
  const auto few = folder.write("few.csv", "1,2\n3,4\n5,1\n");
  const auto bad = folder.write("bad.csv", "1,2\n3,four\n");
  const auto out = folder.path("stage.json");
  const auto refused = [&](std::vector<std::string> arguments, int code) {
    arguments.insert(arguments.begin(), {"calibrate", "stage"});
    const Run run = rondure_run(arguments);
    INFO(run.err);
    CHECK(run.exit_code == code);
    CHECK(run.one_line_on_error());
    CHECK(run.out.empty());
    CHECK_FALSE(folder.has("stage.json"));
  };
  refused({good, "--pin", "25.4mm", "-o", out}, 1);
  refused({good, "-o", out}, 1);
  refused({few, "--pin", "10mm", "-o", out}, 1);
  refused({bad, "--pin", "10mm", "-o", out}, 1);
  refused({folder.path("none.csv"), "--pin", "10mm", "-o", out}, 1);
  refused({good, "--pin", "10mm", "-o", folder.path("no/such/folder.json")}, 1);
  refused({good, "--pin", "ten", "-o", out}, 2);
  refused({good, "--pin", "10mm"}, 2);
  refused({good, "--pin", "10mm", "-o", out, "--pin-roundness", "-1mm"}, 2);
}

TEST_CASE("fit --calibration: the stage's error is taken out of the size", "[cli][stage][fit]") {
  const Folder folder;
  const auto pin = folder.write("pin.csv", pin_readings(true));
  const auto once = folder.write("once.csv", pin_readings(false));
  const auto stage = folder.path("stage.json");
  REQUIRE(rondure_run({"calibrate", "stage", pin, "--pin", "10.000mm", "-o", stage}).exit_code == 0);
  const auto diameter = [&](std::vector<std::string> arguments) {
    arguments.insert(arguments.end(), {"--json", "-", "--quiet"});
    const Run run = rondure_run(arguments);
    INFO(run.err);
    REQUIRE(run.exit_code == 0);
    return nlohmann::json::parse(run.out)["features"][0];
  };
  CHECK(diameter({"fit", once})["circle"]["diameter_mm"].get<double>() < 9.997);
  const auto corrected = diameter({"fit", once, "--calibration", stage});
  CHECK(corrected["circle"]["diameter_mm"].get<double>() == Approx(10).margin(0.0007));
  CHECK(corrected["source"]["calibration"] == stage);
  // the same part at three orientations is one outline, and tells the stage's stretch by itself
  CHECK(diameter({"fit", pin})["circle"]["rms_mm"].get<double>() < 0.004);

  for (const std::string bad :
       {"{}", "[", "{\"format\":\"rondure-calibration\",\"version\":1,\"kind\":\"plane\"}"}) {
    const Run run = rondure_run({"fit", once, "--calibration", folder.write("bad.json", bad)});
    CHECK(run.exit_code == 1);
    CHECK(run.one_line_on_error());
  }
  CHECK(rondure_run({"fit", once, "--calibration", folder.path("none.json")}).exit_code == 1);
}
