// A photograph in memory, decoded from PNG, JPEG or TIFF (8 or 16 bit, grey or colour, EXIF orientation applied).
#pragma once
#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "rondure/core/result.hpp"

namespace rondure {

struct Picture {
  int width_px = 0, height_px = 0;
  int bits = 8;                       // 8 or 16: full scale of the samples is 2^bits - 1
  std::vector<std::uint16_t> grey16;  // luma as stored (tone curve still on), row by row; used when bits == 16
  std::vector<std::uint8_t> grey8;    // the same, when bits == 8
  std::string make, model;            // EXIF, empty when absent
};

inline constexpr std::int64_t kMaxPixels = 500'000'000;

// Errors: kFileMissing, kFileUnreadable, kNotAPicture, kPictureSize.
Result<Picture> load_picture(const std::filesystem::path& file);

}  // namespace rondure
