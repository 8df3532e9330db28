// Pictures from bytes (PNG, JPEG, TIFF, HEIF, camera raw): a whole picture or a refusal.
#include <cstdint>
#include <cstdlib>
#include <span>

#include "rondure/photo/picture.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto picture = rondure::decode_picture(std::span<const std::uint8_t>(data, size));
  if (!picture) {
    if (picture.error().message().find('\n') != std::string::npos) std::abort();
    return 0;
  }
  const auto pixels = std::size_t(picture->width_px) * std::size_t(picture->height_px);
  if (pixels == 0 || (picture->bits == 8 ? picture->grey8.size() : picture->grey16.size()) != pixels)
    std::abort();
  return 0;
}
