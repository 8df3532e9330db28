// rondure measure --side as a user runs it: a drawn silhouette in, text and record out; refusals.
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <regex>

#include "process.hpp"
#include "profile/drawn_side.hpp"
#include "render/image_file.hpp"

using namespace rondure;
using namespace rondure::test;

namespace {

constexpr double kSide_px_mm = 30;

std::string roller_side() { return RONDURE_SOURCE "/images-demo/roller-side.jpg"; }

Line roller_line() {
  Line m{{0, 0}, {0, 6.6}, {0.4, 7}, {1.5, 7}, {1.5, 6}};
  add_arc(m, {7.5, 6}, 12.94);
  for (const auto& p : {Eigen::Vector2d(7.5, 7), {8.6, 7}, {9, 6.6}, {9, 0}}) m.push_back(p);
  return m;
}

std::string save(const Folder& folder, const std::string& name, const Line& line_mm) {
  const Picture p = drawn(line_mm, kSide_px_mm, 400, 520, 0.8, 0.008, 7);
  render::Image image;
  image.width_px = p.width_px, image.height_px = p.height_px;
  image.samples.assign(p.grey8.begin(), p.grey8.end());
  REQUIRE(render::write_png(folder.path(name), image));
  return folder.path(name);
}

Run side(const std::string& photo, const std::vector<std::string>& more = {}) {
  std::vector<std::string> arguments{"measure", photo, "--side", "--scale", "30.00px/mm+-0.003"};
  arguments.insert(arguments.end(), more.begin(), more.end());
  return rondure_run(arguments);
}

}  // namespace

TEST_CASE("measure --side: widths, diameters and crown of a roller, into the record", "[cli][side]") {
  const Folder folder;
  const std::string photo = save(folder, "side.png", placed(closed(roller_line()), 0.03, {2.1, 8.6}));
  const Run run = side(photo, {"--save", folder.path("part.json"), "--material", "POM-C"});
  CHECK(run.err == "");
  REQUIRE(run.exit_code == 0);
  CHECK(run.out.find("crown") != std::string::npos);
  CHECK(run.out.find("left flange") != std::string::npos);
  std::ifstream in(folder.path("part.json"));
  const auto record = nlohmann::json::parse(in);
  const auto& profile = record.at("profile");
  std::string kinds;
  for (const auto& s : profile.at("segments")) kinds += s.at("kind").get<std::string>() + " ";
  CHECK(kinds == "face chamfer cylinder face arc face cylinder chamfer face ");
  CHECK(profile.at("points").size() > 100);
  const auto& crown = profile.at("segments").at(4);
  CHECK(std::abs(crown.at("radius_mm").get<double>() - 12.94) < 3 * crown.at("u_mm").get<double>());
  CHECK(crown.at("u_mm").get<double>() < 0.1);
  const auto feature = [&](const std::string& name) {
    for (const auto& f : record.at("features"))
      if (f.at("name") == name) return f;
    return nlohmann::json{};
  };
  const auto close = [&](const std::string& name, const std::string& kind, double size_mm) {
    INFO(name);
    const auto f = feature(name);
    REQUIRE_FALSE(f.is_null());
    CHECK(f.at("kind") == kind);
    const auto& c = f.at("circle");
    CHECK(std::abs(c.at("diameter_mm").get<double>() - size_mm) < 2.5 * c.at("u_diameter_mm").get<double>());
    CHECK(c.at("u_diameter_mm").get<double>() < (kind == "arc" ? 0.2 : 0.012));
  };
  close("left flange", "outside", 14);
  close("crown", "outside", 2 * (6 + 12.94 - std::sqrt(12.94 * 12.94 - 9)));
  close("crown radius", "arc", 25.88);
  close("crown width", "width", 6);
  close("whole width", "width", 9);
  // Measured again: replaced, not added.
  const std::size_t before = record.at("features").size();
  REQUIRE(side(photo, {"--save", folder.path("part.json")}).exit_code == 0);
  std::ifstream again(folder.path("part.json"));
  CHECK(nlohmann::json::parse(again).at("features").size() == before);
  // Another command that saves keeps the profile.
  REQUIRE(rondure_run({"original", folder.path("part.json"), "--save", folder.path("part.json")}).exit_code ==
          0);
  std::ifstream kept(folder.path("part.json"));
  CHECK(nlohmann::json::parse(kept).at("profile") == profile);
}

