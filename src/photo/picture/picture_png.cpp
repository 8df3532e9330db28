// PNG through libpng; transparency is dropped, palettes become colours, 16 bit stay 16 bit.
#include <png.h>

#include <csetjmp>
#include <cstring>

#include "photo/picture/picture_decoders.hpp"

namespace rondure {
namespace {

struct PngReader {
  png_structp png = nullptr;
  png_infop info = nullptr;
  Bytes bytes;
  std::size_t used = 0;
  char message[256] = {};
  bool header_read = false;
  ~PngReader() { png_destroy_read_struct(&png, &info, nullptr); }
};

void fail(png_structp png, png_const_charp message) {
  auto* reader = static_cast<PngReader*>(png_get_error_ptr(png));
  std::strncpy(reader->message, message, sizeof reader->message - 1);
  png_longjmp(png, 1);
}

void ignore_warning(png_structp, png_const_charp) {}

void take_bytes(png_structp png, png_bytep out, std::size_t count) {
  auto* reader = static_cast<PngReader*>(png_get_io_ptr(png));
  if (count > reader->bytes.size() - reader->used) png_error(png, "the file ends too early");
  std::memcpy(out, reader->bytes.data() + reader->used, count);
  reader->used += count;
}

constexpr std::uint64_t kDensestPng = 1032;  // deflate: 258 bytes in two bits (RFC 1951)

// Whether every chunk up to the end chunk lies within the file (PNG specification, 5.3). libpng takes the
// memory that a chunk claims before it looks for the data: in 2026-11 a file of 118 bytes took 1.6 GB.
bool chunks_are_whole(Bytes bytes) {
  const auto number = [&](std::size_t at) {
    return std::size_t{bytes[at]} << 24 | std::size_t{bytes[at + 1]} << 16 | std::size_t{bytes[at + 2]} << 8 |
           bytes[at + 3];
  };
  for (std::size_t at = 8; at + 12 <= bytes.size();) {
    const std::size_t length = number(at);
    if (length > bytes.size() - at - 12) return false;
    if (std::memcmp(bytes.data() + at + 4, "IEND", 4) == 0) return true;
    at += 12 + length;
  }
  return false;
}

bool open_png(PngReader& reader) {
  if (setjmp(png_jmpbuf(reader.png))) return false;
  png_set_read_fn(reader.png, &reader, take_bytes);
  png_set_user_limits(reader.png, 0x7fffffff,
                      0x7fffffff);  // our own limit on the area is checked after the header
  png_read_info(reader.png, reader.info);
  reader.header_read = true;
  return true;
}

void read_resolution(const PngReader& reader, Picture& picture) {
  png_uint_32 x = 0, y = 0;
  int unit = PNG_RESOLUTION_UNKNOWN;
  if (png_get_pHYs(reader.png, reader.info, &x, &y, &unit) && unit == PNG_RESOLUTION_METER)
    set_resolution(picture, x / 1000.0, y / 1000.0);
}

bool choose_conversion(PngReader& reader) {
  if (setjmp(png_jmpbuf(reader.png))) return false;
  png_set_expand(reader.png);  // palette to colours, 1, 2, 4 bit to 8, transparency to alpha
  png_set_strip_alpha(reader.png);
  if (png_get_bit_depth(reader.png, reader.info) == 16) png_set_swap(reader.png);
  png_set_interlace_handling(reader.png);
  png_read_update_info(reader.png, reader.info);
  return true;
}

bool read_rows(PngReader& reader, Picture& picture, std::uint8_t* row, int channels, PictureChannel channel) {
  if (setjmp(png_jmpbuf(reader.png))) return false;
  const auto width = static_cast<std::size_t>(picture.width_px);
  for (int y = 0; y < picture.height_px; ++y) {
    png_read_row(reader.png, row, nullptr);
    const std::size_t from = static_cast<std::size_t>(y) * width;
    for (std::size_t x = 0; x < width; ++x) {
      const std::size_t s = x * static_cast<std::size_t>(channels);
      if (picture.bits == 8)
        picture.grey8[from + x] = grey_of(row + s, channels, channel);
      else
        picture.grey16[from + x] =
            grey_of(reinterpret_cast<const std::uint16_t*>(row) + s, channels, channel);
    }
  }
  png_read_end(reader.png, nullptr);
  return true;
}

bool read_interlaced(PngReader& reader, png_bytepp rows) {
  if (setjmp(png_jmpbuf(reader.png))) return false;
  png_read_image(reader.png, rows);
  png_read_end(reader.png, nullptr);
  return true;
}

Error refusal(const PngReader& reader) {
  return {reader.header_read ? ErrorCode::kFileDamaged : ErrorCode::kNotAPicture,
          std::string("PNG: ") + reader.message};
}

}  // namespace

Result<Picture> decode_png(Bytes bytes, PictureChannel channel) {
  if (!chunks_are_whole(bytes)) return Error{ErrorCode::kFileDamaged, "PNG: the file ends too early"};
  PngReader reader;
  reader.bytes = bytes;
  reader.png = png_create_read_struct(PNG_LIBPNG_VER_STRING, &reader, fail, ignore_warning);
  if (reader.png) reader.info = png_create_info_struct(reader.png);
  if (!reader.png || !reader.info) return Error{ErrorCode::kFileUnreadable, "not enough memory"};
  if (!open_png(reader)) return refusal(reader);
  const auto width = png_get_image_width(reader.png, reader.info),
             height = png_get_image_height(reader.png, reader.info);
  if (const auto size = check_size(width, height); !size) return size.error();
  const std::uint64_t stored = std::uint64_t{png_get_rowbytes(reader.png, reader.info)} * height;
  if (const auto claim = check_claim(stored, bytes.size(), kDensestPng); !claim) return claim.error();

  Picture picture;
  picture.width_px = static_cast<int>(width);
  picture.height_px = static_cast<int>(height);
  picture.bits = png_get_bit_depth(reader.png, reader.info) == 16 ? 16 : 8;
  picture.colour = (png_get_color_type(reader.png, reader.info) & PNG_COLOR_MASK_COLOR) != 0;
  png_bytep exif = nullptr;
  png_uint_32 exif_size = 0;
  if (png_get_eXIf_1(reader.png, reader.info, &exif_size, &exif)) read_exif(Bytes(exif, exif_size), picture);
  read_resolution(reader, picture);
  const bool interlaced = png_get_interlace_type(reader.png, reader.info) != PNG_INTERLACE_NONE;
  if (!choose_conversion(reader)) return refusal(reader);
  const int channels = png_get_channels(reader.png, reader.info);
  const std::size_t row_bytes = png_get_rowbytes(reader.png, reader.info);
  const std::uint64_t rows_at_once = interlaced ? height : 1;
  if (const auto room = allocate_samples(picture, bytes.size() + row_bytes * rows_at_once); !room)
    return room.error();
  if (!interlaced) {
    std::vector<std::uint8_t> row(row_bytes);
    if (!read_rows(reader, picture, row.data(), channels, channel)) return refusal(reader);
    return picture;
  }
  std::vector<std::uint8_t> all(row_bytes * height);
  std::vector<png_bytep> rows(height);
  for (std::size_t y = 0; y < height; ++y) rows[y] = all.data() + y * row_bytes;
  if (!read_interlaced(reader, rows.data())) return refusal(reader);
  for (std::size_t i = 0; i < static_cast<std::size_t>(width) * height; ++i) {
    const std::uint8_t* row = rows[i / width];
    const std::size_t s = i % width * static_cast<std::size_t>(channels);
    if (picture.bits == 8)
      picture.grey8[i] = grey_of(row + s, channels, channel);
    else
      picture.grey16[i] = grey_of(reinterpret_cast<const std::uint16_t*>(row) + s, channels, channel);
  }
  return picture;
}

}  // namespace rondure
