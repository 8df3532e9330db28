// No camera file, a view from straight above: the picture's EXIF note of its focal length lets a height be allowed for.
#include <catch2/catch.hpp>
#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>

#include "process.hpp"
#include "render/image_file.hpp"
#include "render/scene.hpp"

using namespace rondure;
using nlohmann::json;

namespace {

// An EXIF block that says one thing: FocalLengthIn35mmFilm (EXIF 2.3, tag A405).
std::vector<std::uint8_t> focal_block(int focal_35mm_mm) {
  std::vector<std::uint8_t> b{'E', 'x', 'i', 'f', 0, 0, 'M', 'M', 0, 42, 0, 0, 0, 8};
  const auto entry = [&](int tag, int type, std::uint32_t value) {
    for (const int v : {tag >> 8, tag & 255, 0, type, 0, 0, 0, 1}) b.push_back(static_cast<std::uint8_t>(v));
    if (type == 3) value <<= 16;
    for (const int shift : {24, 16, 8, 0}) b.push_back(static_cast<std::uint8_t>(value >> shift));
  };
  b.insert(b.end(), {0, 1});
  entry(0x8769, 4, 26);
  b.insert(b.end(), {0, 0, 0, 0, 0, 1});
  entry(0xA405, 3, static_cast<std::uint32_t>(focal_35mm_mm));
  b.insert(b.end(), {0, 0, 0, 0});
  return b;
}

std::string picture(const Folder& folder, int focal_35mm_mm) {
  constexpr double kFocal_px = 2640;
  render::Scene scene;
  const Lens lens{kFocal_px, kFocal_px, 499.5, 374.5, {}};
  scene.camera = render::Camera::looking_at(1000, 750, lens, {27, -12}, 220, 0.01, 0);
  scene.board = render::Board{};
  scene.sensor = {.full_well_e = 9000, .read_noise_e = 5, .seed = 4};
  render::Layer body;
  body.center = {57, -12};
  body.profile.radius_mm = 6.2;
  body.z_low_mm = body.z_high_mm = 6;
  body.level = render::grey(0.12);
  scene.layers = {body};
  std::vector<std::uint8_t> bytes = render::jpeg_bytes(render::take_picture(scene), 92);
  if (focal_35mm_mm > 0) {
    const auto block = focal_block(focal_35mm_mm);
    const auto length = block.size() + 2;
    std::vector<std::uint8_t> marker{0xFF, 0xE1, static_cast<std::uint8_t>(length >> 8),
                                     static_cast<std::uint8_t>(length)};
    marker.insert(marker.end(), block.begin(), block.end());
    bytes.insert(bytes.begin() + 2, marker.begin(), marker.end());
  }
  const std::string file = folder.path("above.jpg");
  std::ofstream(file, std::ios::binary)
      .write(reinterpret_cast<const char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
  return file;
}

Run measured_with(const std::string& file) {
  return rondure_run({"measure", file, "--board", "9x6", "--square", "5mm", "--board-uncertainty", "0%",
                      "--height", "6mm", "--json", "-"});
}

}  // namespace

TEST_CASE("measure: a view from above takes a height where the picture notes its focal length",
          "[cli][measure][focal]") {
  const Folder folder;
  const Run without = measured_with(picture(folder, 0));
  CHECK(without.exit_code == 1);
  CHECK(without.one_line_on_error());
  CHECK_THAT(without.err, Catch::Contains("camera file"));
  // 2640 px of a 1250 px diagonal are 91.4 mm of a 43.27 mm one; a maker may round or go by the width.
  const int noted_mm = GENERATE(91, 88, 95);
  const Run run = measured_with(picture(folder, noted_mm));
  INFO(noted_mm << ": " << run.err);
  REQUIRE(run.exit_code == 0);
  const json f = json::parse(run.out).at("features").at(0);
  const double u = f.at("circle").at("u_diameter_mm");
  CHECK(std::abs(f.at("circle").at("diameter_mm").get<double>() - 12.4) < 2 * u);
  CHECK(u > 12.4 * 6 / 220 * 0.04);  // the doubt of the note is in it
  CHECK(u < 0.04);
  CHECK_THAT(f.at("warnings").dump(), Catch::Contains("focal-from-note"));
}