// 2026-11-30: both took the 1.1 mm that the chamfer leaves of the flange.
TEST_CASE("original and plan take a width beside a broken edge to its sharp corner", "[cli][side][plan]") {
  const Folder folder;
  const std::string photo = save(folder, "side.png", placed(closed(roller_line()), 0.03, {2.1, 8.6})),
                    part = folder.path("part.json");
  REQUIRE(side(photo, {"--profile", "flange,track,rim", "--save", part, "--material", "brass"}).exit_code ==
          0);
  const auto answer = [&](std::vector<std::string> words) {
    const Run run = rondure_run(words);
    INFO(run.err);
    REQUIRE(run.exit_code == 0);
    return nlohmann::json::parse(run.out);
  };
  const auto original = answer({"original", part, "--save", part, "--json", "-"});
  int seen = 0;
  for (const auto& f : original.at("original").at("features")) {
    if (f.at("name") != "flange width" && f.at("name") != "rim width") continue;
    ++seen;
    CHECK(std::abs(f.at("candidates").at(0).at("size_mm").get<double>() - 1.5) < 0.02);
  }
  CHECK(seen == 2);
  const auto plan = answer({"plan", part, "--surface", "track", "--json", "-"}).at("replacement");
  double length = 0, flange = 0, widths = 0;
  for (const auto& step : plan.at("profile")) {
    length += step.at("length_mm").get<double>();
    if (step.at("name") == "flange")
      flange = step.at("length_mm").get<double>() + step.at("edge_before_mm").get<double>();
  }
  for (const auto& size : plan.at("sizes"))
    if (size.at("kind") == "width" && size.at("name") != "whole width")
      widths += size.at("target_mm").get<double>();
  CHECK(std::abs(flange - 1.5) < 0.03);
  CHECK(std::abs(length - 9) < 0.05);
  CHECK(std::abs(length - widths) < 0.002);  // three widths, end to end, of which the edges are parts
}

TEST_CASE("measure --side: names given, and JSON to standard output", "[cli][side]") {
  const Folder folder;
  const std::string photo = save(folder, "side.png", placed(closed(roller_line()), 0.03, {2.1, 8.6}));
  const Run run = side(photo, {"--profile", "flange, track, flange", "--json", "-"});
  REQUIRE(run.exit_code == 0);
  CHECK(nlohmann::json::parse(run.out).at("profile").at("segments").at(4).at("name") == "track");
  const Run wrong = side(photo, {"--profile", "flange,track"});
  CHECK(wrong.exit_code == 2);
  CHECK(wrong.one_line_on_error());
}

TEST_CASE("measure --side: what is no side view is refused in one line", "[cli][side]") {
  const Folder folder;
  Line round, skew{{2, 3}, {10, 3}, {11, 7}, {4, 12}};
  for (int k = 0; k < 720; ++k)
    round.emplace_back(6.5 + 5 * std::cos(k * kPi / 360), 8.5 + 5 * std::sin(k * kPi / 360));
  const auto refused = [&](const std::string& name, const Line& line, const std::string& word) {
    INFO(name);
    const Run run = side(save(folder, name + ".png", line));
    CHECK(run.exit_code == 1);
    CHECK(run.one_line_on_error());
    CHECK(run.out == "");
    CHECK(run.err.find(word) != std::string::npos);
  };
  refused("above", round, "from above");
  refused("skew", skew, "symmetry");
  refused("cut", placed(closed(roller_line()), 0.03, {6, 8.6}), "border");
  refused("empty", {{-5, -5}, {-4, -5}, {-4, -4}}, "nothing");
  Line two{{2, 2}, {6, 2}, {6, 6}, {2, 6}};
  // Two squares as one closed line: the way between them goes there and back.
  for (const auto& p : {Eigen::Vector2d(2, 9), {6, 9}, {6, 13}, {2, 13}, {2, 9}, {2, 2}}) two.push_back(p);
  refused("two", two, "one part alone");
  // Lit from the front: along one flank the part is as bright as its ground, over the crown or all along.
  for (const bool whole : {false, true}) {
    Picture lit =
        drawn(placed(closed(roller_line()), 0.03, {2.1, 8.6}), kSide_px_mm, 400, 520, 0.8, 0.008, 7);
    const std::uint8_t ground = lit.grey8.front();
    for (int y = 0; y < 110; ++y)
      for (int x = whole ? 0 : 150; x < (whole ? 400 : 250); ++x)
        lit.grey8[static_cast<std::size_t>(y) * 400 + static_cast<std::size_t>(x)] = ground;
    render::Image image;
    image.width_px = 400, image.height_px = 520;
    image.samples.assign(lit.grey8.begin(), lit.grey8.end());
    const std::string photo = folder.path(whole ? "lit.png" : "lit-crown.png");
    REQUIRE(render::write_png(photo, image));
    const Run run = side(photo);
    INFO(run.out << run.err);
    CHECK(run.exit_code == 1);
    CHECK(run.one_line_on_error());
    CHECK(run.out == "");
    CHECK(run.err.find("symmetry") != std::string::npos);
  }
}

