#include "render/image_file.hpp"

#include <png.h>

#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <fstream>
// jpeglib.h needs FILE and size_t before it.
#include <jpeglib.h>

namespace rondure::render {

namespace {

// One row as the file wants it: 16-bit samples have the high byte first.
void pack_row(const Image& image, int y, std::vector<std::uint8_t>& row) {
  const std::size_t count = static_cast<std::size_t>(image.width_px) * image.channels, start = count * y;
  for (std::size_t i = 0; i < count; ++i) {
    const std::uint16_t v = image.samples[start + i];
    if (image.bits == 16)
      row[2 * i] = static_cast<std::uint8_t>(v >> 8), row[2 * i + 1] = static_cast<std::uint8_t>(v);
    else
      row[i] = static_cast<std::uint8_t>(v);
  }
}

// libpng reports errors by longjmp: nothing with a destructor lives in here.
bool write_rows(FILE* out, const Image& image, std::vector<std::uint8_t>& row) {
  png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, nullptr, nullptr, nullptr);
  if (!png) return false;
  png_infop info = png_create_info_struct(png);
  if (!info || setjmp(png_jmpbuf(png))) {
    png_destroy_write_struct(&png, &info);
    return false;
  }
  png_init_io(png, out);
  png_set_IHDR(png, info, static_cast<png_uint_32>(image.width_px), static_cast<png_uint_32>(image.height_px),
               image.bits, image.channels == 3 ? PNG_COLOR_TYPE_RGB : PNG_COLOR_TYPE_GRAY, PNG_INTERLACE_NONE,
               PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
  if (const auto dots = static_cast<png_uint_32>(image.dots_per_metre); dots > 0)
    png_set_pHYs(png, info, dots, dots, PNG_RESOLUTION_METER);
  png_write_info(png, info);
  for (int y = 0; y < image.height_px; ++y) {
    pack_row(image, y, row);
    png_write_row(png, row.data());
  }
  png_write_end(png, nullptr);
  png_destroy_write_struct(&png, &info);
  return true;
}

}  // namespace

bool write_png(const std::filesystem::path& file, const Image& image) {
  FILE* out = std::fopen(file.c_str(), "wb");
  if (!out) return false;
  std::vector<std::uint8_t> row(static_cast<std::size_t>(image.width_px) * image.channels * image.bits / 8);
  const bool written = write_rows(out, image, row);
  return std::fclose(out) == 0 && written;
}

std::vector<std::uint8_t> jpeg_bytes(const Image& image, int quality) {
  jpeg_compress_struct jpeg{};
  jpeg_error_mgr errors{};
  jpeg.err = jpeg_std_error(&errors);
  jpeg_create_compress(&jpeg);
  unsigned char* buffer = nullptr;
  unsigned long size = 0;
  jpeg_mem_dest(&jpeg, &buffer, &size);
  jpeg.image_width = static_cast<JDIMENSION>(image.width_px);
  jpeg.image_height = static_cast<JDIMENSION>(image.height_px);
  jpeg.input_components = image.channels;
  jpeg.in_color_space = image.channels == 3 ? JCS_RGB : JCS_GRAYSCALE;
  jpeg_set_defaults(&jpeg);
  jpeg.dct_method = JDCT_ISLOW;
  jpeg_set_quality(&jpeg, quality, TRUE);
  jpeg_start_compress(&jpeg, TRUE);
  std::vector<std::uint8_t> row(static_cast<std::size_t>(image.width_px) * image.channels);
  for (int y = 0; y < image.height_px; ++y) {
    for (std::size_t i = 0; i < row.size(); ++i)
      row[i] = static_cast<std::uint8_t>(image.samples[static_cast<std::size_t>(y) * row.size() + i]);
    JSAMPROW rows[1] = {row.data()};
    jpeg_write_scanlines(&jpeg, rows, 1);
  }
  jpeg_finish_compress(&jpeg);
  std::vector<std::uint8_t> bytes(buffer, buffer + size);
  jpeg_destroy_compress(&jpeg);
  std::free(buffer);
  return bytes;
}

bool write_jpeg(const std::filesystem::path& file, const Image& image, int quality) {
  const auto bytes = jpeg_bytes(image, quality);
  std::ofstream out(file, std::ios::binary);
  out.write(reinterpret_cast<const char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
  return out.good();
}

Image jpeg_round_trip(const Image& image, int quality) {
  const auto bytes = jpeg_bytes(image, quality);
  jpeg_decompress_struct jpeg{};
  jpeg_error_mgr errors{};
  jpeg.err = jpeg_std_error(&errors);
  jpeg_create_decompress(&jpeg);
  jpeg_mem_src(&jpeg, bytes.data(), static_cast<unsigned long>(bytes.size()));
  jpeg_read_header(&jpeg, TRUE);
  jpeg.dct_method = JDCT_ISLOW;
  jpeg_start_decompress(&jpeg);
  Image out{image.width_px, image.height_px, image.channels, 8, {}};
  out.samples.resize(image.samples.size());
  std::vector<std::uint8_t> row(static_cast<std::size_t>(image.width_px) * image.channels);
  for (int y = 0; y < image.height_px; ++y) {
    JSAMPROW rows[1] = {row.data()};
    jpeg_read_scanlines(&jpeg, rows, 1);
    for (std::size_t i = 0; i < row.size(); ++i)
      out.samples[static_cast<std::size_t>(y) * row.size() + i] = row[i];
  }
  jpeg_finish_decompress(&jpeg);
  jpeg_destroy_decompress(&jpeg);
  return out;
}

Picture as_picture(const Image& image) {
  Picture picture;
  picture.width_px = image.width_px;
  picture.height_px = image.height_px;
  picture.bits = image.bits;
  const std::size_t count = static_cast<std::size_t>(image.width_px) * image.height_px;
  if (image.bits == 16)
    picture.grey16.resize(count);
  else
    picture.grey8.resize(count);
  for (std::size_t i = 0; i < count; ++i) {
    std::uint32_t v;
    if (image.channels == 3) {
      const std::uint16_t* p = image.samples.data() + 3 * i;
      v = (19595u * p[0] + 38470u * p[1] + 7471u * p[2] + 32768u) >> 16;
    } else {
      v = image.samples[i];
    }
    if (image.bits == 16)
      picture.grey16[i] = static_cast<std::uint16_t>(v);
    else
      picture.grey8[i] = static_cast<std::uint8_t>(v);
  }
  return picture;
}

}  // namespace rondure::render
