// What stays the same from one measurement to the next, kept in a file.
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "demo_files.hpp"
#include "process.hpp"

using nlohmann::json;

namespace {

Run run_in(const Folder& folder, const std::vector<std::string>& arguments,
           const std::string& configuration = "/nonexistent") {
  RunOptions options;
  options.folder = folder.path();
  options.prepare = [configuration] { setenv("XDG_CONFIG_HOME", configuration.c_str(), 1); };
  return rondure_run(arguments, options);
}

double first_diameter(const Run& run) {
  return json::parse(run.out).at("features")[0].at("circle").at("diameter_mm").get<double>();
}

}  // namespace

TEST_CASE("bench file: with it a photograph alone is measured as with the words typed",
          "[cli][bench-file][repeats]") {
  const Folder folder;
  folder.write("bench.toml",
               "# the board under the lamp\nboard = \"9x6\"\nsquare = \"5mm\"\nboard_uncertainty = "
               "\"0.05%\"\nunit = \"in\"\n");
  const std::string photo = demo("roller.jpg");
  const Run daily = run_in(folder, {"measure", photo, "--height", "5.973mm"});
  INFO(daily.out << daily.err);
  REQUIRE(daily.exit_code == 0);
  CHECK_THAT(daily.out,
             Catch::StartsWith("from bench.toml: board 9x6, square 5mm, board_uncertainty 0.05%, unit in"));
  CHECK(daily.out.find(" in   ") < daily.out.find(" mm"));  // inches lead
  const Run typed = run_in(folder, {"measure", photo, "--height", "5.973mm", "--board", "9x6", "--square",
                                    "5mm", "--board-uncertainty", "0.05%", "--json", "-"});
  const Run by_file = run_in(folder, {"measure", photo, "--height", "5.973mm", "--json", "-"});
  CHECK(first_diameter(by_file) == Approx(first_diameter(typed)).epsilon(1e-12));
  // the command line wins
  const Run other =
      run_in(folder, {"measure", photo, "--height", "5.973mm", "--square", "10mm", "--json", "-"});
  CHECK(first_diameter(other) == Approx(2 * first_diameter(by_file)).epsilon(0.03));
  // a scale that is typed takes the place of camera and board
  const Run scaled = run_in(folder, {"measure", demo("drum.png"), "--scale", "38px/mm+-0.02"});
  CHECK(scaled.exit_code == 0);
  CHECK_THAT(scaled.out, Catch::StartsWith("from bench.toml: unit in"));
}

TEST_CASE("bench file: named, in the folder, in the user's configuration folder, in this order",
          "[cli][bench-file]") {
  const Folder folder, home;
  std::filesystem::create_directories(home.path("rondure"));
  home.write("rondure/bench.toml", "unit = \"thou\"\n");
  const std::string points = folder.write("points.csv", "1,0\n0,1\n-1,0\n0,-1\n0.7071,0.7071\n");
  const auto diameter = [&](const std::vector<std::string>& more) {
    std::vector<std::string> arguments{"fit", points, "--json", "-"};
    arguments.insert(arguments.end(), more.begin(), more.end());
    const Run run = run_in(folder, arguments, home.path());
    INFO(run.err);
    REQUIRE(run.exit_code == 0);
    return first_diameter(run);
  };
  CHECK(diameter({}) == Approx(0.0508).epsilon(1e-3));  // thou
  folder.write("bench.toml", "unit = \"in\"\n");
  CHECK(diameter({}) == Approx(50.8).epsilon(1e-3));
  const std::string named = folder.write("other.toml", "unit = \"um\"\n");
  CHECK(diameter({"--bench", named}) == Approx(0.002).epsilon(1e-3));
  CHECK(diameter({"--bench", named, "--unit", "mm"}) == Approx(2).epsilon(1e-3));
}

TEST_CASE("bench file: a wrong word is named with its line and the known words", "[cli][bench-file]") {
  const Folder folder;
  const auto refusal = [&](const std::string& text) {
    folder.write("bench.toml", text);
    const Run run = run_in(folder, {"measure", demo("drum.png"), "--scale", "38px/mm"});
    CHECK(run.exit_code == 2);
    CHECK(run.one_line_on_error());
    return run.err;
  };
  CHECK_THAT(refusal("board = \"9x6\"\nbord = \"8x5\"\n"),
             Catch::Contains("bench.toml, line 2: found 'bord'") && Catch::Contains("camera, board, square"));
  CHECK_THAT(refusal("board = \"9x6\"\n\nsquare 5mm\n"), Catch::Contains("bench.toml, line"));
  CHECK_THAT(refusal("square = [5, 6]\n"), Catch::Contains("line 1: needed square"));
  std::filesystem::remove(folder.path("bench.toml"));
  const Run gone = run_in(folder, {"fit", folder.write("p.csv", "1,0\n0,1\n-1,0\n"), "--bench", "gone.toml"});
  CHECK(gone.exit_code == 1);
  CHECK(gone.one_line_on_error());
}

TEST_CASE("bench file: a shelf of tools beside the bench file", "[cli][bench-file]") {
  const Folder folder, shop;
  shop.write("tools.csv", "name,kind,radius,diameter,thickness,unit\nball cutter 25,cutter,,25,,mm\n");
  const std::string bench = shop.write("bench.toml", "tools = \"tools.csv\"\n");
  const Run plan = run_in(folder, {"plan", demo("two-dates/roller-2026.json"), "--radius", "13mm",
                                   "--arc-width", "5mm", "--bench", bench});
  INFO(plan.out << plan.err);
  REQUIRE(plan.exit_code == 0);
  CHECK_THAT(plan.out, Catch::Contains("ball cutter 25") && Catch::Contains("from " + bench + ": tools"));
}

TEST_CASE("measure: the board is counted when nobody says its size, and squares are understood",
          "[cli][measure]") {
  const std::string photo = demo("roller.jpg");
  const auto diameter = [&](std::vector<std::string> more, std::string* err = nullptr) {
    std::vector<std::string> arguments{"measure",  photo,     "--square", "5mm",
                                       "--height", "5.973mm", "--json",   "-"};
    arguments.insert(arguments.end(), more.begin(), more.end());
    const Run run = rondure_run(arguments);
    if (err) *err = run.err;
    INFO(run.err);
    REQUIRE(run.exit_code == 0);
    return json::parse(run.out).at("features")[0];
  };
  const double told = diameter({"--board", "9x6"}).at("circle").at("diameter_mm").get<double>();
  CHECK(diameter({}).at("circle").at("diameter_mm").get<double>() == Approx(told).epsilon(1e-9));
  const json squares = diameter({"--board", "10x7"});
  CHECK(squares.at("circle").at("diameter_mm").get<double>() == Approx(told).epsilon(1e-9));
  CHECK(squares.dump().find("board-squares-counted") != std::string::npos);
  const Run none = rondure_run({"measure", demo("drum.png"), "--square", "5mm"});
  CHECK(none.exit_code == 1);
  CHECK(none.one_line_on_error());
}