TEST_CASE("measure --side: an axis tilted by 2 degrees towards the camera is found and shifts no size",
          "[cli][side]") {
  // Drawn by an independent ray tracer (POV-Ray, Debian): tests/bench/side_scenes/draw_roller OUT.jpg 2 and -2.
  for (const bool left : {true, false}) {
    const Folder folder;
    const std::string photo =
        std::string(RONDURE_SOURCE "/tests/data/side_scenes/roller_tilt_") + (left ? "2.jpg" : "minus_2.jpg");
    const Run run = rondure_run({"measure", photo, "--side", "--scale", "60.00px/mm+-0.001", "--distance",
                                 "200mm", "--profile", "rim,hub", "--save", folder.path("part.json")});
    INFO(run.out << run.err);
    REQUIRE(run.exit_code == 0);
    CHECK(run.out.find(left ? "tilted by 2.00 deg, left end towards the camera"
                            : "tilted by 2.00 deg, right end towards the camera") != std::string::npos);
    std::ifstream in(folder.path("part.json"));
    const auto record = nlohmann::json::parse(in);
    // Truth: the sizes in draw_roller. 0.0015 mm = 0.1 px of a width, a tenth of what the tilt moves it by unless allowed for.
    const auto diameter = [&](const std::string& name) {
      for (const auto& f : record.at("features"))
        if (f.at("name") == name) return f.at("circle").at("diameter_mm").get<double>();
      FAIL("no feature " + name);
      return 0.0;
    };
    CHECK(std::abs(diameter("rim") - 12.44375) < 0.0015);
    CHECK(std::abs(diameter("hub") - 6.9685) < 0.0015);
    CHECK(std::abs(diameter("rim width") - 5.973) < 0.0015);
    CHECK(std::abs(diameter("whole width") - 6.9685) < 0.0015);
  }
}

TEST_CASE("measure --side: several pictures of one part are combined, a stranger among them is refused",
          "[cli][side]") {
  const Folder folder;
  const std::string tilted = RONDURE_SOURCE "/tests/data/side_scenes/roller_tilt_";
  const std::vector<std::string> how{"--side", "--scale", "60.00px/mm+-0.001", "--distance", "200mm"};
  std::vector<std::string> words{"measure", roller_side(), tilted + "2.jpg", tilted + "minus_2.jpg"};
  words.insert(words.end(), how.begin(), how.end());
  words.insert(words.end(), {"--profile", "rim,hub", "--overlay", folder.path("found.png"), "--save",
                             folder.path("part.json")});
  const Run run = rondure_run(words);
  INFO(run.out << run.err);
  REQUIRE(run.exit_code == 0);
  for (const char* drawn :
       {"found-roller-side.png", "found-roller_tilt_2.png", "found-roller_tilt_minus_2.png"})
    CHECK(std::filesystem::exists(folder.path(drawn)));
  std::ifstream in(folder.path("part.json"));
  const auto record = nlohmann::json::parse(in);
  // Truth: the sizes in draw_roller.
  for (const auto& [name, truth_mm] :
       {std::pair{"rim", 12.44375}, {"hub", 6.9685}, {"rim width", 5.973}, {"whole width", 6.9685}})
    for (const auto& f : record.at("features"))
      if (f.at("name") == name) {
        CHECK(std::abs(f.at("circle").at("diameter_mm").get<double>() - truth_mm) < 0.001);
        CHECK(f.at("source").at("file").get<std::string>().find("roller_tilt_minus_2.jpg") !=
              std::string::npos);
      }
  const std::string stranger = save(folder, "stranger.png", placed(closed(roller_line()), 0.03, {2.1, 8.6}));
  std::vector<std::string> odd{"measure", roller_side(), stranger};
  odd.insert(odd.end(), how.begin(), how.end());
  const Run refused = rondure_run(odd);
  CHECK(refused.exit_code != 0);
  CHECK(refused.out == "");
  CHECK(refused.err.find("no two of them cut into the same pieces") != std::string::npos);
}

TEST_CASE(
    "measure --side: scale, camera and height from a board on the same light table, a reference beside it",
    "[cli][side]") {
  // Drawn by an independent ray tracer: tests/bench/side_scenes/draw_on_board OUT.jpg 6 -9 220 63 48. The axis lies half a
  // rim above the board, and the camera to one side of it: nothing of that is told.
  const std::string photo = RONDURE_SOURCE "/tests/data/side_scenes/roller_beside_board.jpg";
  const Folder folder;
  const auto measured = [&](const std::string& reference) {
    return rondure_run({"measure", photo, "--side", "--board", "9x6", "--square", "3mm", "--profile",
                        "rim,hub", "--reference", reference, "--save", folder.path("part.json")});
  };
  const Run run = measured("4.000mm+-0.0005mm@2573,184,0.02mm");
  INFO(run.out << run.err);
  REQUIRE(run.exit_code == 0);
  std::ifstream in(folder.path("part.json"));
  const auto record = nlohmann::json::parse(in);
  const auto near = [&](const std::string& name, double truth_mm, double most_mm) {
    for (const auto& f : record.at("features"))
      if (f.at("name") == name) {
        INFO(name);
        const double off_mm = std::abs(f.at("circle").at("diameter_mm").get<double>() - truth_mm);
        CHECK(off_mm < most_mm);
        CHECK(off_mm < 2 * f.at("circle").at("u_diameter_mm").get<double>());
        return;
      }
    FAIL("no feature " + name);
  };
  near("rim", 12.44375, 0.002), near("hub", 6.9685, 0.002), near("rim width", 5.973, 0.002);
  near("whole width", 6.9685, 0.002), near("rim radius", 2 * 12.9415, 0.02);
  // A disc that is 1 % larger than was said: every size follows it, and the board is contradicted.
  const Run larger = measured("4.040mm+-0.0005mm@2573,184,0.02mm");
  REQUIRE(larger.exit_code == 0);
  CHECK(larger.out.find("more than it was trusted to") != std::string::npos);
  CHECK(larger.out.find("diameter 12.56") != std::string::npos);  // 12.444 mm and 1 %
  // The disc is no part: without a word of it there are two.
  const Run two = rondure_run({"measure", photo, "--side", "--board", "9x6", "--square", "3mm"});
  CHECK(two.exit_code != 0);
  CHECK(two.err.find("one part alone") != std::string::npos);
}

