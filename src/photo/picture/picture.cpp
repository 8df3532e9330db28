#include "rondure/photo/picture.hpp"

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <memory>
#include <new>

#include "photo/picture/picture_decoders.hpp"
#include "rondure/photo/raw_picture.hpp"
#include "rondure/photo/tone_curve.hpp"

namespace rondure {
namespace {

bool starts_with(Bytes bytes, std::initializer_list<int> magic) {
  if (bytes.size() < magic.size()) return false;
  std::size_t i = 0;
  for (const int m : magic)
    if (bytes[i++] != m) return false;
  return true;
}

// Source index of every sample after EXIF orientation: picture seen upright.
template <class T>
std::vector<T> turned(const std::vector<T>& from, int width, int height, int orientation) {
  const bool swap = orientation >= 5;
  const int out_width = swap ? height : width, out_height = swap ? width : height;
  std::vector<T> to(from.size());
  constexpr int kTile = 64;  // keeps both the rows read and the rows written in the cache
  for (int y0 = 0; y0 < out_height; y0 += kTile)
    for (int x0 = 0; x0 < out_width; x0 += kTile)
      for (int y = y0; y < std::min(y0 + kTile, out_height); ++y)
        for (int x = x0; x < std::min(x0 + kTile, out_width); ++x) {
          int sx = x, sy = y;
          switch (orientation) {
            case 2:
              sx = width - 1 - x;
              break;
            case 3:
              sx = width - 1 - x, sy = height - 1 - y;
              break;
            case 4:
              sy = height - 1 - y;
              break;
            case 5:
              sx = y, sy = x;
              break;
            case 6:
              sx = y, sy = height - 1 - x;
              break;
            case 7:
              sx = width - 1 - y, sy = height - 1 - x;
              break;
            case 8:
              sx = width - 1 - y, sy = x;
              break;
            default:
              break;
          }
          to[static_cast<std::size_t>(y) * static_cast<std::size_t>(out_width) +
             static_cast<std::size_t>(x)] =
              from[static_cast<std::size_t>(sy) * static_cast<std::size_t>(width) +
                   static_cast<std::size_t>(sx)];
        }
  return to;
}

void turn_upright(Picture& picture) {
  if (picture.orientation < 2 || picture.orientation > 8) {
    picture.orientation = 1;
    return;
  }
  if (picture.bits == 8)
    picture.grey8 = turned(picture.grey8, picture.width_px, picture.height_px, picture.orientation);
  else
    picture.grey16 = turned(picture.grey16, picture.width_px, picture.height_px, picture.orientation);
  if (picture.orientation < 5) return;
  std::swap(picture.width_px, picture.height_px);
  std::swap(picture.x_px_per_mm, picture.y_px_per_mm);
  for (std::size_t row = 0; row < 8; ++row)
    for (std::size_t column = 0; column < row; ++column)
      std::swap(picture.jpeg_steps[8 * row + column], picture.jpeg_steps[8 * column + row]);
}

Result<std::vector<std::uint8_t>> read_bytes(const std::filesystem::path& file) {
  std::error_code ignored;
  if (std::filesystem::is_directory(file, ignored))
    return Error{ErrorCode::kFileUnreadable, file.string() + " is a folder"};
  const std::unique_ptr<std::FILE, int (*)(std::FILE*)> in(std::fopen(file.c_str(), "rb"), &std::fclose);
  if (!in) {
    const auto code =
        errno == ENOENT || errno == ENOTDIR ? ErrorCode::kFileMissing : ErrorCode::kFileUnreadable;
    return Error{code, file.string()};
  }
  const auto too_large = [&] {
    return Error{ErrorCode::kPictureSize,
                 file.string() + " holds more than " + std::to_string(kMostMemory_bytes / 1'000'000) + " MB"};
  };
  std::vector<std::uint8_t> bytes;
  const auto size = std::filesystem::file_size(file, ignored);
  if (!ignored && size > kMostMemory_bytes) return too_large();
  if (!ignored) bytes.reserve(size + 1);
  constexpr std::size_t kChunk = 1u << 20;  // bytes read at a time where the file's size is not known
  for (std::size_t used = 0;;) {
    bytes.resize(std::max(std::min(bytes.capacity(), used + kChunk), used + 1));
    const std::size_t got = std::fread(bytes.data() + used, 1, bytes.size() - used, in.get());
    used += got;
    if (used > kMostMemory_bytes) return too_large();
    if (got == 0) {
      bytes.resize(used);
      break;
    }
  }
  if (std::ferror(in.get())) return Error{ErrorCode::kFileUnreadable, file.string()};
  return bytes;
}

bool is_raw_picture(const std::filesystem::path& file) {
  const auto bytes = read_bytes(file);
  return bytes && is_raw(*bytes);
}

}  // namespace

Result<void> check_size(std::int64_t width_px, std::int64_t height_px) {
  if (width_px > 0 && height_px > 0 && width_px <= kMaxPixels && height_px <= kMaxPixels / width_px)
    return {};
  return Error{ErrorCode::kPictureSize, std::to_string(width_px) + " x " + std::to_string(height_px) +
                                            " px; needed 1 to " + std::to_string(kMaxPixels / 1'000'000) +
                                            " megapixels"};
}

Result<void> check_claim(std::uint64_t unpacked_bytes, std::size_t file_bytes, std::uint64_t densest) {
  constexpr std::uint64_t kHeader_bytes = 1024;  // for tiny pictures, of which it is the most
  if (unpacked_bytes <= kHeader_bytes + densest * file_bytes) return {};
  return Error{ErrorCode::kFileDamaged, "the header claims " + std::to_string(unpacked_bytes) +
                                            " bytes of picture, more than a file of " +
                                            std::to_string(file_bytes) + " bytes can hold"};
}

void set_resolution(Picture& picture, double x_px_per_mm, double y_px_per_mm) {
  if (!(x_px_per_mm > 0 && x_px_per_mm < 1e6 && y_px_per_mm > 0 && y_px_per_mm < 1e6)) return;
  picture.x_px_per_mm = x_px_per_mm, picture.y_px_per_mm = y_px_per_mm;
}

Result<void> allocate_samples(Picture& picture, std::uint64_t working_bytes) {
  const auto count = static_cast<std::size_t>(picture.width_px) * static_cast<std::size_t>(picture.height_px);
  const bool copied = picture.orientation >= 2 && picture.orientation <= 8;
  const std::uint64_t needed =
      count * static_cast<std::uint64_t>(picture.bits / 8) * (copied ? 2 : 1) + working_bytes;
  if (needed > kMostMemory_bytes)
    return Error{ErrorCode::kPictureSize, "it takes " + std::to_string(needed / 1'000'000) +
                                              " MB of memory to read; at most are " +
                                              std::to_string(kMostMemory_bytes / 1'000'000)};
  if (picture.bits == 8)
    picture.grey8.resize(count);
  else
    picture.grey16.resize(count);
  return {};
}

Result<Picture> decode_picture(Bytes bytes, PictureChannel channel) try {
  auto picture = [&]() -> Result<Picture> {
    if (bytes.empty()) return Error{ErrorCode::kNotAPicture, "the file is empty"};
    if (starts_with(bytes, {0xFF, 0xD8, 0xFF})) return decode_jpeg(bytes, channel);
    if (starts_with(bytes, {0x89, 'P', 'N', 'G', '\r', '\n', 0x1A, '\n'})) return decode_png(bytes, channel);
    if (is_raw(bytes)) return decode_raw(bytes, channel);
    for (const auto& magic : {std::initializer_list<int>{'I', 'I', 42, 0},
                              {'M', 'M', 0, 42},
                              {'I', 'I', 43, 0},
                              {'M', 'M', 0, 43}})
      if (starts_with(bytes, magic)) return decode_tiff(bytes, channel);
    if (is_heif(bytes)) return decode_heif(bytes, channel);
    return Error{ErrorCode::kNotAPicture, "neither PNG nor JPEG nor TIFF nor HEIF nor camera raw"};
  }();
  if (!picture) {  // the libraries quote what stands in the file
    Error error = picture.error();
    std::replace_if(
        error.detail.begin(), error.detail.end(), [](unsigned char c) { return c < 32 || c == 127; }, ' ');
    return error;
  }
  turn_upright(*picture);
  return picture;
} catch (const std::bad_alloc&) {
  return Error{ErrorCode::kPictureSize, "not enough memory for it"};
} catch (const std::length_error&) {
  return Error{ErrorCode::kPictureSize, "not enough memory for it"};
}

Result<Picture> load_picture(const std::filesystem::path& file, PictureChannel channel) {
  const auto bytes = read_bytes(file);
  if (!bytes) return bytes.error();
  auto picture = decode_picture(*bytes, channel);
  if (!picture) return Error{picture.error().code, file.string() + ": " + picture.error().detail};
  return picture;
}

Result<bool> linear_light_of(const std::vector<std::string>& files, bool told) {
  if (told || files.empty()) return told;
  const auto raw = std::ranges::count_if(files, is_raw_picture);
  if (raw == 0 || static_cast<std::size_t>(raw) == files.size()) return raw > 0;
  return Error{ErrorCode::kBadArgument,
               "found " + std::to_string(raw) + " of " + std::to_string(files.size()) +
                   " pictures raw, the others with a tone curve; needed all of one kind"};
}

bool has_tone_curve(const std::filesystem::path& file) {
  const auto bytes = read_bytes(file);
  return bytes && starts_with(*bytes, {0xFF, 0xD8, 0xFF});
}

Picture seen_on_screen(Picture picture) {
  if (!picture.linear_light) return picture;
  picture.linear_light = false;
  const ToneCurve screen;
  for (auto& sample : picture.grey16)
    sample = static_cast<std::uint16_t>(65535 * screen.sample(sample / 65535.0));
  return picture;
}

}  // namespace rondure
