#include "picture_files.hpp"

#include <libheif/heif.h>
#include <png.h>
#include <tiffio.h>
#include <unistd.h>

#include <algorithm>
#include <cstdio>
#include <cstdlib>
// clang-format off
#include <jpeglib.h>
// clang-format on
#include <filesystem>
#include <fstream>
#include <stdexcept>

namespace rondure::test {
namespace {

std::vector<std::uint16_t> row_of(const Painter& paint, const FileOptions& options, int y) {
  std::vector<std::uint16_t> row;
  for (int x = 0; x < options.width; ++x) {
    const Rgb c = paint(x, y);
    row.push_back(c.r);
    if (options.colour) row.insert(row.end(), {c.g, c.b});
  }
  return row;
}

std::vector<std::uint8_t> row_bytes(const std::vector<std::uint16_t>& row, int bits, bool big_endian) {
  std::vector<std::uint8_t> bytes;
  for (const std::uint16_t v : row) {
    if (bits == 8) {
      bytes.push_back(static_cast<std::uint8_t>((v + 128) / 257));
    } else {
      const std::uint8_t hi = static_cast<std::uint8_t>(v >> 8), lo = static_cast<std::uint8_t>(v & 255);
      bytes.insert(bytes.end(), {big_endian ? hi : lo, big_endian ? lo : hi});
    }
  }
  return bytes;
}

void append(png_structp png, png_bytep data, png_size_t count) {
  auto* out = static_cast<std::vector<std::uint8_t>*>(png_get_io_ptr(png));
  out->insert(out->end(), data, data + count);
}

// A TIFF header, a directory with the model "Box" and the orientation, and EXIF's own directory with the focal length.
std::vector<std::uint8_t> exif_block(const FileOptions& options) {
  const int entries = options.focal_35mm_mm > 0 ? 3 : 2;
  std::vector<std::uint8_t> b = {'I', 'I', 42, 0, 8, 0, 0, 0, static_cast<std::uint8_t>(entries), 0};
  const auto entry = [&](int tag, int type, int value) {
    b.insert(b.end(),
             {static_cast<std::uint8_t>(tag & 255), static_cast<std::uint8_t>(tag >> 8),
              static_cast<std::uint8_t>(type), 0, 1, 0, 0, 0, static_cast<std::uint8_t>(value), 0, 0, 0});
  };
  b.insert(b.end(), {0x10, 0x01, 2, 0, 4, 0, 0, 0, 'B', 'o', 'x', 0});
  entry(0x0112, 3, std::max(1, options.exif_orientation));
  if (options.focal_35mm_mm > 0) entry(0x8769, 4, 8 + 2 + 12 * entries + 4);
  b.insert(b.end(), 4, 0);
  if (options.focal_35mm_mm > 0) {
    b.insert(b.end(), {1, 0});
    entry(0xA405, 3, options.focal_35mm_mm);
    b.insert(b.end(), 4, 0);
  }
  return b;
}

bool has_exif(const FileOptions& options) {
  return options.exif_orientation > 0 || options.focal_35mm_mm > 0;
}

// A second directory, which the first one points to: EXIF as TIFF files have it.
void write_exif_directory(TIFF* tiff, int focal_35mm_mm) {
  TIFFWriteDirectory(tiff);
  TIFFCreateEXIFDirectory(tiff);
  TIFFSetField(tiff, EXIFTAG_FOCALLENGTHIN35MMFILM, focal_35mm_mm);
  std::uint64_t at = 0;
  TIFFWriteCustomDirectory(tiff, &at);
  TIFFSetDirectory(tiff, 0);
  TIFFSetField(tiff, TIFFTAG_EXIFIFD, at);
  TIFFRewriteDirectory(tiff);
}

}  // namespace

std::vector<std::uint8_t> png_file(const Painter& paint, const FileOptions& options) {
  std::vector<std::uint8_t> out;
  png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, nullptr, nullptr, nullptr);
  png_infop info = png_create_info_struct(png);
  png_set_write_fn(png, &out, append, nullptr);
  png_set_IHDR(png, info, static_cast<png_uint_32>(options.width), static_cast<png_uint_32>(options.height),
               options.bits, options.colour ? PNG_COLOR_TYPE_RGB : PNG_COLOR_TYPE_GRAY,
               options.interlaced ? PNG_INTERLACE_ADAM7 : PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT,
               PNG_FILTER_TYPE_DEFAULT);
  if (options.x_dpi > 0)
    png_set_pHYs(png, info, static_cast<png_uint_32>(options.x_dpi / 0.0254 + 0.5),
                 static_cast<png_uint_32>(options.y_dpi / 0.0254 + 0.5), PNG_RESOLUTION_METER);
  std::vector<std::uint8_t> exif = exif_block(options);
  if (has_exif(options)) png_set_eXIf_1(png, info, static_cast<png_uint_32>(exif.size()), exif.data());
  png_write_info(png, info);
  std::vector<std::vector<std::uint8_t>> rows;
  for (int y = 0; y < options.height; ++y)
    rows.push_back(row_bytes(row_of(paint, options, y), options.bits, true));
  std::vector<png_bytep> pointers;
  for (auto& row : rows) pointers.push_back(row.data());
  png_write_image(png, pointers.data());
  png_write_end(png, nullptr);
  png_destroy_write_struct(&png, &info);
  return out;
}