namespace {

// 0.02 mm deep about 3.5 mm, 2 mm wide.
Line worn_roller() {
  Line worn = roller_line();
  for (auto& p : worn)
    if (std::abs(p.x() - 3.5) < 1 && p.y() > 1) p.y() -= 0.01 * (1 + std::cos(kPi * (p.x() - 3.5)));
  return worn;
}

std::string side_record(const Folder& folder, const std::string& name, const Line& meridian) {
  const std::string photo = save(folder, name + ".png", placed(closed(meridian), 0.03, {2.1, 8.6}));
  const Run run = side(photo, {"--distance", "100000mm", "--save", folder.path(name + ".json")});
  INFO(run.out << run.err);
  REQUIRE(run.exit_code == 0);
  return folder.path(name + ".json");
}

std::string read_whole(const std::string& file) {
  std::ifstream in(file);
  return {std::istreambuf_iterator<char>(in), {}};
}

}  // namespace

TEST_CASE("report: the page shows where a profile has worn since, and where it differs from its plan",
          "[cli][side][report]") {
  const Folder folder;
  const std::string before = side_record(folder, "before", roller_line()),
                    after = side_record(folder, "after", worn_roller()), page = folder.path("page.html");
  const auto report = [&](std::vector<std::string> more) {
    more.insert(more.begin(), {"report", after, "-o", page});
    return rondure_run(more);
  };
  const auto drawn = [](const std::string& html, const std::string& what) {
    return html.find("aria-label=\"" + what) != std::string::npos;
  };
  const Run since = report({"--earlier", before});
  INFO(since.err);
  REQUIRE(since.exit_code == 0);
  const std::string worn = read_whole(page);
  CHECK(worn.find("What the profile has lost since") != std::string::npos);
  CHECK(drawn(worn, "change of the radius along the crown"));
  std::smatch found;
  REQUIRE(std::regex_search(
      worn, found,
      std::regex("<li>A: crown: [^<]*worn: (0[.][0-9]+) [^<]* deeper at ([0-9.]+) mm from the left")));
  CHECK(std::abs(std::stod(found[1]) - 0.02) < 0.003);
  CHECK(std::abs(std::stod(found[2]) - 3.5) < 0.3);
  CHECK_FALSE(std::regex_search(worn, std::regex("<li>B: ")));  // no other surface is
  // In the chart the letter hangs below the level of the unworn places, by the depth at the chart's scale.
  const std::string chart = worn.substr(worn.find("change of the radius along the crown"));
  REQUIRE(std::regex_search(chart, found,
                            std::regex("<line x1=\"([0-9.]+)\" y1=\"([0-9.]+)\" x2=\"[0-9.]+\" "
                                       "y2=\"([0-9.]+)\" class=\"mark-line\"/>")));
  CHECK(std::stod(found[3]) - std::stod(found[2]) > 60);  // of 124
  CHECK(report({}).exit_code == 0);
  CHECK(read_whole(page).find("What the profile has lost since") == std::string::npos);

  REQUIRE(rondure_run({"original", before, "--save", before}).exit_code == 0);
  const Run planned = rondure_run({"plan", before, "--material-new", "brass", "--save"});
  INFO(planned.out << planned.err);
  REQUIRE(planned.exit_code == 0);
  const Run against = report({"--planned", before});
  INFO(against.err);
  REQUIRE(against.exit_code == 0);
  const std::string differs = read_whole(page);
  CHECK(differs.find("The profile against the plan") != std::string::npos);
  CHECK(drawn(differs, "change of the radius along the crown"));
  CHECK(std::regex_search(differs, std::regex("<li>A: crown: [^<]*low: 0[.]0[12]")));
  CHECK(differs.find("the limits of its diameter") != std::string::npos);

  const auto refused = [&](const std::vector<std::string>& more, const char* words) {
    const Run run = report(more);
    INFO(run.err);
    CHECK(run.exit_code != 0);
    CHECK(run.one_line_on_error());
    CHECK(run.err.find(words) != std::string::npos);
  };
  refused({"--planned", after}, "no plan with a profile");
  refused({"--earlier", RONDURE_SOURCE "/images-demo/two-dates/roller-2014.json"}, "no side view in '");
  refused({"--earlier", folder.path("none.json")}, "none.json");
  refused({"--earlier", before, "--planned", before}, "--earlier");
}

