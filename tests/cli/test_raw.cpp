// Raw pictures through the program: the tone curve that they have not, a camera learned from them, mixtures, damage.
#include <catch2/catch.hpp>
#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>

#include "bench_server.hpp"
#include "process.hpp"
#include "render/image_file.hpp"
#include "render/raw_file.hpp"
#include "render/scene.hpp"
#include "web_driver.hpp"

using namespace rondure;
using nlohmann::json;

namespace {

constexpr double kDiameter = 12.4;

render::Scene scene_of(double tilt_deg, double towards_deg, bool part) {
  render::Scene scene;
  const Lens lens{1760, 1760, 319.5, 239.5, {}};
  scene.camera = render::Camera::looking_at(640, 480, lens, {27, -12}, 230, tilt_deg, towards_deg);
  scene.board = render::Board{};
  scene.sensor = {.full_well_e = 9000, .read_noise_e = 5, .seed = 4};
  scene.channels = 3;
  render::Layer body;
  body.center = {56, -12};
  body.profile.radius_mm = kDiameter / 2;
  body.z_low_mm = body.z_high_mm = 6;
  body.level = render::grey(0.1);
  if (part) scene.layers = {body};
  return scene;
}

void write(const std::string& file, const std::vector<std::uint8_t>& bytes) {
  std::ofstream(file, std::ios::binary)
      .write(reinterpret_cast<const char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
}

std::string raw(const Folder& folder, const std::string& name, double tilt_deg, double towards_deg,
                bool part) {
  render::Scene scene = scene_of(tilt_deg, towards_deg, part);
  scene.bits = 16, scene.tone.kind = render::CameraCurve::Kind::kLinear;
  write(folder.path(name), render::dng_bytes(render::take_picture(scene), {.focal_35mm_mm = 95}));
  return folder.path(name);
}

std::string jpeg(const Folder& folder, double tilt_deg) {
  write(folder.path("part.jpg"), render::jpeg_bytes(render::take_picture(scene_of(tilt_deg, 0, true)), 92));
  return folder.path("part.jpg");
}

Run measured(std::vector<std::string> files, const std::vector<std::string>& more = {}) {
  std::vector<std::string> arguments = {"measure"};
  arguments.insert(arguments.end(), files.begin(), files.end());
  for (const char* word :
       {"--board", "9x6", "--square", "5mm", "--board-uncertainty", "0%", "--height", "6mm"})
    arguments.push_back(word);
  arguments.insert(arguments.end(), more.begin(), more.end());
  return rondure_run(arguments);
}

}  // namespace

TEST_CASE("measure: a raw picture needs no tone curve, and a camera is learned from raw views",
          "[cli][measure][raw]") {
  const Folder folder;
  const std::string part = raw(folder, "part.dng", 4, 30, true);
  const Run run = measured({part}, {"--json", "-"});
  INFO(run.err);
  REQUIRE(run.exit_code == 0);
  const json circle = json::parse(run.out).at("features").at(0).at("circle");
  const double off = circle.at("diameter_mm").get<double>() - kDiameter,
               u = circle.at("u_diameter_mm").get<double>();
  INFO(off << " +- " << u);
  CHECK(std::abs(off) < 2 * u);
  CHECK(u < 0.04);  // by the focal length that the file notes

  std::vector<std::string> calibrate = {"calibrate", "camera"};
  const double tilts[][2] = {{3, 0}, {24, 90}, {24, 210}, {24, 330}};
  for (int k = 0; k < 4; ++k)
    calibrate.push_back(raw(folder, "view" + std::to_string(k) + ".dng", tilts[k][0], tilts[k][1], false));
  for (const std::string& word : {std::string("--board"), std::string("9x6"), std::string("--square"),
                                  std::string("5mm"), std::string("-o"), folder.path("camera.json")})
    calibrate.push_back(word);
  const Run camera = rondure_run(calibrate);
  INFO(camera.err);
  REQUIRE(camera.exit_code == 0);
  const Run by_camera = measured({part}, {"--calibration", folder.path("camera.json"), "--json", "-"});
  INFO(by_camera.err);
  REQUIRE(by_camera.exit_code == 0);
  const json better = json::parse(by_camera.out).at("features").at(0).at("circle");
  CHECK(std::abs(better.at("diameter_mm").get<double>() - kDiameter) <
        2 * better.at("u_diameter_mm").get<double>());
  CHECK(better.at("u_diameter_mm").get<double>() < 0.04);  // mostly the edge of a solid part at 7.6 px/mm

  const Run curved = measured({jpeg(folder, 4)}, {"--calibration", folder.path("camera.json")});
  CHECK(curved.exit_code == 1);
  CHECK(curved.one_line_on_error());
  CHECK_THAT(curved.err, Catch::Contains("tone curve"));
}

TEST_CASE("measure: a raw picture beside another kind, or cut off, is refused in one line",
          "[cli][measure][raw]") {
  const Folder folder;
  const std::string part = raw(folder, "part.dng", 4, 30, true);
  const Run both = measured({part, jpeg(folder, 4)});
  CHECK(both.exit_code != 0);
  CHECK(both.one_line_on_error());
  CHECK_THAT(both.err, Catch::Contains("raw"));
  std::filesystem::resize_file(part, std::filesystem::file_size(part) / 2);
  const Run cut = measured({part}, {"--json", folder.path("answer.json")});
  CHECK(cut.exit_code == 1);
  CHECK(cut.one_line_on_error());
  CHECK_THAT(cut.err, Catch::Contains("damaged"));
  CHECK_FALSE(std::filesystem::exists(folder.path("answer.json")));
}

TEST_CASE("bench: a raw picture is measured as by the command, and drawn for a browser that cannot show it",
          "[cli][bench][raw]") {
  const Folder folder;
  const std::string part = raw(folder, "part.dng", 4, 30, true);
  folder.write("bench.toml", "board = \"9x6\"\nsquare = \"5mm\"\nboard_uncertainty = \"0%\"\n");
  BenchServer server(folder.path());
  server.pair();
  const HttpReply reply =
      server.post("/api/measure", json{{"picture", "part.dng"}, {"height", "6mm"}, {"drawn", "yes"}}.dump());
  INFO(reply.body);
  REQUIRE(reply.status == 200);
  const json found = json::parse(reply.body);
  const Run command = measured({part}, {"--json", "-"});
  REQUIRE(command.exit_code == 0);
  CHECK(found["record"]["features"][0]["circle"] == json::parse(command.out)["features"][0]["circle"]);
  REQUIRE(found.contains("overlay"));
  const HttpReply drawing = server.get("/api/overlay?id=" + found["overlay"].get<std::string>());
  CHECK(drawing.status == 200);
  CHECK(drawing.body.starts_with("\x89PNG"));
  std::filesystem::resize_file(part, std::filesystem::file_size(part) / 2);
  const HttpReply cut = server.post("/api/measure", json{{"picture", "part.dng"}, {"height", "6mm"}}.dump());
  CHECK(cut.status >= 400);
  CHECK_THAT(cut.body, Catch::Contains("damaged"));
}

TEST_CASE("bench in a browser: a raw picture from the phone is measured, and shown as the program draws it",
          "[cli][bench][browser][raw][repeats]") {
  const Folder folder, phone;
  const std::string part = raw(phone, "part.dng", 4, 30, true);
  folder.write("bench.toml", "board = \"9x6\"\nsquare = \"5mm\"\nboard_uncertainty = \"0%\"\n");
  BenchServer server(folder.path());
  Browser browser(360, 740, true);
  browser.go(server.address());
  browser.press("Take a photograph");
  browser.type("#f-file", part);
  browser.until("location.hash === '#/photo/part.dng' && document.querySelector('#f-height')");
  browser.run("document.querySelector('#f-height').closest('details').open = true");
  browser.type("#f-height", "6mm\t");
  browser.until(
      "document.querySelectorAll('.edge').length > 0 && "
      "document.querySelector('.edge-row').innerText.includes('12.4')");
  browser.until(
      "document.querySelector('.stage img').src.includes('/api/overlay') && "
      "document.querySelector('.stage img').naturalWidth > 300");
}
