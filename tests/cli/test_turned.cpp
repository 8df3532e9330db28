// A part turned between pictures that are stretched by 0.2 % in y: what is the part's and what the picture's. Drawn with a
// camera whose two focal lengths differ, so that the stretch is a true one; the program as a user calls it.
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>

#include "process.hpp"
#include "render/image_file.hpp"
#include "render/scene.hpp"

using namespace rondure;
using nlohmann::json;

namespace {

constexpr double kRadius_mm = 6.2, kStretch = 0.002;

std::vector<std::string> pictures(const Folder& folder, const std::vector<double>& angles_deg,
                                  double ovality_mm, bool nib) {
  std::vector<std::string> files;
  for (std::size_t k = 0; k < angles_deg.size(); ++k) {
    render::Scene scene;
    scene.camera = render::Camera::square_on(400, 400, 24);
    scene.camera.lens.focal_y_px *= 1 + kStretch;
    scene.sensor = {.full_well_e = 9000, .read_noise_e = 5, .seed = 40 + k};
    render::Layer body;
    body.center = {0.11 * static_cast<double>(k), -0.07 * static_cast<double>(k)};
    body.profile.radius_mm = kRadius_mm;
    body.profile.lobes = {{2, ovality_mm / 4, 25 + angles_deg[k]}};
    if (nib) body.profile.bumps = {{100 + angles_deg[k], 1.0, 0.12}};
    body.level = render::grey(0.1);
    scene.layers = {body};
    files.push_back(folder.path("part" + std::to_string(k) + ".png"));
    REQUIRE(render::write_png(files.back(), render::take_picture(scene)));
  }
  return files;
}

Run turned(const std::vector<std::string>& files, const std::string& angles, bool as_json = true) {
  std::vector<std::string> arguments{"measure"};
  arguments.insert(arguments.end(), files.begin(), files.end());
  arguments.insert(arguments.end(), {"--scale", "24.00px/mm+-0.02", "--turned"});
  if (!angles.empty()) arguments.push_back(angles);
  if (as_json) arguments.insert(arguments.end(), {"--json", "-"});
  return rondure_run(arguments);
}

std::string note(const json& feature, const std::string& code) {
  for (const json& w : feature.at("warnings"))
    if (w.at("code") == code) return w.at("text");
  return {};
}

double number_after(const std::string& text, const std::string& word) {
  const auto at = text.find(word);
  REQUIRE(at != std::string::npos);
  return std::stod(text.substr(at + word.size()));
}

const std::vector<double> kAngles{0, 70, 145, 215, 290};

}  // namespace

TEST_CASE("measure --turned: a round part on a stretched picture is round, and the stretch is told",
          "[cli][turned]") {
  const bool angles_given = GENERATE(true, false);
  const Folder folder;
  const auto files = pictures(folder, kAngles, 0, true);
  const Run run = turned(files, angles_given ? "0,70,145,215,290" : "");
  INFO(run.err);
  REQUIRE(run.exit_code == 0);
  const json f = json::parse(run.out).at("features").at(0);
  CHECK(f.at("ellipse").at("ovality_mm").get<double>() <= 0.001);
  CHECK(f.at("verdict") != "oval");
  CHECK(number_after(note(f, "turns-with-part"), "oval by ") <= 0.001);
  CHECK(number_after(note(f, "stays-with-picture"), "oval by ") ==
        Approx(2 * kRadius_mm * kStretch).margin(0.001));
  CHECK(number_after(note(f, "stays-with-picture"), "axis at ") == Approx(90).margin(3));
  CHECK(number_after(note(f, "stays-with-picture"), "stretched by ") == Approx(100 * kStretch).margin(0.01));
  // Alone each picture calls it oval.
  const Run alone = rondure_run({"measure", files[0], "--scale", "24.00px/mm+-0.02", "--json", "-"});
  CHECK(json::parse(alone.out).at("features").at(0).at("ellipse").at("major_diameter_mm").get<double>() >
        2 * kRadius_mm);
  const Run text = turned(files, angles_given ? "0,70,145,215,290" : "", false);
  CHECK_THAT(text.out, Catch::Contains("each picture alone") && Catch::Contains("turns with the part"));
}

TEST_CASE("measure --turned: an oval of the part keeps its size and axis", "[cli][turned]") {
  const Folder folder;
  const Run run = turned(pictures(folder, kAngles, 0.03, false), "0,70,145,215,290");
  INFO(run.err);
  REQUIRE(run.exit_code == 0);
  const json ellipse = json::parse(run.out).at("features").at(0).at("ellipse");
  CHECK(ellipse.at("ovality_mm").get<double>() == Approx(0.03).margin(0.0015));
  CHECK(ellipse.at("major_angle_deg").get<double>() == Approx(25).margin(2));
}

TEST_CASE("measure --turned: what cannot be divided gets one line", "[cli][turned]") {
  const Folder folder;
  const auto files = pictures(folder, {0, 180, 360}, 0, false);
  const auto refused = [&](const Run& run, int exit_code, const std::string& words) {
    INFO(run.err);
    CHECK(run.exit_code == exit_code);
    CHECK(run.one_line_on_error());
    CHECK_THAT(run.err, Catch::Contains(words));
    CHECK(run.out.empty());
  };
  refused(turned(files, "0,180,360"), 2, "half turns");
  // 2026-11: without angles, before the photographs, these were taken for its values and refused
  std::vector<std::string> before{"measure", "--turned"};
  before.insert(before.end(), files.begin(), files.end());
  before.insert(before.end(), {"--scale", "24.00px/mm+-0.02"});
  refused(rondure_run(before), 1, "no mark");
  refused(turned(files, "0,72"), 2, "needed one each");
  refused(turned(files, "0,seventy,140"), 2, "needed an angle a picture");
  refused(turned(files, ""), 1, "no mark");
  refused(turned({files[0], files[1]}, "0,90"), 2, "three or more");
}