// The demo's roller, shrunk, against the plan of its replacement, whose rim is 0.027 mm wider: held against it from the left face its
// crown seemed 0.0054 mm low at one end.
TEST_CASE("report: a part shorter than its plan is no lower at one end for that",
          "[cli][side][report][demo]") {
  const Folder folder;
  const std::string part = folder.path("part.json"), page = folder.path("page.html");
  REQUIRE(rondure_run({"measure", RONDURE_SOURCE "/images-demo/roller-side.jpg", "--side", "--scale",
                       "60.00px/mm+-0.02", "--distance", "200mm", "--profile", "rim,hub", "--material",
                       "POM-C", "--save", part})
              .exit_code == 0);
  REQUIRE(rondure_run({"original", part, "--save", part}).exit_code == 0);
  REQUIRE(rondure_run({"plan", part, "--material-new", "brass", "--save"}).exit_code == 0);
  const Run run = rondure_run({"report", part, "--planned", part, "-o", page});
  INFO(run.err);
  REQUIRE(run.exit_code == 0);
  const std::string text = read_whole(page);
  std::smatch found;
  REQUIRE(std::regex_search(text, found, std::regex("<li>(?:A: )?rim: radius -0[.]02[0-9]+ [^<]*")));
  const std::string rim = found[0];
  INFO(rim);
  if (std::regex_search(rim, found, std::regex("low: (0[.][0-9]+)"))) CHECK(std::stod(found[1]) < 0.003);
}

TEST_CASE("compare: two side views show where a crown has worn", "[cli][side][compare]") {
  const Folder folder;
  const std::string before = side_record(folder, "before", roller_line()),
                    after = side_record(folder, "after", worn_roller());
  const Run run = rondure_run({"compare", before, after, "--json", folder.path("c.json")});
  INFO(run.out << run.err);
  REQUIRE(run.exit_code == 0);
  CHECK(run.out.find("profile against profile") != std::string::npos);
  std::ifstream in(folder.path("c.json"));
  const auto surfaces = nlohmann::json::parse(in).at("profile");
  bool seen = false;
  for (const auto& s : surfaces) {
    INFO(s.at("name"));
    if (s.at("name") != "crown") {
      CHECK_FALSE(s.at("worn").get<bool>());
      continue;
    }
    seen = true;
    CHECK(s.at("worn").get<bool>());
    CHECK(std::abs(s.at("deepest_mm").get<double>() - 0.02) < 0.003);
    CHECK(std::abs(s.at("deepest_at_mm").get<double>() - 3.5) < 0.3);
  }
  CHECK(seen);
  const Run same = rondure_run({"compare", before, before});
  CHECK(same.out.find("no wear in places") != std::string::npos);
}

// 2026-11-28: a disc of 6.84 mm, 1.65 mm wide, its axis tilted by 2.3 degrees (seed 2 of tests/bench/side_scenes/draw_parts).
// Its other axis of symmetry was taken, with crowns for ends; and about its own, its rim was taken for the tip of a face.
TEST_CASE(
    "measure --side: a thin tilted disc is right about its axis, and without a word of it the axis is asked "
    "for",
    "[cli][side]") {
  const std::string photo = RONDURE_SOURCE "/tests/data/side_scenes/tilted_disc.jpg";
  const std::vector<std::string> how{"measure",    photo,      "--side", "--scale", "60px/mm+-0.0001",
                                     "--distance", "175.84mm", "--srgb", "--json",  "-"};
  const Run asked = rondure_run(how);
  CHECK(asked.exit_code == 1);
  CHECK(asked.one_line_on_error());
  CHECK(asked.err.find("--axis 19 for the other") != std::string::npos);
  std::vector<std::string> told = how;
  told.insert(told.end(), {"--axis", "19"});
  const Run run = rondure_run(told);
  INFO(run.err);
  REQUIRE(run.exit_code == 0);
  const auto profile = nlohmann::json::parse(run.out).at("profile");
  const auto& segments = profile.at("segments");
  REQUIRE(segments.size() == 3);
  const auto held = [](double value, double u, double truth) {
    CHECK(std::abs(value - truth) < 2.5 * u);
    CHECK(u < 0.001);
  };
  const auto& rim = segments.at(1);
  CHECK(rim.at("kind") == "cylinder");
  held(rim.at("diameter_mm").get<double>(), rim.at("u_mm").get<double>(), 6.83905);  // as drawn
  held(profile.at("length_mm").get<double>(), profile.at("u_length_mm").get<double>(), 1.64919);
}

