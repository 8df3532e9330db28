// TIFF through libtiff: grey and RGB of 8 or 16 bit as stored, strips or tiles; anything else (palette,
// YCbCr, CMYK, bilevel) through libtiff's own conversion to 8-bit RGB.
#include <tiffio.h>

#include <algorithm>
#include <cstdarg>
#include <cstring>
#include <memory>

#include "photo/picture/picture_decoders.hpp"
#include "rondure/core/geometry.hpp"

namespace rondure {
namespace {

struct TiffSource {
  Bytes bytes;
  std::uint64_t at = 0;
  std::string message;
};

tmsize_t read_source(thandle_t handle, void* out, tmsize_t count) {
  auto& source = *static_cast<TiffSource*>(handle);
  if (source.at >= source.bytes.size() || count <= 0) return 0;
  const auto got =
      std::min<std::uint64_t>(static_cast<std::uint64_t>(count), source.bytes.size() - source.at);
  std::memcpy(out, source.bytes.data() + source.at, got);
  source.at += got;
  return static_cast<tmsize_t>(got);
}
tmsize_t write_nothing(thandle_t, void*, tmsize_t) { return 0; }
toff_t seek_source(thandle_t handle, toff_t offset, int whence) {
  auto& source = *static_cast<TiffSource*>(handle);
  if (whence == SEEK_CUR) offset += source.at;
  if (whence == SEEK_END) offset += source.bytes.size();
  return source.at = offset;
}
int close_nothing(thandle_t) { return 0; }
toff_t size_of_source(thandle_t handle) { return static_cast<TiffSource*>(handle)->bytes.size(); }

int keep_message(TIFF*, void* user, const char*, const char* format, va_list arguments) {
  char text[256];
  std::vsnprintf(text, sizeof text, format, arguments);
  auto& source = *static_cast<TiffSource*>(user);
  if (source.message.empty()) source.message = text;
  return 1;  // handled: the library prints nothing
}
int ignore_message(TIFF*, void*, const char*, const char*, va_list) { return 1; }

struct Layout {
  std::uint16_t bits = 1, samples = 1, format = SAMPLEFORMAT_UINT, photometric = PHOTOMETRIC_MINISBLACK,
                planar = PLANARCONFIG_CONTIG;
  bool as_stored() const {
    return (bits == 8 || bits == 16) && format == SAMPLEFORMAT_UINT && samples <= 8 &&
           (photometric == PHOTOMETRIC_MINISBLACK || photometric == PHOTOMETRIC_MINISWHITE ||
            (photometric == PHOTOMETRIC_RGB && samples >= 3));
  }
};

// One block (strip or tile) at (x0, y0) of `block_width` x `rows` samples into the picture. For separate
// planes each plane comes alone: it is added with the channel's weight into `sums`.
template <class T>
void place_block(const T* block, int block_width, int rows, int x0, int y0, int channels,
                 const Layout& layout, PictureChannel channel, std::vector<T>& out, int width) {
  const int columns = std::min(block_width, width - x0);
  for (int y = 0; y < rows; ++y)
    for (int x = 0; x < columns; ++x) {
      const T* s = block + (static_cast<std::size_t>(y) * static_cast<std::size_t>(block_width) +
                            static_cast<std::size_t>(x)) *
                               static_cast<std::size_t>(channels);
      T value = grey_of(s, layout.photometric == PHOTOMETRIC_RGB ? channels : 1, channel);
      if (layout.photometric == PHOTOMETRIC_MINISWHITE) value = static_cast<T>(~value);
      out[static_cast<std::size_t>(y0 + y) * static_cast<std::size_t>(width) +
          static_cast<std::size_t>(x0 + x)] = value;
    }
}

constexpr tmsize_t kMaxBlockBytes = 500'000'000;  // strip or tile: half of kMostMemory_bytes
// Of the packed kinds: deflate packs 1032 bytes into one, LZW up to some 2,700, runs of equal bytes 64;
// picture data, even of an even surface, less than any.
constexpr std::uint64_t kDensestTiff = 4096;

// Reads all strips or tiles of one plane. False on damaged data.
template <class T>
bool read_plane(TIFF* tiff, const Layout& layout, int channels, std::uint16_t plane, PictureChannel channel,
                std::vector<T>& out, int width, int height) {
  const bool tiled = TIFFIsTiled(tiff) != 0;
  std::uint32_t block_width = static_cast<std::uint32_t>(width),
                block_height = static_cast<std::uint32_t>(height);
  if (tiled) {
    TIFFGetField(tiff, TIFFTAG_TILEWIDTH, &block_width);
    TIFFGetField(tiff, TIFFTAG_TILELENGTH, &block_height);
  } else {
    TIFFGetFieldDefaulted(tiff, TIFFTAG_ROWSPERSTRIP, &block_height);
    block_height = std::min(block_height, static_cast<std::uint32_t>(height));
  }
  const tmsize_t size = tiled ? TIFFTileSize(tiff) : TIFFStripSize(tiff);
  const auto needed = static_cast<std::uint64_t>(block_width) * block_height *
                      static_cast<std::uint64_t>(channels) * sizeof(T);
  if (block_width == 0 || block_height == 0 || size <= 0 || size > kMaxBlockBytes ||
      needed > static_cast<std::uint64_t>(size))
    return false;
  std::vector<T> block(static_cast<std::size_t>(size) / sizeof(T) + 1);
  for (int y = 0; y < height; y += static_cast<int>(block_height))
    for (int x = 0; x < width; x += static_cast<int>(block_width)) {
      const int rows = std::min(static_cast<int>(block_height), height - y);
      const auto ux = static_cast<std::uint32_t>(x), uy = static_cast<std::uint32_t>(y);
      const tmsize_t got =
          tiled ? TIFFReadEncodedTile(tiff, TIFFComputeTile(tiff, ux, uy, 0, plane), block.data(), size)
                : TIFFReadEncodedStrip(tiff, TIFFComputeStrip(tiff, uy, plane), block.data(), size);
      const auto row_bytes =
          static_cast<std::uint64_t>(block_width) * static_cast<std::uint64_t>(channels) * sizeof(T);
      if (got < 0 || static_cast<std::uint64_t>(got) < row_bytes * static_cast<std::uint64_t>(rows))
        return false;
      place_block(block.data(), static_cast<int>(block_width), rows, x, y, channels, layout, channel, out,
                  width);
    }
  return true;
}

template <class T>
bool read_as_stored(TIFF* tiff, const Layout& layout, PictureChannel channel, std::vector<T>& out, int width,
                    int height) {
  if (layout.planar == PLANARCONFIG_CONTIG || layout.samples == 1)
    return read_plane(tiff, layout, layout.samples, 0, channel, out, width, height);
  Layout plane = layout;
  if (layout.photometric != PHOTOMETRIC_RGB)
    return read_plane(tiff, plane, 1, 0, channel, out, width, height);
  plane.photometric = PHOTOMETRIC_MINISBLACK;
  if (channel != PictureChannel::kLuma)
    return read_plane(tiff, plane, 1, static_cast<std::uint16_t>(static_cast<int>(channel) - 1), channel, out,
                      width, height);
  std::vector<T> planes[3];
  for (std::uint16_t p = 0; p < 3; ++p) {
    planes[p].resize(out.size());
    if (!read_plane(tiff, plane, 1, p, channel, planes[p], width, height)) return false;
  }
  for (std::size_t i = 0; i < out.size(); ++i) {
    const T rgb[3] = {planes[0][i], planes[1][i], planes[2][i]};
    out[i] = grey_of(rgb, 3, channel);
  }
  return true;
}

Result<void> read_converted(TIFF* tiff, PictureChannel channel, Picture& picture, TiffSource& source) {
  char why[1024] = {};
  if (!TIFFRGBAImageOK(tiff, why))
    return Error{ErrorCode::kNotAPicture, std::string("TIFF of an unusual kind: ") + why};
  std::vector<std::uint32_t> raster(picture.grey8.size());
  if (!TIFFReadRGBAImageOriented(tiff, static_cast<std::uint32_t>(picture.width_px),
                                 static_cast<std::uint32_t>(picture.height_px), raster.data(),
                                 ORIENTATION_TOPLEFT, 1))
    return Error{ErrorCode::kFileDamaged, "TIFF: " + source.message};
  for (std::size_t i = 0; i < raster.size(); ++i) {
    const std::uint8_t rgb[3] = {static_cast<std::uint8_t>(TIFFGetR(raster[i])),
                                 static_cast<std::uint8_t>(TIFFGetG(raster[i])),
                                 static_cast<std::uint8_t>(TIFFGetB(raster[i]))};
    picture.grey8[i] = grey_of(rgb, 3, channel);
  }
  picture.orientation = 1;  // libtiff has turned it
  return {};
}

void read_tags(TIFF* tiff, Picture& picture) {
  const char* text = nullptr;
  if (TIFFGetField(tiff, TIFFTAG_MAKE, &text) && text) picture.make = text;
  if (TIFFGetField(tiff, TIFFTAG_MODEL, &text) && text) picture.model = text;
  std::uint16_t orientation = 1;
  if (TIFFGetField(tiff, TIFFTAG_ORIENTATION, &orientation)) picture.orientation = orientation;
  float x = 0, y = 0;
  std::uint16_t unit = RESUNIT_INCH;
  TIFFGetFieldDefaulted(tiff, TIFFTAG_RESOLUTIONUNIT, &unit);
  if (TIFFGetField(tiff, TIFFTAG_XRESOLUTION, &x) && TIFFGetField(tiff, TIFFTAG_YRESOLUTION, &y) &&
      unit != RESUNIT_NONE) {
    const double unit_mm = unit == RESUNIT_CENTIMETER ? 10 : kMmPerInch;
    set_resolution(picture, x / unit_mm, y / unit_mm);
  }
}

}  // namespace

Result<Picture> decode_tiff(Bytes bytes, PictureChannel channel) {
  TiffSource source{bytes, 0, {}};
  const std::unique_ptr<TIFFOpenOptions, void (*)(TIFFOpenOptions*)> options(TIFFOpenOptionsAlloc(),
                                                                             TIFFOpenOptionsFree);
  TIFFOpenOptionsSetMaxSingleMemAlloc(options.get(), kMaxBlockBytes);
  TIFFOpenOptionsSetErrorHandlerExtR(options.get(), keep_message, &source);
  TIFFOpenOptionsSetWarningHandlerExtR(options.get(), ignore_message, &source);
  const std::unique_ptr<TIFF, void (*)(TIFF*)> tiff(
      TIFFClientOpenExt("picture", "rm", &source, read_source, write_nothing, seek_source, close_nothing,
                        size_of_source, nullptr, nullptr, options.get()),
      TIFFClose);
  if (!tiff) return Error{ErrorCode::kNotAPicture, "TIFF: " + source.message};
  std::uint32_t width = 0, height = 0;
  TIFFGetField(tiff.get(), TIFFTAG_IMAGEWIDTH, &width);
  TIFFGetField(tiff.get(), TIFFTAG_IMAGELENGTH, &height);
  if (const auto size = check_size(width, height); !size) return size.error();
  Layout layout;
  TIFFGetFieldDefaulted(tiff.get(), TIFFTAG_BITSPERSAMPLE, &layout.bits);
  TIFFGetFieldDefaulted(tiff.get(), TIFFTAG_SAMPLESPERPIXEL, &layout.samples);
  TIFFGetFieldDefaulted(tiff.get(), TIFFTAG_SAMPLEFORMAT, &layout.format);
  TIFFGetFieldDefaulted(tiff.get(), TIFFTAG_PLANARCONFIG, &layout.planar);
  TIFFGetField(tiff.get(), TIFFTAG_PHOTOMETRIC, &layout.photometric);
  std::uint16_t compression = COMPRESSION_NONE;
  TIFFGetFieldDefaulted(tiff.get(), TIFFTAG_COMPRESSION, &compression);
  const std::uint64_t pixel_bits = std::max<std::uint64_t>(1, std::uint64_t{layout.bits} * layout.samples);
  const std::uint64_t stored = std::uint64_t{width} * height * pixel_bits / 8;
  if (const auto claim =
          check_claim(stored, bytes.size(), compression == COMPRESSION_NONE ? 1 : kDensestTiff);
      !claim)
    return claim.error();
  if (layout.samples == 0) return Error{ErrorCode::kNotAPicture, "TIFF without samples"};

  Picture picture;
  picture.width_px = static_cast<int>(width);
  picture.height_px = static_cast<int>(height);
  picture.bits = layout.as_stored() ? layout.bits : 8;
  picture.colour =
      layout.photometric != PHOTOMETRIC_MINISBLACK && layout.photometric != PHOTOMETRIC_MINISWHITE;
  read_exif(bytes, picture);
  read_tags(tiff.get(), picture);
  const std::uint64_t count = std::uint64_t{width} * height, sample_bytes = layout.bits / 8u;
  const bool planes = layout.planar != PLANARCONFIG_CONTIG && layout.photometric == PHOTOMETRIC_RGB;
  const std::uint64_t working = !layout.as_stored() ? 4 * count  // the library's own picture
                                : planes && channel == PictureChannel::kLuma ? 3 * count * sample_bytes
                                                                             : 0;
  const std::uint64_t block = std::min<std::uint64_t>(
      kMostMemory_bytes, TIFFIsTiled(tiff.get()) ? TIFFTileSize64(tiff.get()) : TIFFStripSize64(tiff.get()));
  if (const auto room = allocate_samples(picture, bytes.size() + working + 2 * block); !room)
    return room.error();
  if (!layout.as_stored()) {
    if (const auto done = read_converted(tiff.get(), channel, picture, source); !done) return done.error();
    return picture;
  }
  const bool good =
      picture.bits == 8
          ? read_as_stored(tiff.get(), layout, channel, picture.grey8, picture.width_px, picture.height_px)
          : read_as_stored(tiff.get(), layout, channel, picture.grey16, picture.width_px, picture.height_px);
  if (!good)
    return Error{ErrorCode::kFileDamaged,
                 "TIFF: " + (source.message.empty() ? "data missing" : source.message)};
  return picture;
}

}  // namespace rondure
