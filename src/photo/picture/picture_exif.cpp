// EXIF 2.3 (CIPA DC-008) is a TIFF structure: an image directory of 12-byte entries, and a sub-directory of
// its own.
#include <algorithm>

#include "photo/picture/picture_decoders.hpp"

namespace rondure {
namespace {

constexpr int kMake = 0x010F, kModel = 0x0110, kOrientation = 0x0112, kExifDirectory = 0x8769,
              kFocal35mm = 0xA405;
constexpr int kAscii = 2, kShort = 3, kLong = 4;

class TiffBlock {
public:
  explicit TiffBlock(Bytes bytes) : bytes_(bytes), big_endian_(bytes.size() > 1 && bytes[0] == 'M') {}

  bool has(std::size_t from, std::size_t count) const {
    return from <= bytes_.size() && count <= bytes_.size() - from;
  }
  std::uint32_t number(std::size_t from, int count) const {
    std::uint32_t value = 0;
    for (int i = 0; i < count; ++i)
      value = value << 8 | bytes_[from + static_cast<std::size_t>(big_endian_ ? i : count - 1 - i)];
    return value;
  }
  std::string text(std::size_t entry) const {
    const std::size_t length = number(entry + 4, 4);
    const std::size_t from = length <= 4 ? entry + 8 : number(entry + 8, 4);
    if (length > 256 || !has(from, length)) return {};
    std::string out(reinterpret_cast<const char*>(bytes_.data()) + from, length);
    out.resize(std::min(out.find('\0'), out.size()));
    out.erase(std::remove_if(out.begin(), out.end(), [](char c) { return c < 32 || c > 126; }), out.end());
    while (!out.empty() && out.back() == ' ') out.pop_back();
    return out;
  }

private:
  Bytes bytes_;
  bool big_endian_;
};

void read_directory(const TiffBlock& block, std::size_t at, Picture& picture, bool main_directory) {
  if (!block.has(at, 2)) return;
  const std::size_t entries = block.number(at, 2);
  for (std::size_t i = 0; i < entries; ++i) {
    const std::size_t entry = at + 2 + 12 * i;
    if (!block.has(entry, 12)) return;
    const auto tag = static_cast<int>(block.number(entry, 2)),
               type = static_cast<int>(block.number(entry + 2, 2));
    if (tag == kMake && type == kAscii) picture.make = block.text(entry);
    if (tag == kModel && type == kAscii) picture.model = block.text(entry);
    if (tag == kOrientation && type == kShort)
      picture.orientation = static_cast<int>(block.number(entry + 8, 2));
    if (tag == kFocal35mm && type == kShort) picture.focal_35mm_mm = block.number(entry + 8, 2);
    if (tag == kExifDirectory && type == kLong && main_directory)
      read_directory(block, block.number(entry + 8, 4), picture, false);
  }
}

}  // namespace

void read_exif(Bytes tiff_block, Picture& picture) {
  if (tiff_block.size() < 14) return;
  const bool intel = tiff_block[0] == 'I' && tiff_block[1] == 'I',
             motorola = tiff_block[0] == 'M' && tiff_block[1] == 'M';
  if (!intel && !motorola) return;
  const TiffBlock block(tiff_block);
  if (block.number(2, 2) != 42) return;
  read_directory(block, block.number(4, 4), picture, true);
}

}  // namespace rondure
