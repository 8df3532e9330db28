// The focal length that a picture's EXIF notes, in every form of file.
#include <catch2/catch.hpp>

#include "picture_files.hpp"
#include "rondure/photo/picture.hpp"

using namespace rondure;
using namespace rondure::test;

namespace {

Rgb even(int, int) { return {30000, 30000, 30000}; }

}  // namespace

TEST_CASE("picture: the focal length that EXIF notes is read in every form of file",
          "[photo][picture][focal]") {
  FileOptions o;
  o.width = 64, o.height = 48;
  o.focal_35mm_mm = 27;
  for (const auto& [form, bytes] : {std::pair{"JPEG", jpeg_file(even, o)},
                                    {"PNG", png_file(even, o)},
                                    {"TIFF", tiff_file(even, o)},
                                    {"HEIC", heic_file(even, o)}}) {
    INFO(form);
    REQUIRE_FALSE(bytes.empty());
    const auto picture = decode_picture(bytes);
    INFO((picture ? std::string() : picture.error().message()));
    REQUIRE(picture);
    CHECK(picture->focal_35mm_mm == 27);
  }
}