TEST_CASE("measure --side: a tone curve that is told takes its doubt out of the budget", "[cli][side]") {
  const std::vector<std::string> how{"measure",    roller_side(), "--side", "--scale", "60.00px/mm+-0.001",
                                     "--distance", "200mm",       "--json", "-"};
  const auto rim = [&](const std::vector<std::string>& more) {
    std::vector<std::string> words = how;
    words.insert(words.end(), more.begin(), more.end());
    const Run run = rondure_run(words);
    INFO(run.err);
    REQUIRE(run.exit_code == 0);
    const auto found = nlohmann::json::parse(run.out);
    for (const auto& s : found.at("profile").at("segments"))
      if (s.at("kind") == "arc") return s;
    FAIL("no crown");
    return nlohmann::json{};
  };
  const auto not_told = rim({}), told = rim({"--srgb"});
  CHECK(told.at("diameter_mm") == not_told.at("diameter_mm"));  // the same place of every edge
  // 0.25 px of a diameter for a curve that nobody told, at 60 px/mm; told, hundredths of a pixel.
  CHECK(not_told.at("u_width_mm").get<double>() > 0.1 / 60);
  CHECK(told.at("u_width_mm").get<double>() < 0.06 / 60);
  CHECK(std::abs(told.at("width_mm").get<double>() - 5.973) < 2.5 * told.at("u_width_mm").get<double>());
  const Run both =
      rondure_run({"measure", roller_side(), "--side", "--scale", "60px/mm", "--srgb", "--linear"});
  CHECK(both.exit_code == 2);
  CHECK(both.one_line_on_error());
  const Run board =
      rondure_run({"measure", roller_side(), "--side", "--board", "9x6", "--square", "5mm", "--srgb"});
  CHECK(board.exit_code == 2);
  CHECK(board.one_line_on_error());
}

// The roller was drawn with 12.5 mm, hub 7 mm, crown R 13 mm, 6 mm wide, bore 3 mm (images-demo/roller-standing.json, after its
// shrinkage).
TEST_CASE(
    "plan: a photograph from above and one from the side, no size typed, give the roller as it was drawn",
    "[cli][side][plan][repeats]") {
  const Folder folder;
  const std::string demo = RONDURE_SOURCE "/images-demo/", part = folder.path("roller.json");
  const auto done = [](const std::vector<std::string>& words) {
    const Run run = rondure_run(words);
    INFO(run.err);
    REQUIRE(run.exit_code == 0);
    return run;
  };
  std::vector<std::string> camera{"calibrate", "camera"};
  for (int k = 1; k <= 10; ++k)
    camera.push_back(demo + "views/view_" + (k < 10 ? "0" : "") + std::to_string(k) + ".jpg");
  camera.insert(camera.end(), {"--board", "9x6", "--square", "5mm", "-o", folder.path("camera.json")});
  done(camera);
  done({"measure", demo + "roller-standing.jpg", "--calibration", folder.path("camera.json"), "--board",
        "9x6", "--square", "5mm", "--material", "POM-C", "--save", part});
  done({"measure", roller_side(), "--side", "--scale", "60.00px/mm+-0.02", "--distance", "200mm", "--profile",
        "rim,hub", "--save", part});
  done({"original", part, "--on-metal", "bore", "--save", part});
  const auto plan =
      nlohmann::json::parse(done({"plan", part, "--surface", "rim", "--json", "-"}).out).at("replacement");
  int seen = 0;
  for (const auto& [name, drawn_mm] : std::vector<std::pair<std::string, double>>{
           {"rim", 12.5}, {"hub", 7}, {"rim radius", 13}, {"rim width", 6}, {"hub width", 1}, {"bore", 3}})
    for (const auto& size : plan.at("sizes")) {
      if (size.at("name") != name) continue;
      INFO(size.dump());
      ++seen;
      CHECK(size.at("intended_mm").get<double>() == Catch::Detail::Approx(drawn_mm));
      CHECK(size.at("lower_mm").get<double>() <= drawn_mm);
      CHECK(size.at("upper_mm").get<double>() >= drawn_mm);
    }
  CHECK(seen == 6);
  // 2026-11-30: one surface had two sizes, 'outside' 12.465 h10 and 'rim' 12.500 js8; as had the hub.
  std::vector<std::string> outsides;
  for (const auto& size : plan.at("sizes"))
    if (size.at("kind") == "outside") outsides.push_back(size.at("name"));
  CHECK(outsides == std::vector<std::string>{"rim", "hub"});
  const std::string page = done({"plan", part, "--surface", "outside"}).out;
  CHECK(page.find("Note      'outside' 12.4") != std::string::npos);
  CHECK(page.find("Note      'hub step' 6.9") != std::string::npos);
  CHECK(page.find("of the belt or film on 'rim', against 12.500 mm") != std::string::npos);
  // `original` calls that surface as it is asked for, by whichever option names it.
  const auto called = [&](const nlohmann::json& original) {
    std::vector<std::string> names;
    for (const auto& feature : original.at("features"))
      if (const std::string name = feature.at("name"); name == "rim" || name == "outside")
        names.push_back(name);
    return names;
  };
  const auto alone = [&](const char* option, const char* words) {
    const auto read = nlohmann::json::parse(done({"original", part, option, words, "--json", "-"}).out);
    return called(read.at("original"));
  };
  using Names = std::vector<std::string>;
  CHECK(alone("--about", "hub") == Names{"rim"});
  CHECK(alone("--about", "outside") == Names{"outside"});
  CHECK(alone("--worn", "outside") == Names{"outside"});
  CHECK(alone("--evidence", "outside=12.5mm+-0.05mm") == Names{"outside"});
  const std::string twin = folder.path("twin.json");
  std::filesystem::copy_file(part, twin);
  const auto tied = nlohmann::json::parse(
      done({"original", part, twin, "--tie", "roller:rim/twin:outside=1.0+-0.01", "--json", "-"}).out);
  CHECK(called(tied.at("parts").at(0).at("original")) == Names{"rim"});
  CHECK(called(tied.at("parts").at(1).at("original")) == Names{"outside"});
}

