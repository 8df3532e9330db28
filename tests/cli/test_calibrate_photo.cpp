// calibrate camera, plane and board as a user runs them, on the demo pictures.
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>

#include "demo_files.hpp"
#include "process.hpp"

namespace {

std::vector<std::string> camera_command(const std::string& output) {
  std::vector<std::string> arguments = {"calibrate", "camera"};
  for (const char* n : {"01", "02", "03", "04", "05", "06", "07", "08", "09", "10"})
    arguments.push_back(demo("views/view_" + std::string(n) + ".jpg"));
  arguments.insert(arguments.end(), {"--board", "9x6", "--square", "5mm", "-o", output});
  return arguments;
}

}  // namespace

TEST_CASE("calibrate camera, then plane: the demo camera's true lens and scale come out",
          "[cli][calibrate][repeats]") {
  const Folder folder;
  const Run run = rondure_run(camera_command(folder.path("cam.json")));
  INFO(run.err);
  REQUIRE(run.exit_code == 0);
  CHECK_THAT(run.out, Catch::Contains("camera from 10 of 10 views"));
  const auto camera = nlohmann::json::parse(folder.read("cam.json"));
  CHECK(camera["kind"] == "camera");
  CHECK(camera["made_from"].size() == 10);
  CHECK(camera["made_from"][0]["sha256"].get<std::string>().size() == 64);
  CHECK(camera["views"].size() == 10);
  // images-demo/truth.json: focal length 3402 px, centre 811.4, 593.7, k1 -0.12, ink 0.02 mm.
  CHECK(camera["lens"]["focal_x_px"].get<double>() == Approx(3402).epsilon(2e-4));
  CHECK(camera["lens"]["center_x_px"].get<double>() == Approx(811.4).margin(0.5));
  CHECK(camera["lens"]["k1"].get<double>() == Approx(-0.12).margin(0.001));
  CHECK(camera["ink_growth_mm"].get<double>() == Approx(0.02).margin(0.002));

  const Run plane = rondure_run({"calibrate", "plane", demo("idler.jpg"), "--camera", folder.path("cam.json"),
                                 "--board", "9x6", "--square", "5mm", "--board-uncertainty", "0.05%", "-o",
                                 folder.path("plane.json")});
  INFO(plane.err);
  REQUIRE(plane.exit_code == 0);
  const auto j = nlohmann::json::parse(folder.read("plane.json"));
  CHECK(j["kind"] == "plane");
  CHECK(j["u_scale_ratio"].get<double>() == Approx(0.0005));
  CHECK(j["covariance"].size() == 17);
  CHECK(j["made_from"].size() == 2);

  // The camera does not fit a picture of another size; a plane is no camera; the board is another one.
  const auto refused = [&](std::vector<std::string> arguments, const std::string& words) {
    arguments.insert(arguments.begin(), {"calibrate", "plane"});
    arguments.insert(arguments.end(), {"-o", folder.path("none.json")});
    const Run r = rondure_run(arguments);
    INFO(r.err);
    CHECK(r.exit_code == 1);
    CHECK(r.one_line_on_error());
    CHECK_THAT(r.err, Catch::Contains(words));
    CHECK_FALSE(std::filesystem::exists(folder.path("none.json")));
  };
  refused({demo("drum.png"), "--camera", folder.path("cam.json"), "--board", "9x6", "--square", "5mm"},
          "1200 x 1100");
  refused({demo("idler.jpg"), "--camera", folder.path("plane.json"), "--board", "9x6", "--square", "5mm"},
          "needed a camera");
  refused({demo("idler.jpg"), "--board", "8x6", "--square", "5mm"}, "found 9x6");
  refused({demo("drum.png"), "--board", "9x6", "--square", "5mm"}, "no chessboard found");
  refused({folder.path("nothing.jpg"), "--board", "9x6", "--square", "5mm"}, "no such file");
  refused({demo("truth.json"), "--board", "9x6", "--square", "5mm"}, "not a picture");
}

TEST_CASE("calibrate board: a page at true size, bad sizes are the command line's fault",
          "[cli][calibrate]") {
  const Folder folder;
  const Run run = rondure_run(
      {"calibrate", "board", "--board", "9x6", "--square", "5mm", "-o", folder.path("board.svg")});
  REQUIRE(run.exit_code == 0);
  CHECK_THAT(folder.read("board.svg"), Catch::StartsWith("<?xml") && Catch::Contains("width=\"210mm\""));
  for (const auto& [board, square] :
       {std::pair{"9", "5mm"}, {"9x6", "5furlong"}, {"9x6", "0mm"}, {"9x6", "50mm"}, {"1x1", "5mm"}}) {
    const Run r = rondure_run(
        {"calibrate", "board", "--board", board, "--square", square, "-o", folder.path("no.svg")});
    INFO(board << " " << square << ": " << r.err);
    CHECK(r.exit_code == 2);
    CHECK(r.one_line_on_error());
    CHECK_FALSE(std::filesystem::exists(folder.path("no.svg")));
  }
  CHECK(rondure_run({"calibrate", "board", "--board", "9x6", "--square", "5mm", "-o", "/nowhere/board.svg"})
            .exit_code == 1);
}

TEST_CASE("calibrate camera: refusals are one line and leave no file", "[cli][calibrate]") {
  const Folder folder;
  const auto out = folder.path("cam.json");
  const std::string view = demo("views/view_01.jpg"), words = folder.write("words.jpg", "x,y\n"),
                    empty = folder.write("empty.jpg", "");
  const auto refused = [&](std::vector<std::string> files, int code) {
    files.insert(files.begin(), {"calibrate", "camera"});
    files.insert(files.end(), {"--board", "9x6", "--square", "5mm", "-o", out});
    const Run run = rondure_run(files);
    INFO(run.err);
    CHECK(run.exit_code == code);
    CHECK(run.one_line_on_error());
    CHECK(run.out.empty());
    CHECK_FALSE(std::filesystem::exists(out));
  };
  refused({view}, 1);
  refused({view, words}, 1);
  refused({view, empty}, 1);
  refused({view, demo("drum.png"), view}, 1);
  refused({}, 2);
}

TEST_CASE("calibrate scale: two round references give scale and edge offset", "[cli][calibrate]") {
  // images-demo/drum.png: 38.00 px/mm, a dark disc of 24.8875 mm with a light bore of 7.964 mm a little left of its middle.
  const Folder folder;
  const auto out = folder.path("scale.json");
  const Run run = rondure_run(
      {"calibrate", "scale", demo("drum.png"), "--pin", "7.964mm", "--pin", "24.8875mm", "-o", out});
  INFO(run.err);
  REQUIRE(run.exit_code == 0);
  const auto j = nlohmann::json::parse(folder.read("scale.json"));
  CHECK(j["kind"] == "scale");
  CHECK(j["ideal_px_from_part_mm"][0][0].get<double>() == Approx(38).margin(0.02));
  CHECK(std::abs(j.value("edge_offset_px", 0.0)) < 0.1);
  CHECK(j["pins"].size() == 2);
  const Run few = rondure_run(
      {"calibrate", "scale", demo("drum.png"), "--pin", "7.964mm", "-o", folder.path("none.json")});
  CHECK(few.exit_code == 1);
  CHECK(few.one_line_on_error());
  CHECK_FALSE(std::filesystem::exists(folder.path("none.json")));
  CHECK(rondure_run({"calibrate", "scale", demo("drum.png"), "--pin", "-3mm", "-o", out}).exit_code == 2);
}
