// Solid parts in real light, drawn by an independent ray tracer (tests/data/solid_scenes): shadows, wall, chamfer, camera off
// the axis. The program as a user calls it, height told.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "process.hpp"

using nlohmann::json;

namespace {

struct Answer {
  bool refused = false;
  double error_mm = 0, u_mm = 0, px_per_mm = 0;
  std::string verdict, notes;
  double height_mm = 0, u_height_mm = 0, wall_mm = 0;  // of the straight wall's upper end, said and true
};

struct Asked {
  json truth;
  Run run;
};

// The scene measured as a person would who has a calliper (`height_told`) or not.
Asked ask(const std::string& number, bool height_told) {
  const std::filesystem::path folder =
      std::filesystem::absolute(std::filesystem::path(RONDURE_TEST_DATA) / "solid_scenes");
  std::ifstream in(folder / (number + ".json"));
  const json truth = json::parse(in);
  const json &part = truth.at("part"), &near = part.at("near_px");
  std::vector<std::string> arguments = {"measure",       (folder / (number + ".jpg")).string(),
                                        "--calibration", (folder / (number + ".camera.json")).string(),
                                        "--board",       "9x6",
                                        "--square",      "5mm",
                                        "--near",        near[0].dump() + "," + near[1].dump(),
                                        "--json",        "-"};
  if (height_told)
    arguments.insert(arguments.end(), {"--height", part.at("outside").at("z_mm").dump() + "mm"});
  return {truth, rondure_run(arguments)};
}

Answer measured(const std::string& number, bool height_told = true) {
  const auto [truth, run] = ask(number, height_told);
  const json& part = truth.at("part");
  const json& outside = part.at("outside");
  INFO(run.err);
  Answer answer;
  answer.refused = run.exit_code == 1;
  if (answer.refused) {
    CHECK(run.one_line_on_error());
    answer.notes = run.err;
    return answer;
  }
  REQUIRE(run.exit_code == 0);
  const json features = json::parse(run.out).at("features");
  for (const json& f : features)
    if (f.at("name") == "outside") {
      const json& circle = f.at("circle");
      answer.error_mm = circle.at("diameter_mm").get<double>() - outside.at("diameter_mm").get<double>();
      answer.u_mm = circle.at("u_diameter_mm"), answer.px_per_mm = truth.at("camera").at("px_per_mm");
      answer.verdict = f.value("verdict", ""), answer.notes = f.value("warnings", json::array()).dump();
      answer.height_mm = f.at("height_mm"), answer.u_height_mm = f.at("u_height_mm");
      answer.wall_mm = outside.at("z_mm").get<double>() - outside.at("chamfer_mm").get<double>() -
                       outside.at("fillet_mm").get<double>();
      return answer;
    }
  FAIL("no outside in scene " << number);
  return answer;
}

}  // namespace

