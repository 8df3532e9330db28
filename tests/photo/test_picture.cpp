#include <catch2/catch.hpp>
#include <cmath>
#include <random>
#include <tuple>

#include "picture_files.hpp"
#include "rondure/photo/picture.hpp"

using namespace rondure;
using namespace rondure::test;

namespace {

// Smooth in both directions and not symmetric, so that a turned or mirrored picture cannot pass for the right
// one.
Rgb wedge(int x, int y) {
  return {static_cast<std::uint16_t>(3000 + 1200 * x), static_cast<std::uint16_t>(60000 - 2000 * y),
          static_cast<std::uint16_t>(20000 + 500 * x + 700 * y)};
}
Rgb grey_wedge(int x, int y) {
  const auto v = static_cast<std::uint16_t>(1000 + 1100 * x + 600 * y);
  return {v, v, v};
}
double luma(const Rgb& c) { return 0.299 * c.r + 0.587 * c.g + 0.114 * c.b; }

// Largest difference from the painter's luma, in parts of full scale.
double worst(const Picture& picture, const Painter& paint) {
  double worst_ratio = 0;
  for (int y = 0; y < picture.height_px; ++y)
    for (int x = 0; x < picture.width_px; ++x)
      worst_ratio = std::max(worst_ratio,
                             std::abs(picture.at(x, y) / picture.full_scale() - luma(paint(x, y)) / 65535));
  return worst_ratio;
}

}  // namespace

TEST_CASE("picture: every lossless form is read to the last bit", "[photo][picture]") {
  for (const bool colour : {false, true})
    for (const int bits : {8, 16}) {
      FileOptions o;
      o.bits = bits;
      o.colour = colour;
      const Painter paint = colour ? wedge : grey_wedge;
      const double tolerance = bits == 8 ? 1.01 / 255 : 1.01 / 65535;  // rounding of the file and of luma
      std::vector<std::vector<std::uint8_t>> files = {png_file(paint, o), tiff_file(paint, o)};
      o.interlaced = true;
      files.push_back(png_file(paint, o));
      o.tiled = true;
      files.push_back(tiff_file(paint, o));
      o.tiled = false;
      o.separate = colour;
      files.push_back(tiff_file(paint, o));
      for (std::size_t i = 0; i < files.size(); ++i) {
        INFO("colour " << colour << ", bits " << bits << ", file " << i);
        const auto picture = decode_picture(files[i]);
        REQUIRE(picture);
        CHECK(picture->width_px == o.width);
        CHECK(picture->height_px == o.height);
        CHECK(picture->bits == bits);
        CHECK(worst(*picture, paint) < tolerance);
      }
    }
}

TEST_CASE("picture: JPEG luma is decoded without its colours", "[photo][picture]") {
  for (const bool colour : {false, true})
    for (const bool progressive : {false, true}) {
      FileOptions o;
      o.colour = colour;
      o.progressive = progressive;
      o.quality = 100;
      const auto picture = decode_picture(jpeg_file(colour ? wedge : grey_wedge, o));
      REQUIRE(picture);
      CHECK(picture->jpeg);
      CHECK(worst(*picture, colour ? wedge : grey_wedge) < 2.5 / 255);
    }
  FileOptions o;
  o.quality = 100;
  const auto green = decode_picture(jpeg_file(wedge, o), PictureChannel::kGreen);
  REQUIRE(green);
  CHECK(std::abs(green->at(20, 10) - wedge(20, 10).g / 257.0) < 4);
}

TEST_CASE("picture: JPEG's quantisation steps are those of its file", "[photo][picture]") {
  // ITU-T T.81, table K.1 (luminance), from memory: the steps of quality 50 of the reference software, which takes
  // (step * (200 - 2 quality) + 50) / 100 from there on.
  FileOptions o;
  for (const auto& [quality, first, right, below, last] :
       {std::tuple{50, 16, 11, 12, 99}, {75, 8, 6, 6, 50}, {95, 2, 1, 1, 10}, {100, 1, 1, 1, 1}})
    for (const bool progressive : {false, true})
      for (const bool turned : {false, true}) {
        o.quality = quality, o.progressive = progressive, o.exif_orientation = turned ? 6 : 1;
        for (const auto channel : {PictureChannel::kLuma, PictureChannel::kGreen}) {
          const auto picture = decode_picture(jpeg_file(wedge, o), channel);
          REQUIRE(picture);
          CHECK(picture->jpeg_steps[0] == first);
          CHECK(picture->jpeg_steps[turned ? 8 : 1] == right);
          CHECK(picture->jpeg_steps[turned ? 1 : 8] == below);
          CHECK(picture->jpeg_steps[63] == last);
        }
      }
  CHECK(decode_picture(png_file(wedge, o))->jpeg_steps[0] == 0);
}