std::vector<std::uint8_t> jpeg_file(const Painter& paint, const FileOptions& options) {
  jpeg_compress_struct info{};
  jpeg_error_mgr errors{};
  info.err = jpeg_std_error(&errors);
  jpeg_create_compress(&info);
  unsigned char* memory = nullptr;
  unsigned long size = 0;
  jpeg_mem_dest(&info, &memory, &size);
  info.image_width = static_cast<JDIMENSION>(options.width);
  info.image_height = static_cast<JDIMENSION>(options.height);
  info.input_components = options.colour ? 3 : 1;
  info.in_color_space = options.colour ? JCS_RGB : JCS_GRAYSCALE;
  jpeg_set_defaults(&info);
  jpeg_set_quality(&info, options.quality, TRUE);
  if (options.x_dpi > 0) {
    info.density_unit = 1;
    info.X_density = static_cast<UINT16>(options.x_dpi), info.Y_density = static_cast<UINT16>(options.y_dpi);
  }
  if (options.progressive) jpeg_simple_progression(&info);
  jpeg_start_compress(&info, TRUE);
  if (has_exif(options)) {
    std::vector<std::uint8_t> exif = {'E', 'x', 'i', 'f', 0, 0};
    const auto block = exif_block(options);
    exif.insert(exif.end(), block.begin(), block.end());
    jpeg_write_marker(&info, JPEG_APP0 + 1, exif.data(), static_cast<unsigned>(exif.size()));
  }
  for (int y = 0; y < options.height; ++y) {
    auto row = row_bytes(row_of(paint, options, y), 8, false);
    JSAMPROW pointer = row.data();
    jpeg_write_scanlines(&info, &pointer, 1);
  }
  jpeg_finish_compress(&info);
  std::vector<std::uint8_t> out(memory, memory + size);
  jpeg_destroy_compress(&info);
  std::free(memory);
  return out;
}

