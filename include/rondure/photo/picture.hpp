// A photograph in memory, decoded from PNG, JPEG or TIFF (8 or 16 bit, grey or colour, EXIF orientation
// applied). Samples keep the tone curve they were stored with. Colour becomes luma 0.299 R' + 0.587 G' +
// 0.114 B' (ITU-R BT.601, the weights JPEG itself uses, so a JPEG is decoded without ever making its
// colours), or one channel. A strongly coloured part on white has little contrast in luma and a different
// tone curve there: take the channel in which it is darkest.
#pragma once
#include <array>
#include <cstdint>
#include <filesystem>
#include <span>
#include <string>
#include <vector>

#include "rondure/core/result.hpp"

namespace rondure {

struct Picture {
  int width_px = 0, height_px = 0;
  int bits = 8;  // 8 or 16: full scale of the samples is 2^bits - 1
  std::vector<std::uint16_t>
      grey16;                       // luma as stored (tone curve still on), row by row; used when bits == 16
  std::vector<std::uint8_t> grey8;  // the same, when bits == 8
  std::string make, model;          // EXIF, empty when absent
  int orientation = 1;              // EXIF orientation the file had, 1 to 8; already applied to the samples
  double focal_35mm_mm = 0;         // EXIF focal length as on 35 mm film; 0 = not said
  // Resolution the file states (PNG pHYs, JFIF density, TIFF tags), along the upright picture's axes; 0 = not said.
  double x_px_per_mm = 0, y_px_per_mm = 0;
  bool colour = false;        // the file held colours
  bool linear_light = false;  // camera raw: samples are proportional to light, no tone curve is on them
  bool jpeg = false;          // compressed in 8 x 8 blocks: neighbouring noise is correlated
  // JPEG's quantisation steps of luma as the file states them, row by row of an 8 x 8 block's frequencies
  // (ITU-T T.81 A.3.4), grey levels of its coefficients; all 0 in other files.
  std::array<std::uint16_t, 64> jpeg_steps{};

  double full_scale() const { return bits == 8 ? 255.0 : 65535.0; }
  // Sample as stored; the caller stays inside the picture.
  double at(int x_px, int y_px) const {
    const auto i =
        static_cast<std::size_t>(y_px) * static_cast<std::size_t>(width_px) + static_cast<std::size_t>(x_px);
    return bits == 8 ? grey8[i] : grey16[i];
  }
};

enum class PictureChannel { kLuma, kRed, kGreen, kBlue };

inline constexpr std::int64_t kMaxPixels = 500'000'000;

// Errors: kFileMissing, kFileUnreadable, kNotAPicture, kPictureSize, kFileDamaged (ends too early, corrupt
// data).
Result<Picture> load_picture(const std::filesystem::path& file,
                             PictureChannel channel = PictureChannel::kLuma);
// The same from a file's bytes.
Result<Picture> decode_picture(std::span<const std::uint8_t> bytes,
                               PictureChannel channel = PictureChannel::kLuma);

}  // namespace rondure