TEST_CASE("measure: solid parts in real light are right within their uncertainty and within 0.36 px",
          "[cli][measure][solid][repeats]") {
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

TEST_CASE("measure: the height is found in the picture where the foot shows",
          "[cli][measure][solid][repeats]") {
  // 015, 58 mm off the axis: of its rings only half the hub's is found, far off the axis of the wall as seen.
  const auto number = GENERATE(as<std::string>{}, "003", "004", "005", "015", "031");
  const Answer answer = measured(number, false);
  INFO("scene " << number << ": error " << answer.error_mm << " mm, u " << answer.u_mm << " mm, height "
                << answer.height_mm << ", true " << answer.wall_mm);
  CHECK(std::abs(answer.error_mm) <= 3 * answer.u_mm);
  CHECK(answer.u_mm <= 0.08);
  CHECK(std::abs(answer.height_mm - answer.wall_mm) <= 0.1 + 3 * answer.u_height_mm);
  CHECK_THAT(answer.notes, Catch::Contains("height-from-picture"));
}

// Of these only a bore's or a hub's rings are found clean: refused until 2026-11, "its outside may be" that ring or a larger.
TEST_CASE("measure: the outside about a bore or a hub that is clearer than it is found",
          "[cli][measure][solid][repeats]") {
  // 022-seed3: its wall shows, and the ring of its bore was no outside. 014-seed9: the same, but dark on wood, with other
  // ground on one side. 002-seed4: on speckle, its outline is met by single arcs alone.
  const auto number = GENERATE(as<std::string>{}, "022-seed3", "014-seed9", "002-seed4");
  const Answer answer = measured(number);
  INFO("scene " << number << ": error " << answer.error_mm << " mm, u " << answer.u_mm);
  REQUIRE_FALSE(answer.refused);
  CHECK(std::abs(answer.error_mm) <= 2 * answer.u_mm);
  CHECK(answer.u_mm <= 0.12);
  CHECK(std::abs(answer.error_mm) * answer.px_per_mm <= 0.36);
}

// An inner ring is the sharpest there: no answer rather than its size.
TEST_CASE("measure: parts as bright as their ground are refused or covered",
          "[cli][measure][solid][repeats]") {
  // 011-seed7: dark on wood; a groove in its face is sharper than its outside, and larger rings are found all the way round.
  // 014-seed9: dark on wood, 13.7 mm high; its bore of 2 mm was answered as the outside, under which no wall shows.
  const auto number = GENERATE(as<std::string>{}, "024", "030", "011-seed7", "014-seed9");
  const Answer answer = measured(number);
  INFO("scene " << number << ": error " << answer.error_mm << " mm, u " << answer.u_mm);
  if (answer.refused)
    CHECK_THAT(answer.notes, Catch::Contains("other paper"));
  else
    CHECK(std::abs(answer.error_mm) <= 3 * answer.u_mm);
}

// Its height not told, the bore of 014-seed9 was answered as a disc of 2 mm lying flat: 6 mm too small.
TEST_CASE("measure: a bore on a dark face is no outside, height not told", "[cli][measure][solid]") {
  const Answer answer = measured("014-seed9", false);
  if (answer.refused)
    CHECK_THAT(answer.notes, Catch::Contains("bore in a larger part"));
  else
    CHECK(std::abs(answer.error_mm) <= 3 * answer.u_mm);
}

// The ground darkens beside a part 1.5 mm high: half levels lie 0.5 px outwards.
// 2026-11-30: 0.28 mm (8 u) too large: the rim of the face, proposed by an arc, was a wall 0.03 +- 0.08 mm high.
TEST_CASE("measure: a rim that an arc proposes is no part that lies flat", "[cli][measure][solid][repeats]") {
  const Answer told = measured("004-seed16");
  CHECK(std::abs(told.error_mm) < 2 * told.u_mm);
  const Answer untold = measured("004-seed16", false);
  if (!untold.refused) CHECK(std::abs(untold.error_mm) < 3 * untold.u_mm);
}

TEST_CASE("measure: a thin part in a light tent", "[cli][measure][solid]") {
  const Answer answer = measured("033");
  CHECK(std::abs(answer.error_mm) <= 3 * answer.u_mm);
  CHECK(std::abs(answer.error_mm) * answer.px_per_mm <= 0.36);
}

// A grey flange 1.2 mm high in a tent, the picture soft: shade, wall and edge are one slope 1.6 times as wide as the camera
// draws an edge, and its middle lies 1.4 px outside the part. Its softness is what tells so.
TEST_CASE("measure: an outline softer than the board's edges is less sure", "[cli][measure][solid]") {
  const Answer answer = measured("005-seed5");
  INFO("error " << answer.error_mm << " mm, u " << answer.u_mm);
  CHECK(std::abs(answer.error_mm) <= 2 * answer.u_mm);
  CHECK(answer.u_mm <= 0.25);
  CHECK_THAT(answer.notes, Catch::Contains("the shade beside the part, its wall or its chamfer runs into"));
}

// 006-seed9: two lights, 1.7 mm high; one shadow is as light as the part, so that its own edge does not show over a quarter of
// the outline: 0.40 mm too large and called oval in 2026-11, u is still wide.
TEST_CASE("measure: a joined shadow does not make a part oval", "[cli][measure][solid]") {
  const Answer answer = measured("006-seed9");
  INFO("error " << answer.error_mm << " mm, u " << answer.u_mm);
  CHECK(std::abs(answer.error_mm) <= 0.04);
  CHECK(answer.u_mm <= 0.4);
  CHECK(answer.verdict != "oval");
}

// Beside a part 1 mm high a lamp's shadow is as sharp as the part, and joined to it over half the outline: 0.45 mm.
TEST_CASE("measure: a joined shadow is no part of the outside", "[cli][measure][solid]") {
  const Answer answer = measured("028");
  INFO("error " << answer.error_mm << " mm, u " << answer.u_mm);
  CHECK(std::abs(answer.error_mm) <= 3 * answer.u_mm);
  CHECK(std::abs(answer.error_mm) * answer.px_per_mm <= 0.36);
  CHECK(answer.u_mm <= 0.06);
}

// A lamp's shadow as light as the part: on that side the outline's own edge is the near line of its dark wall. 2026-11-30: 0.094 mm
// too small at 3.0 u and oval by 0.160 +- 0.024 mm, of a round one; then in doubt by 0.11 mm. Without the near line: +0.025 mm, u 0.047.
TEST_CASE("measure: a shadow as light as the part makes it neither smaller nor oval",
          "[cli][measure][solid]") {
  const Answer answer = measured("029-seed36");
  INFO("error " << answer.error_mm << " mm, u " << answer.u_mm << " mm, " << answer.verdict);
  REQUIRE_FALSE(answer.refused);
  CHECK(std::abs(answer.error_mm) < 2 * answer.u_mm);
  CHECK(answer.u_mm < 0.06);
  CHECK(answer.verdict != "oval");
}

// Standing parts under the camera, whose wall hardly shows: the edge as placed for a flat disc is 0.051 mm too large on wood
// (005-seed36), and oval by the shade beside it (016-seed36, round); the wall's edges are placed ray by ray, in their shade.
TEST_CASE("measure: a standing part whose wall hardly shows is measured as one that stands",
          "[cli][measure][solid]") {
  const auto [number, most_mm, oval] =
      GENERATE(table<std::string, double, bool>({{"005-seed36", 0.02, true}, {"016-seed36", 0.01, false}}));
  const Answer answer = measured(number);
  INFO("scene " << number << ": error " << answer.error_mm << " mm, u " << answer.u_mm << " mm, "
                << answer.verdict);
  REQUIRE_FALSE(answer.refused);
  CHECK(std::abs(answer.error_mm) < most_mm);
  CHECK(answer.u_mm < 0.03);
  CHECK((answer.verdict == "oval") == oval);
}

// A window's shadow joins the outline in two places and draws it out there, by 0.4 and 0.6 px: bent by them, the outline was
// taken for that of a crowned wall, 0.092 mm too large at 2.9 u, in 2026-12. Elsewhere the edges are within 0.06 px of the truth.
TEST_CASE("measure: where a shadow joins, it does not bend the rest of the outline",
          "[cli][measure][solid]") {
  const Answer answer = measured("016-seed37");
  INFO("error " << answer.error_mm << " mm, u " << answer.u_mm << " mm, " << answer.verdict);
  REQUIRE_FALSE(answer.refused);
  CHECK(std::abs(answer.error_mm) < 0.02);
  CHECK(answer.u_mm < 0.03);
  CHECK(answer.verdict != "irregular");
}

// Round, low, red, its shade soft on one side (blur 1.8 px of the board's 1.4): oval by 0.046 +- 0.016 mm in 2026-11. What may
// lie off there goes into the oval too.
TEST_CASE("measure: edges softer than the board's on one side make no oval", "[cli][measure][solid]") {
  const Answer answer = measured("003-seed35");
  INFO("error " << answer.error_mm << " mm, u " << answer.u_mm << " mm, " << answer.verdict);
  REQUIRE_FALSE(answer.refused);
  CHECK(std::abs(answer.error_mm) < 2 * answer.u_mm);
  CHECK(answer.verdict != "oval");
}

// A glossy disc that mirrors its tent, chamfered: 0.26 mm too large and 3.8 u off in 2026-11, when the edge as placed for a
// flat disc was preferred to the wall's. (The dark line itself: tests/photo/test_outline_edges.cpp.)
TEST_CASE("measure: a glossy disc with a dark line within its outline is within its interval",
          "[cli][measure][solid]") {
  const Answer answer = measured("003-seed4");
  INFO("error " << answer.error_mm << " mm, u " << answer.u_mm);
  REQUIRE_FALSE(answer.refused);
  CHECK(std::abs(answer.error_mm) <= 2 * answer.u_mm);
  CHECK(std::abs(answer.error_mm) <= 0.2);
}

TEST_CASE("measure: a solid part has one bore, at its upper rim, and the far rim is none of the part",
          "[cli][measure][solid][repeats]") {
  // 038: its rim is chamfered by 0.2 mm; the chamfer's outer line is no bore.
  const auto number = GENERATE(as<std::string>{}, "003", "005", "025", "031", "038");
  const std::filesystem::path folder =
      std::filesystem::absolute(std::filesystem::path(RONDURE_TEST_DATA) / "solid_scenes");
  std::ifstream in(folder / (number + ".json"));
  const json truth = json::parse(in);
  const json &part = truth.at("part"), &near = part.at("near_px");
  const Folder made;
  const Run run =
      rondure_run({"measure", (folder / (number + ".jpg")).string(), "--calibration",
                   (folder / (number + ".camera.json")).string(), "--board", "9x6", "--square", "5mm",
                   "--height", part.at("outside").at("z_mm").dump() + "mm", "--near",
                   near[0].dump() + "," + near[1].dump(), "--json", "-", "--outlines", made.path("o.json")});
  INFO("scene " << number << ": " << run.err);
  REQUIRE(run.exit_code == 0);
  int bores = 0;
  const json answer = json::parse(run.out);
  for (const json& f : answer.at("features")) {
    if (f.at("kind") != "bore") continue;
    ++bores;
    const double error_mm =
        f.at("circle").at("diameter_mm").get<double>() - part.at("bore").at("diameter_mm").get<double>();
    CHECK(std::abs(error_mm) < 0.03);
    CHECK(std::abs(error_mm) < 3 * f.at("circle").at("u_diameter_mm").get<double>());
  }
  CHECK(bores == 1);
  if (number == "005") {
    std::ifstream drawn(made.path("o.json"));
    const json outlines = json::parse(drawn);
    CHECK(std::ranges::any_of(outlines.at("not_the_part"),
                              [](const json& o) { return o.at("called") == "foot"; }));
    const json& aside = answer.at("not_the_part");
    REQUIRE(aside.size() == outlines.at("not_the_part").size());
    const json& foot = *std::ranges::find_if(aside, [](const json& o) { return o.at("what") == "foot"; });
    const json& middle = part.at("center_mm");
    CHECK(std::hypot(foot.at("center_mm")[0].get<double>() - middle[0].get<double>(),
                     foot.at("center_mm")[1].get<double>() - middle[1].get<double>()) < 1);
    CHECK(foot.at("diameter_mm").get<double>() < part.at("outside").at("diameter_mm").get<double>());
  }
}

namespace {

// One bore, within its interval, and no farther off than `most_mm`.
void check_bore(const std::string& number, bool height_told, double widest_u_mm, double most_mm = 1e9) {
  const auto [truth, run] = ask(number, height_told);
  const json& part = truth.at("part");
  INFO("scene " << number << ": " << run.err);
  REQUIRE(run.exit_code == 0);
  int bores = 0;
  const json answer = json::parse(run.out);
  for (const json& f : answer.at("features")) {
    if (f.at("kind") != "bore") continue;
    ++bores;
    const double error_mm = f.at("circle").at("diameter_mm").get<double>() -
                            part.at("bore").at("diameter_mm").get<double>(),
                 u_mm = f.at("circle").at("u_diameter_mm");
    INFO("bore: error " << error_mm << " mm, u " << u_mm << " mm");
    CHECK(std::abs(error_mm) < 3 * u_mm);
    CHECK(std::abs(error_mm) < most_mm);
    CHECK(u_mm < widest_u_mm);
  }
  CHECK(bores == 1);
}

}  // namespace

// Under the camera and of untold height: the chamfer's inner line, bright within and dark without, lies 0.4 mm inside the
// outside and is lit about as the shaded ground is.
TEST_CASE("measure: the inner line of the outside's chamfer is no bore", "[cli][measure][solid]") {
  check_bore("008-seed4", false, 0.5);
}

// The common part of two rims 4 px apart, the ground bright in it: no ring goes round it, and no bore was named in 2026-11.
TEST_CASE("measure: a bore seen through is found though no one ring goes round it", "[cli][measure][solid]") {
  check_bore("023-seed3", true, 0.15);
}

// 2026-11-30: a spacer that touches the board's paper; the light through its bore, 2.3 mm, was its "outside" (7.32 mm).
TEST_CASE("measure: the light through a tall part's bore is not its outside", "[cli][measure][solid]") {
  const Answer told = measured("003-seed34");
  CHECK(std::abs(told.error_mm) < 2 * told.u_mm);
  CHECK(std::abs(told.error_mm) < 0.03);
  CHECK(told.u_mm < 0.05);
}

// The same: of its hub's dark wall a line 0.8 mm lower than the bore's rim was named the bore, 4.30 +- 0.20 for 2.865 mm.
TEST_CASE("measure: a line that holds a clearer and higher rim is no bore", "[cli][measure][solid]") {
  check_bore("003-seed34", true, 0.3);
}

// On a light table, glossy and dark: the inner line of its chamfer of 0.2 mm shows on the near side alone, faint; 2026-11-30: the
// outer line was answered as the bore, 0.393 mm too large at 5.8 u.
TEST_CASE("measure: the outer line of a dark chamfer is not the bore's", "[cli][measure][solid][repeats]") {
  check_bore("003-seed16", true, 0.08);
}

// By a window: lit on the far side, dark on the near one, the chamfer of 0.2 mm shows its inner line half the way round.
TEST_CASE("measure: a bore whose break shows over half of its rim is as unsure as the break is wide",
          "[cli][measure][solid]") {
  check_bore("006-seed6", true, 0.5);
}

// The outline as found runs along a hard shadow that joins the part: until 2026-11-30 the rings were sought about its axis, 0.3 mm
// off the part's, and none was found, though the bore is clear to the eye.
TEST_CASE("measure: a bore is sought about the part's own axis, not about its joined shadow's",
          "[cli][measure][solid]") {
  const auto [number, widest_u_mm] = GENERATE(table<std::string, double>({{"028", 0.1}, {"006-seed9", 0.2}}));
  check_bore(number, true, widest_u_mm);
}

// Under the camera the bore's wall is seen all round: what lies beyond its broken rim is the foot's edge, farther off. 2026-11-30:
// taken for the rim's own inner line the bore came out 0.246 mm too small at 2.5 u; as a hole it is 0.05 mm too small at 0.5 u.
TEST_CASE("measure: the far edge of a chamfered bore under the camera is no line of its chamfer",
          "[cli][measure][solid]") {
  check_bore("009-seed35", true, 0.12, 0.1);
}

// Lit from one side, in a tent: until 2026-11-30 "inner edge", since over half the turn the flange is as bright as the hub
// (014-seed9, 022-seed3), or since the soft end of its shade was a groove's other wall (033).
TEST_CASE("measure: a hub is told from a groove by its light all round", "[cli][measure][solid]") {
  const auto number = GENERATE(as<std::string>{}, "014-seed9", "022-seed3", "033");
  const auto [truth, run] = ask(number, true);
  REQUIRE(run.exit_code == 0);
  int hubs = 0;
  const json features = json::parse(run.out).at("features");
  for (const json& f : features) {
    if (f.at("name") != "hub step") continue;
    ++hubs;
    const double error_mm = f.at("circle").at("diameter_mm").get<double>() -
                            truth.at("part").at("hub").at("diameter_mm").get<double>();
    INFO("scene " << number << ": hub off by " << error_mm << " mm");
    CHECK(std::abs(error_mm) < 2 * f.at("circle").at("u_diameter_mm").get<double>());
    CHECK(std::abs(error_mm) < 0.13);
    CHECK(f.at("circle").at("u_diameter_mm") < 0.2);
  }
  CHECK(hubs == 1);
}

// Brighter than its ground, lit by two lamps: where its chamfer is turned away from them it is as dark as the ground. Answered as
// a disc it was 0.135 mm too small at 3.7 u.
TEST_CASE("measure: a bright part under the camera is as unsure as a dark chamfer makes it",
          "[cli][measure][solid]") {
  const Answer answer = measured("002-seed35");
  INFO("error " << answer.error_mm << " mm, u " << answer.u_mm);
  if (!answer.refused) CHECK(std::abs(answer.error_mm) < 2.5 * answer.u_mm);
  CHECK(answer.u_mm < 0.12);
}

namespace {

// Outside, hub and bore by their names, each within 2 u of the truth and no less sure than said.
void is_the_demo_roller(const json& features, const json& known) {
  REQUIRE(features.size() == 3);
  const std::pair<const char*, double> wanted[] = {{"outside", 0.025}, {"hub step", 0.12}, {"bore", 0.06}};
  for (std::size_t n = 0; n < 3; ++n) {
    CHECK(features[n].at("name") == wanted[n].first);
    const json& circle = features[n].at("circle");
    const double error_mm = circle.at("diameter_mm").get<double>() - known[n].at("diameter_mm").get<double>();
    CHECK(std::abs(error_mm) < 2 * circle.at("u_diameter_mm").get<double>());
    CHECK(circle.at("u_diameter_mm") < wanted[n].second);
  }
  const json& ellipse = features[0].at("ellipse");
  CHECK(std::abs(ellipse.at("ovality_mm").get<double>() - 0.052) <
        2 * ellipse.at("u_ovality_mm").get<double>());
}

}  // namespace

// The main demo's picture (images-demo/roller-standing.json; drawn by tests/bench/solid_scenes/draw_demo).
TEST_CASE("measure: the demo's roller as the solid it is, height told and not",
          "[cli][measure][solid][demo][repeats]") {
  const std::filesystem::path demo = std::filesystem::absolute(RONDURE_SOURCE) / "images-demo";
  std::ifstream in(demo / "roller-standing.json");
  const json known = json::parse(in).at("pictures").at(0).at("features");
  const Folder folder;
  std::vector<std::string> arguments = {"calibrate", "camera", "--board", "9x6",
                                        "--square",  "5mm",    "-o",      folder.path("camera.json")};
  for (int n = 1; n <= 10; ++n)
    arguments.push_back(
        (demo / "views" / ((n < 10 ? "view_0" : "view_") + std::to_string(n) + ".jpg")).string());
  REQUIRE(rondure_run(arguments).exit_code == 0);

  arguments = {"measure",       (demo / "roller-standing.jpg").string(),
               "--calibration", folder.path("camera.json"),
               "--board",       "9x6",
               "--square",      "5mm",
               "--json",        "-"};
  const Run untold = rondure_run(arguments);
  INFO(untold.out << untold.err);
  REQUIRE(untold.exit_code == 0);
  const json found = json::parse(untold.out).at("features");
  is_the_demo_roller(found, known);
  CHECK(found[0].at("height_mm") ==
        Approx(5.723).margin(0.15));  // the straight wall's end: 0.25 mm are broken off

  arguments.insert(arguments.end(), {"--height", "5.973mm"});
  const Run told = rondure_run(arguments);
  INFO(told.out << told.err);
  REQUIRE(told.exit_code == 0);
  is_the_demo_roller(json::parse(told.out).at("features"), known);
  // Round, lit from one side: its rim lies here and there by the light (nine lobes of 0.0047 mm).
  const json bore = json::parse(told.out).at("features").at(2);
  CHECK(bore.at("kind") == "bore");
  CHECK((bore.at("verdict") == "undecided" || bore.at("verdict") == "round"));
}

// Its wall crowned by 0.35 mm over the whole height: a straight wall with an oval of 0.345 +- 0.045 mm fitted that outline.
TEST_CASE("measure: a roller crowned over its whole width is neither oval nor of another size",
          "[cli][measure][solid]") {
  const std::filesystem::path scenes =
      std::filesystem::absolute(std::filesystem::path(RONDURE_TEST_DATA) / "solid_scenes");
  std::ifstream in(scenes / "roller-crowned.json");
  const json truth = json::parse(in).at("pictures").at(0).at("features").at(0);
  std::vector<std::string> arguments = {"measure",       (scenes / "roller-crowned.jpg").string(),
                                        "--calibration", (scenes / "roller-crowned.camera.json").string(),
                                        "--board",       "9x6",
                                        "--square",      "5mm",
                                        "--json",        "-"};
  for (const bool told : {false, true}) {
    if (told) arguments.insert(arguments.end(), {"--height", "5.973mm"});
    const Run run = rondure_run(arguments);
    INFO(run.out << run.err);
    REQUIRE(run.exit_code == 0);
    const json outside = json::parse(run.out).at("features").at(0);
    const json &circle = outside.at("circle"), &ellipse = outside.at("ellipse");
    CHECK(std::abs(circle.at("diameter_mm").get<double>() - truth.at("diameter_mm").get<double>()) <
          circle.at("u_diameter_mm").get<double>());
    CHECK(circle.at("u_diameter_mm") < 0.25);
    CHECK(std::abs(ellipse.at("ovality_mm").get<double>() - truth.at("ovality_mm").get<double>()) <
          2 * ellipse.at("u_ovality_mm").get<double>());
    CHECK(outside.at("verdict") != "oval");
    CHECK_THAT(outside.at("warnings").dump(), Catch::Contains("middle stands"));
  }
}