TEST_CASE("picture: EXIF orientation is applied as CIPA DC-008 defines it", "[photo][picture]") {
  // Orientation says where row 0 and column 0 of the file lie in the picture as seen. Checked on the file's
  // first pixel and the one to its right.
  struct Case {
    int orientation, x0, y0, dx,
        dy;  // where the first pixel goes (0 = left or top, 1 = right or bottom), and its row
  };
  const Case cases[] = {{1, 0, 0, 1, 0}, {2, 1, 0, -1, 0}, {3, 1, 1, -1, 0}, {4, 0, 1, 1, 0},
                        {5, 0, 0, 0, 1}, {6, 1, 0, 0, 1},  {7, 1, 1, 0, -1}, {8, 0, 1, 0, -1}};
  for (const Case& c : cases)
    for (const bool tiff : {false, true}) {
      FileOptions o;
      o.quality = 100;
      o.exif_orientation = c.orientation;
      const auto picture = decode_picture(tiff ? tiff_file(grey_wedge, o) : jpeg_file(grey_wedge, o));
      REQUIRE(picture);
      INFO("orientation " << c.orientation << (tiff ? " TIFF" : " JPEG"));
      CHECK(picture->width_px == (c.orientation >= 5 ? o.height : o.width));
      CHECK(picture->orientation == c.orientation);
      if (!tiff) CHECK(picture->model == "Box");
      const int x = c.x0 ? picture->width_px - 1 : 0, y = c.y0 ? picture->height_px - 1 : 0;
      CHECK(std::abs(picture->at(x, y) - grey_wedge(0, 0).r / 257.0) < 2);
      CHECK(std::abs(picture->at(x + 5 * c.dx, y + 5 * c.dy) - grey_wedge(5, 0).r / 257.0) < 2);
    }
}

TEST_CASE("picture: files that are no pictures are refused by what they are", "[photo][picture]") {
  const ScratchFolder folder;
  CHECK(load_picture(folder.file("none.png")).error().code == ErrorCode::kFileMissing);
  CHECK(load_picture(folder.write("empty.jpg", {})).error().code == ErrorCode::kNotAPicture);
  const std::string words = "x,y\n1,2\n";
  CHECK(load_picture(folder.write("words.png", {words.begin(), words.end()})).error().code ==
        ErrorCode::kNotAPicture);
  CHECK(load_picture(folder.file("")).error().code == ErrorCode::kFileUnreadable);
}

TEST_CASE("picture: 0 or more than 500 megapixels are refused before any memory is taken",
          "[photo][picture]") {
  auto png = png_file(grey_wedge, {});
  const auto with_size = [](std::vector<std::uint8_t> file, std::uint32_t width, std::uint32_t height) {
    for (std::uint32_t i = 0; i < 4; ++i) {
      file[16 + i] = static_cast<std::uint8_t>(width >> (24 - 8 * i));
      file[20 + i] = static_cast<std::uint8_t>(height >> (24 - 8 * i));
    }
    std::uint32_t crc = 0xFFFFFFFF;  // of the header chunk, PNG specification annex D
    for (std::size_t i = 12; i < 29; ++i) {
      crc ^= file[i];
      for (int b = 0; b < 8; ++b) crc = crc & 1 ? 0xEDB88320u ^ (crc >> 1) : crc >> 1;
    }
    crc = ~crc;
    for (std::uint32_t i = 0; i < 4; ++i) file[29 + i] = static_cast<std::uint8_t>(crc >> (24 - 8 * i));
    return file;
  };
  CHECK(decode_picture(with_size(png, 40, 24)));  // the checksum above is right
  CHECK(decode_picture(with_size(png, 25000, 20001)).error().code == ErrorCode::kPictureSize);
  CHECK(decode_picture(with_size(png, 0x7fffffff, 0x7fffffff)).error().code == ErrorCode::kPictureSize);
  CHECK_FALSE(decode_picture(with_size(png, 0, 24)));
  auto jpeg = jpeg_file(grey_wedge, {});
  for (std::size_t i = 0; i + 9 < jpeg.size(); ++i)
    if (jpeg[i] == 0xFF && jpeg[i + 1] == 0xC0) {
      for (std::size_t k = 5; k < 9; ++k) jpeg[i + k] = 0xFF;
      break;
    }
  CHECK(decode_picture(jpeg).error().code == ErrorCode::kPictureSize);
}

