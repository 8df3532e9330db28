// HEIF (ISO/IEC 23008-12) as phones write it: HEIC (HEVC) and AVIF. The file's own turning (irot, imir) is applied by
// the library; its EXIF orientation says the same a second time and is left alone.
#include <libheif/heif.h>

#include <algorithm>
#include <memory>
#include <string_view>

#include "photo/picture/picture_decoders.hpp"

namespace rondure {
namespace {

// An even surface takes some tenths of a bit a block of 64 x 64.
constexpr std::uint64_t kDensestHeif = 50'000;

template <auto Free>
struct Freed {
  template <class T>
  void operator()(T* what) const {
    Free(what);
  }
};
using Context = std::unique_ptr<heif_context, Freed<heif_context_free>>;
using Handle = std::unique_ptr<heif_image_handle, Freed<heif_image_handle_release>>;
using Image = std::unique_ptr<heif_image, Freed<heif_image_release>>;

Error refusal(const heif_error& error, ErrorCode code = ErrorCode::kFileDamaged) {
  return {code, std::string("HEIF: ") + (error.message ? error.message : "cannot be decoded")};
}

// The EXIF block begins with four bytes: how far behind them its TIFF header lies.
void read_exif_of(const heif_image_handle* handle, Picture& picture) {
  heif_item_id id = 0;
  if (heif_image_handle_get_list_of_metadata_block_IDs(handle, "Exif", &id, 1) != 1) return;
  const std::size_t size = heif_image_handle_get_metadata_size(handle, id);
  if (size < 4 || size > (1u << 20)) return;
  std::vector<std::uint8_t> block(size);
  if (heif_image_handle_get_metadata(handle, id, block.data()).code != heif_error_Ok) return;
  std::size_t offset = 0;
  for (int i = 0; i < 4; ++i) offset = offset << 8 | block[static_cast<std::size_t>(i)];
  if (offset > size - 4) return;
  read_exif(Bytes(block).subspan(4 + offset), picture);
}

// Row by row out of the library's interleaved RGB.
template <class T>
void copy_rows(const std::uint8_t* rows, int stride, const Picture& picture, int shift,
               PictureChannel channel, std::vector<T>& out) {
  for (int y = 0; y < picture.height_px; ++y) {
    const std::uint8_t* row = rows + static_cast<std::size_t>(y) * static_cast<std::size_t>(stride);
    for (int x = 0; x < picture.width_px; ++x) {
      T rgb[3];
      for (int c = 0; c < 3; ++c) {
        const std::size_t i = 3 * static_cast<std::size_t>(x) + static_cast<std::size_t>(c);
        if constexpr (sizeof(T) == 1)
          rgb[c] = row[i];
        else
          rgb[c] = static_cast<T>((row[2 * i] | row[2 * i + 1] << 8) << shift);
      }
      out[static_cast<std::size_t>(y) * static_cast<std::size_t>(picture.width_px) +
          static_cast<std::size_t>(x)] = grey_of(rgb, 3, channel);
    }
  }
}

}  // namespace

bool is_heif(Bytes bytes) {
  if (bytes.size() < 12) return false;
  const std::string_view head(reinterpret_cast<const char*>(bytes.data()), 12);
  if (head.substr(4, 4) != "ftyp") return false;
  const std::string_view brand = head.substr(8, 4);
  constexpr std::string_view kBrands[] = {"heic", "heix", "heim", "heis", "mif1", "avif"};
  return std::find(std::begin(kBrands), std::end(kBrands), brand) != std::end(kBrands);
}

Result<Picture> decode_heif(Bytes bytes, PictureChannel channel) {
  const Context context(heif_context_alloc());
  if (!context) return Error{ErrorCode::kPictureSize, "not enough memory for it"};
  if (const auto e =
          heif_context_read_from_memory_without_copy(context.get(), bytes.data(), bytes.size(), nullptr);
      e.code != heif_error_Ok)
    return refusal(e);
  heif_image_handle* primary = nullptr;
  if (const auto e = heif_context_get_primary_image_handle(context.get(), &primary); e.code != heif_error_Ok)
    return refusal(e);
  const Handle handle(primary);
  const int width = heif_image_handle_get_width(primary), height = heif_image_handle_get_height(primary);
  if (const auto size = check_size(width, height); !size) return size.error();
  const int depth = heif_image_handle_get_luma_bits_per_pixel(primary);
  const bool deep = depth > 8;
  const std::uint64_t count = static_cast<std::uint64_t>(width) * static_cast<std::uint64_t>(height);
  if (const auto claim = check_claim(count, bytes.size(), kDensestHeif); !claim) return claim.error();
  Picture picture;
  picture.width_px = width, picture.height_px = height;
  picture.bits = deep ? 16 : 8;
  picture.colour = true;
  picture.jpeg = true;  // coded in blocks too: neighbouring noise is correlated
  read_exif_of(primary, picture);
  picture.orientation = 1;
  // The library holds the coded planes and the colours beside our samples.
  if (const auto room = allocate_samples(picture, bytes.size() + count * (deep ? 12 : 6)); !room)
    return room.error();
  heif_image* decoded = nullptr;
  const auto chroma = deep ? heif_chroma_interleaved_RRGGBB_LE : heif_chroma_interleaved_RGB;
  if (const auto e = heif_decode_image(primary, &decoded, heif_colorspace_RGB, chroma, nullptr);
      e.code != heif_error_Ok)
    return refusal(e);
  const Image image(decoded);
  int stride = 0;
  const std::uint8_t* rows = heif_image_get_plane_readonly(decoded, heif_channel_interleaved, &stride);
  if (!rows || heif_image_get_width(decoded, heif_channel_interleaved) != width ||
      heif_image_get_height(decoded, heif_channel_interleaved) != height)
    return Error{ErrorCode::kFileDamaged, "HEIF: the picture is not of the size its header says"};
  if (deep)
    copy_rows(rows, stride, picture, std::max(0, 16 - depth), channel, picture.grey16);
  else
    copy_rows(rows, stride, picture, 0, channel, picture.grey8);
  return picture;
}

}  // namespace rondure