namespace {

// A picture of tests/data/side_scenes at 60 px/mm, its tone curve told.
nlohmann::json profile_of(const std::string& picture, const std::string& distance, const std::string& axis) {
  const Run run = rondure_run({"measure", RONDURE_SOURCE "/tests/data/side_scenes/" + picture + ".jpg",
                               "--side", "--scale", "60px/mm+-0.0001", "--distance", distance, "--axis", axis,
                               "--srgb", "--json", "-"});
  INFO(run.err);
  REQUIRE(run.exit_code == 0);
  return nlohmann::json::parse(run.out).at("profile");
}

}  // namespace

// 2026-11-30: part 6 of tests/bench/side_scenes/draw_parts FOLDER 6 77 rounded. Two of its six fillets, of 0.23 and 0.41 mm,
// left three and four points between their margins, were cut as chamfers, and the cut was called sure.
TEST_CASE("measure --side: fillets of a few points at edges and feet are told, each within its uncertainty",
          "[cli][side]") {
  const auto profile = profile_of("six_fillets", "204.18787556384837mm", "6.758979929341315");
  const std::vector<double> truth_mm{0.23156, 0.40741, 0.41964, 0.34839, 0.23781, 0.28232};
  std::vector<double> radii_mm;
  for (const auto& s : profile.at("segments")) {
    CHECK(s.at("kind") != "chamfer");
    if (s.at("kind") != "fillet") continue;
    radii_mm.push_back(s.at("radius_mm").get<double>());
    REQUIRE(radii_mm.size() <= truth_mm.size());
    const double off_mm = std::abs(radii_mm.back() - truth_mm[radii_mm.size() - 1]);
    INFO(radii_mm.back());
    CHECK(off_mm < 2 * s.at("u_radius_mm").get<double>());
    CHECK(off_mm < 0.02);
  }
  CHECK(radii_mm.size() == truth_mm.size());
}

// 2026-11-30: a cylinder whose right edge is rounded by a fillet of 0.205 mm (seed 1873 of tests/bench/side_scenes/draw_parts,
// rounded). Its first step turned too much to be seen as a fillet: the tilt was off by 0.08 degrees, the left face an arc.
TEST_CASE("measure --side: a fillet of twelve pixels at one end, the axis tilted", "[cli][side]") {
  const auto profile = profile_of("small_fillet", "190.07012929740182mm", "3.6915266193387275");
  std::string kinds;
  for (const auto& s : profile.at("segments")) kinds += s.at("kind").get<std::string>() + " ";
  REQUIRE(kinds == "face cylinder fillet face ");
  const auto& fillet = profile.at("segments").at(2);
  CHECK(std::abs(fillet.at("radius_mm").get<double>() - 0.205004) <
        2 * fillet.at("u_radius_mm").get<double>());
  CHECK(std::abs(profile.at("length_mm").get<double>() - 2.947754) <
        2 * profile.at("u_length_mm").get<double>());
}

// 2026-11-30: part 25 of tests/bench/side_scenes/draw_parts FOLDER 32 1881, saved again at quality 70. The way from the face
// over its chamfer was taken for a fillet: no tilt was told, and seven bowed faces and slivers of tapers were called sure.
TEST_CASE("measure --side: a chamfer at the end of a tilted part is no fillet, and the tilt is told",
          "[cli][side]") {
  const auto profile = profile_of("chamfer_at_tilted_end", "177.63574505164073mm", "18.446921789522257");
  std::string kinds;
  for (const auto& s : profile.at("segments")) kinds += s.at("kind").get<std::string>() + " ";
  REQUIRE(kinds == "face chamfer cylinder face taper face cylinder face arc face arc face ");
  const auto& chamfer = profile.at("segments").at(1);
  CHECK(std::abs(chamfer.at("width_mm").get<double>() - 0.4) < 2 * chamfer.at("u_width_mm").get<double>());
  CHECK(chamfer.at("u_width_mm").get<double>() < 0.005);
  CHECK(std::abs(profile.at("length_mm").get<double>() - 11.374448) <
        2 * profile.at("u_length_mm").get<double>());
}