TEST_CASE("picture: a header that claims more than its file can hold is refused before any memory is taken",
          "[photo][picture]") {
  // a few hundred bytes that claim 20000 x 20000 px: 400 MB and more if they were believed
  auto jpeg = jpeg_file(grey_wedge, {});
  for (std::size_t i = 0; i + 9 < jpeg.size(); ++i)
    if (jpeg[i] == 0xFF && jpeg[i + 1] == 0xC0) {
      for (std::size_t k = 5; k < 9; k += 2) jpeg[i + k] = 0x4E, jpeg[i + k + 1] = 0x20;
      break;
    }
  auto tiff = tiff_file(grey_wedge, {});
  const bool intel = tiff[0] == 'I';
  const auto number = [&](std::size_t at, int bytes) {
    std::size_t value = 0;
    for (int i = 0; i < bytes; ++i) value = value << 8 | tiff[at + std::size_t(intel ? bytes - 1 - i : i)];
    return value;
  };
  const std::size_t directory = number(4, 4);
  for (std::size_t i = 0; i < number(directory, 2); ++i) {
    const std::size_t entry = directory + 2 + 12 * i;
    if (number(entry, 2) != 256 && number(entry, 2) != 257) continue;  // ImageWidth, ImageLength
    const int bytes = number(entry + 2, 2) == 3 ? 2 : 4;
    for (int k = 0; k < bytes; ++k)
      tiff[entry + 8 + std::size_t(intel ? k : bytes - 1 - k)] = k == 0 ? 0x20 : k == 1 ? 0x4E : 0;
  }
  for (const auto& file : {jpeg, tiff}) {
    const auto claimed = decode_picture(file);
    REQUIRE_FALSE(claimed);
    CHECK(claimed.error().code == ErrorCode::kFileDamaged);
    CHECK_THAT(claimed.error().detail, Catch::Contains("the header claims"));
  }
}

TEST_CASE("picture: a cut file is never taken for a whole one", "[photo][picture]") {
  FileOptions o;
  std::vector<std::vector<std::uint8_t>> files = {jpeg_file(wedge, o), png_file(wedge, o),
                                                  tiff_file(wedge, o)};
  o.progressive = o.interlaced = o.tiled = true;
  files.push_back(jpeg_file(wedge, o));
  files.push_back(png_file(wedge, o));
  for (const auto& whole : files)
    for (std::size_t size = 0; size + 20 < whole.size(); size += 1 + whole.size() / 97) {
      const auto cut = decode_picture(std::span(whole.data(), size));
      INFO(size << " of " << whole.size());
      CHECK_FALSE(cut);
    }
}

TEST_CASE("picture: damaged bytes never crash the reader", "[photo][picture]") {
  FileOptions o;
  std::mt19937 random(20260101);
  std::vector<std::vector<std::uint8_t>> files = {jpeg_file(wedge, o), png_file(wedge, o),
                                                  tiff_file(wedge, o)};
  o.progressive = o.interlaced = o.tiled = true;
  o.exif_orientation = 6;
  files.push_back(jpeg_file(wedge, o));
  files.push_back(png_file(wedge, o));
  files.push_back(tiff_file(wedge, o));
  int refused = 0;
  for (const auto& whole : files)
    for (int trial = 0; trial < 300; ++trial) {
      auto bytes = whole;
      for (int k = 0; k < 1 + trial % 5; ++k)
        bytes[random() % bytes.size()] = static_cast<std::uint8_t>(random());
      const auto picture = decode_picture(bytes);
      if (!picture)
        ++refused;
      else
        CHECK(static_cast<std::size_t>(picture->width_px) * static_cast<std::size_t>(picture->height_px) ==
              picture->grey8.size() + picture->grey16.size());
    }
  CHECK(refused > 300);
}