std::vector<std::uint8_t> tiff_file(const Painter& paint, const FileOptions& options) {
  const ScratchFolder folder;
  const std::string name = folder.file("made.tif");
  TIFF* tiff = TIFFOpen(name.c_str(), "w");
  const int channels = options.colour ? 3 : 1;
  TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, options.width);
  TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, options.height);
  TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, options.bits);
  TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, channels);
  TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, options.colour ? PHOTOMETRIC_RGB : PHOTOMETRIC_MINISBLACK);
  TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, options.separate ? PLANARCONFIG_SEPARATE : PLANARCONFIG_CONTIG);
  TIFFSetField(tiff, TIFFTAG_COMPRESSION, COMPRESSION_LZW);
  if (options.exif_orientation > 0) TIFFSetField(tiff, TIFFTAG_ORIENTATION, options.exif_orientation);
  if (options.x_dpi > 0) {
    TIFFSetField(tiff, TIFFTAG_RESOLUTIONUNIT, RESUNIT_INCH);
    TIFFSetField(tiff, TIFFTAG_XRESOLUTION, static_cast<double>(options.x_dpi));
    TIFFSetField(tiff, TIFFTAG_YRESOLUTION, static_cast<double>(options.y_dpi));
  }
  if (options.tiled) {
    constexpr int kTile = 16;
    TIFFSetField(tiff, TIFFTAG_TILEWIDTH, kTile);
    TIFFSetField(tiff, TIFFTAG_TILELENGTH, kTile);
    for (int y0 = 0; y0 < options.height; y0 += kTile)
      for (int x0 = 0; x0 < options.width; x0 += kTile) {
        std::vector<std::uint8_t> tile;
        FileOptions part = options;
        part.width = kTile;
        for (int y = 0; y < kTile; ++y) {
          const auto shifted = [&](int x, int row) {
            return paint(std::min(x0 + x, options.width - 1), std::min(row, options.height - 1));
          };
          const auto bytes = row_bytes(row_of(shifted, part, y0 + y), options.bits, false);
          tile.insert(tile.end(), bytes.begin(), bytes.end());
        }
        TIFFWriteTile(tiff, tile.data(), static_cast<std::uint32_t>(x0), static_cast<std::uint32_t>(y0), 0,
                      0);
      }
  } else {
    TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, 7);
    for (int plane = 0; plane < (options.separate ? 3 : 1); ++plane)
      for (int y = 0; y < options.height; ++y) {
        auto row = row_of(paint, options, y);
        if (options.separate) {
          std::vector<std::uint16_t> one;
          for (std::size_t i = static_cast<std::size_t>(plane); i < row.size(); i += 3) one.push_back(row[i]);
          row = one;
        }
        auto bytes = row_bytes(row, options.bits, false);
        TIFFWriteScanline(tiff, bytes.data(), static_cast<std::uint32_t>(y),
                          static_cast<std::uint16_t>(plane));
      }
  }
  if (options.focal_35mm_mm > 0) write_exif_directory(tiff, options.focal_35mm_mm);
  TIFFClose(tiff);
  std::ifstream in(name, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

std::vector<std::uint8_t> heic_file(const Painter& paint, const FileOptions& options) {
  heif_context* context = heif_context_alloc();
  heif_encoder* encoder = nullptr;
  std::vector<std::uint8_t> out;
  heif_image* image = nullptr;
  if (heif_context_get_encoder_for_format(context, heif_compression_HEVC, &encoder).code == heif_error_Ok) {
    heif_encoder_set_lossless(encoder, 1);
    heif_image_create(options.width, options.height, heif_colorspace_RGB, heif_chroma_interleaved_RGB,
                      &image);
    heif_image_add_plane(image, heif_channel_interleaved, options.width, options.height, 8);
    int stride = 0;
    std::uint8_t* rows = heif_image_get_plane(image, heif_channel_interleaved, &stride);
    for (int y = 0; y < options.height; ++y) {
      const auto row = row_bytes(row_of(paint, options, y), 8, false);
      std::copy(row.begin(), row.end(), rows + static_cast<std::ptrdiff_t>(y) * stride);
    }
    heif_image_handle* handle = nullptr;
    heif_context_encode_image(context, image, encoder, nullptr, &handle);
    if (const auto exif = exif_block(options); has_exif(options))
      heif_context_add_exif_metadata(context, handle, exif.data(), static_cast<int>(exif.size()));
    heif_writer writer{1, [](heif_context*, const void* data, std::size_t size, void* to) {
                         const auto* bytes = static_cast<const std::uint8_t*>(data);
                         static_cast<std::vector<std::uint8_t>*>(to)->assign(bytes, bytes + size);
                         return heif_error{heif_error_Ok, heif_suberror_Unspecified, ""};
                       }};
    heif_context_write(context, &writer, &out);
    heif_image_handle_release(handle);
    heif_image_release(image);
    heif_encoder_release(encoder);
  }
  heif_context_free(context);
  return out;
}

ScratchFolder::ScratchFolder() {
  std::string pattern = (std::filesystem::temp_directory_path() / "rondure-test-XXXXXX").string();
  if (!mkdtemp(pattern.data())) throw std::runtime_error("no scratch folder");
  path_ = pattern;
}
ScratchFolder::~ScratchFolder() {
  std::error_code ignored;
  std::filesystem::remove_all(path_, ignored);
}
std::string ScratchFolder::write(const std::string& name, const std::vector<std::uint8_t>& bytes) const {
  std::ofstream(file(name), std::ios::binary)
      .write(reinterpret_cast<const char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
  return file(name);
}

}  // namespace rondure::test