// 2026-11-30: part 5 of draw_parts FOLDER 7 1883 rounded: at 2.86 degrees the rim beside the step at 2.21 mm hides most
// of the fillet of 0.242 mm at its foot, and the nine pieces that are seen were called sure without a word.
TEST_CASE("measure --side: a foot that a tilted step's rim hides is named, with what may lie there",
          "[cli][side]") {
  const auto profile = profile_of("hidden_foot", "160.4630711285236mm", "10.015356643539878");
  std::string said;
  for (const auto& w : profile.at("warnings"))
    if (w.at("code") == "cut-undecided") said = w.at("text");
  INFO(said);
  std::smatch found;
  REQUIRE(std::regex_search(said, found, std::regex("hides its foot at 2\\.2[01].* below (0\\.[0-9]+) mm")));
  CHECK(std::stod(found[1]) > 0.242);
  CHECK(std::stod(found[1]) < 0.5);
  CHECK(profile.at("p_as_cut").get<double>() <= 0.5);
  CHECK(profile.at("p_as_seen").get<double>() > profile.at("p_as_cut").get<double>());
  const Folder folder;  // seen from afar and square to its axis every foot is in sight
  const Run square = side(save(folder, "side.png", placed(closed(roller_line()), 0.03, {2.1, 8.6})),
                          {"--distance", "100000mm"});
  REQUIRE(square.exit_code == 0);
  CHECK(square.out.find("hides its foot") == std::string::npos);
}

// 2026-11-30: part 2 of draw_parts FOLDER 20 1992 rounded: a fillet of 0.760 mm was a crown, for the part is 2.8 mm long;
// the widths beside it were told to 0.03 mm.
TEST_CASE("measure --side: a large fillet is one, and widths are given to the sharp corners too",
          "[cli][side]") {
  const auto profile = profile_of("large_fillet", "234.73952682417018mm", "0.36394903891835583");
  std::string kinds;
  for (const auto& s : profile.at("segments")) kinds += s.at("kind").get<std::string>() + " ";
  REQUIRE(kinds == "face fillet cylinder fillet face ");
  const auto& fillet = profile.at("segments").at(1);
  CHECK(std::abs(fillet.at("radius_mm").get<double>() - 0.760434) <
        2 * fillet.at("u_radius_mm").get<double>());
  // Both edges are rounded: between its sharp corners the cylinder is as wide as the part.
  const auto& cylinder = profile.at("segments").at(2);
  const double sharp_mm = cylinder.at("sharp_width_mm"), u_mm = cylinder.at("u_sharp_width_mm");
  CHECK(std::abs(sharp_mm - 2.771613) < 2 * u_mm);
  CHECK(u_mm < 0.001);
  CHECK(cylinder.at("u_width_mm").get<double>() < 0.012);
}

// 2026-11-30: part 25 of draw_parts FOLDER 30 2036 rounded: between the points of a fillet and those of its face is a gap of 16
// px; taken to end there it turned by 65 degrees only, and was a crown at a chance of 0.95.
TEST_CASE("measure --side: a fillet whose points end short of its face is no crown", "[cli][side]") {
  const auto profile = profile_of("fillet_short_of_its_face", "206.3575675802335mm", "171.24181324846313");
  std::string kinds;
  for (const auto& s : profile.at("segments")) kinds += s.at("kind").get<std::string>() + " ";
  REQUIRE(kinds == "face fillet cylinder fillet face ");
  const auto& fillet = profile.at("segments").at(3);
  CHECK(std::abs(fillet.at("radius_mm").get<double>() - 0.591098) <
        2 * fillet.at("u_radius_mm").get<double>());
  const auto& cylinder = profile.at("segments").at(2);
  CHECK(std::abs(cylinder.at("sharp_width_mm").get<double>() - 3.259586) <
        2.5 * cylinder.at("u_sharp_width_mm").get<double>());
}

// 2026-11-30: part 17 of draw_parts FOLDER 20 1991 small: its first cylinder, 78 px long, crosses one row of pixels, whose
// error reads as a slope of 0.05 degrees; called a taper, and sure.
TEST_CASE("measure --side: a short cylinder along the pixel rows is no taper that is sure", "[cli][side]") {
  const auto profile = profile_of("along_the_rows", "246.2786222799387mm", "0.7245404907617505");
  REQUIRE(profile.at("segments").size() == 12);
  const auto& s = profile.at("segments").at(2);
  CHECK((s.at("kind") == "cylinder" || profile.at("p_as_seen").get<double>() < 0.9));
  CHECK(std::abs(s.at("diameter_mm").get<double>() - 4.531703) < 2 * s.at("u_diameter_mm").get<double>());
  // What the steps' rims hide at their feet is not known, whatever the rest says.
  CHECK(profile.at("p_as_cut").get<double>() <= 0.5);
}

TEST_CASE("measure --side: ends that tell no tilt leave the cut unsure, and say so", "[cli][side]") {
  const double dome_mm = (25 + 1.5 * 1.5) / 3;  // square to the axis where it crosses it
  Line domed{{0, 0}};
  add_arc(domed, {1.5, 5}, dome_mm);
  domed.emplace_back(7.5, 5);
  add_arc(domed, {9, 0}, dome_mm);
  const Folder folder;
  const std::string photo = save(folder, "domed.png", placed(closed(domed), 0.03, {2.1, 8.6}));
  const Run run = side(photo, {"--distance", "200mm", "--axis", "2", "--json", "-"});
  INFO(run.err);
  REQUIRE(run.exit_code == 0);
  const auto profile = nlohmann::json::parse(run.out).at("profile");
  CHECK(profile.at("p_as_cut").get<double>() <= 0.5);
  CHECK(profile.at("warnings").dump().find("whether the axis is tilted") != std::string::npos);
}
