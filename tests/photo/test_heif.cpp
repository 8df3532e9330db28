// HEIC pictures, written by the format's own library: samples, turning, cut-off and damaged files.
#include <catch2/catch.hpp>
#include <cmath>

#include "picture_files.hpp"
#include "rondure/photo/picture.hpp"

using namespace rondure;

// The leak check of the sanitizers reads this. The encoder that writes the test's files keeps one table of its own until
// the process ends; the program itself only decodes.
extern "C" const char* __lsan_default_suppressions();
extern "C" const char* __lsan_default_suppressions() { return "leak:libx265\n"; }

namespace {

test::Rgb grey_ramp(int x, int y) {
  const auto v = static_cast<std::uint16_t>(257 * (20 + 2 * x + y));
  return {v, v, v};
}

std::vector<std::uint8_t> ramp_file(int width, int height) {
  test::FileOptions options;
  options.width = width, options.height = height;
  return test::heic_file(grey_ramp, options);
}

}  // namespace

TEST_CASE("picture: a HEIC file's samples come out as they were stored", "[photo][picture][heif]") {
  const auto bytes = ramp_file(64, 48);
  REQUIRE_FALSE(bytes.empty());
  const auto picture = decode_picture(bytes);
  INFO((picture ? std::string() : picture.error().message()));
  REQUIRE(picture);
  CHECK(picture->width_px == 64);
  CHECK(picture->height_px == 48);
  CHECK(picture->bits == 8);
  CHECK(picture->orientation == 1);
  double worst = 0;
  for (int y = 0; y < 48; ++y)
    for (int x = 0; x < 64; ++x) worst = std::max(worst, std::abs(picture->at(x, y) - (20 + 2 * x + y)));
  CHECK(worst <= 1.5);  // colours to luma and back: rounding
}

TEST_CASE(
    "picture: a HEIC file cut off anywhere, or with bytes changed, is refused in one line or read whole",
    "[photo][picture][heif]") {
  const auto bytes = ramp_file(64, 48);
  REQUIRE_FALSE(bytes.empty());
  for (std::size_t cut = 12; cut < bytes.size(); cut += 1 + bytes.size() / 60) {
    const auto picture = decode_picture(std::span(bytes).first(cut));
    REQUIRE_FALSE(picture);
    CHECK(picture.error().message().find('\n') == std::string::npos);
    CHECK(
        (picture.error().code == ErrorCode::kFileDamaged || picture.error().code == ErrorCode::kPictureSize));
  }
  for (std::size_t at = 12; at < bytes.size(); at += 1 + bytes.size() / 60) {
    auto changed = bytes;
    changed[at] = static_cast<std::uint8_t>(changed[at] ^ 0x5A);
    const auto picture = decode_picture(changed);
    if (picture) {
      CHECK(picture->grey8.size() == static_cast<std::size_t>(picture->width_px) * picture->height_px);
    } else {
      CHECK(picture.error().message().find('\n') == std::string::npos);
    }
  }
}
