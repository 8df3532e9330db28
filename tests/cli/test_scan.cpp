// measure --scan and calibrate scanner as a user runs them, on the demo's scans (600 dpi, the carriage 0.3 % fast).
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>

#include "demo_files.hpp"
#include "process.hpp"

namespace {}  // namespace

TEST_CASE("measure --scan: a stretched scan is not oval, and with the scanner's file exact", "[cli][scan]") {
  const Folder folder;
  const auto feature = [&](std::vector<std::string> arguments) {
    arguments.insert(arguments.begin(), "measure");
    arguments.insert(arguments.end(), {"--json", "-"});
    const Run run = rondure_run(arguments);
    INFO(run.err);
    REQUIRE(run.exit_code == 0);
    return nlohmann::json::parse(run.out)["features"][0];
  };
  // images-demo/truth.json: the idler as it is now is 15.928 mm, oval by 0.004 mm.
  const auto unknown = feature({demo("scan_idler.png"), "--scan"});
  CHECK(unknown["verdict"] != "oval");
  CHECK(std::abs(unknown["circle"]["diameter_mm"].get<double>() - 15.928) <
        2 * unknown["circle"]["u_diameter_mm"].get<double>());
  const std::string scanner = folder.path("scanner.json");
  const Run made = rondure_run({"calibrate", "scanner", demo("scan_ring_1.png"), demo("scan_ring_2.png"),
                                "--pin", "20.000mm+-0.002mm", "-o", scanner});
  INFO(made.err);
  REQUIRE(made.exit_code == 0);
  CHECK_THAT(made.out, Catch::Contains("turned once"));
  const auto known = feature({"--scan", demo("scan_idler.png"), "--calibration", scanner});
  CHECK(known["circle"]["diameter_mm"].get<double>() == Approx(15.928).margin(0.003));
  CHECK(known["circle"]["u_diameter_mm"].get<double>() < 0.003);  // an edge's place is the reference's too
  CHECK(known["ellipse"]["ovality_mm"].get<double>() == Approx(0.004).margin(0.001));
  CHECK(known["source"]["calibration"] == scanner);
}

TEST_CASE("measure --scan: what it cannot take is refused in one line", "[cli][scan]") {
  const Folder folder;
  const std::string scanner = folder.path("scanner.json");
  REQUIRE(rondure_run(
              {"calibrate", "scanner", demo("scan_ring_1.png"), "--pin", "20.000mm+-0.002mm", "-o", scanner})
              .exit_code == 0);
  const auto refused = [&](std::vector<std::string> arguments, int exit_code, const std::string& words) {
    const Run run = rondure_run(arguments);
    INFO(run.err);
    CHECK(run.exit_code == exit_code);
    CHECK(run.one_line_on_error());
    CHECK_THAT(run.err, Catch::Contains(words));
  };
  refused({"measure", demo("drum.png"), "--scan"}, 1, "says no resolution");
  refused({"measure", demo("drum.png"), "--scan", "60"}, 2, "needed a resolution such as 600dpi");
  refused({"measure", demo("scan_idler.png"), "--scan", "--height", "3mm"}, 2, "no parallax");
  refused({"measure", demo("scan_idler.png"), "--scan", "1200dpi", "--calibration", scanner}, 1,
          "same resolution");
  refused({"measure", demo("scan_idler.png"), "--scan", "--calibration", demo("truth.json")}, 1,
          "truth.json");
  refused({"calibrate", "scanner", demo("scan_ring_1.png"), "--pin", "20mm", "-o", folder.path("no.json")}, 2,
          "with its uncertainty");
  refused({"calibrate", "scanner", demo("scan_ring_1.png"), "--pin", "25mm+-0.01mm", "-o",
           folder.path("no.json")},
          1, "25.000 mm was said");
  CHECK_FALSE(std::filesystem::exists(folder.path("no.json")));
}
