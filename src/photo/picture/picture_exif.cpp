// EXIF 2.3 (CIPA DC-008) is a TIFF structure: an image directory of 12-byte entries, and a sub-directory of
// its own. Camera raw files (DNG 1.4, TIFF/EP) are such a structure as a whole.
// The reader stays ours: it needs five entries, serves JPEG, PNG, TIFF, HEIF and raw from the same bytes, and every
// offset is checked here (fuzzed); a library would be one more thing to install, for a list of all the entries there are.
#include <algorithm>
#include <cmath>
#include <vector>

#include "photo/picture/picture_decoders.hpp"
#include "photo/picture/tiff_block.hpp"
#include "rondure/core/geometry.hpp"

namespace rondure {
namespace {

// Tags of TIFF, EXIF and DNG, and TIFF's types, as these standards number them.
constexpr int kPhotometric = 0x0106, kMake = 0x010F, kModel = 0x0110, kOrientation = 0x0112,
              kSubDirectories = 0x014A, kExifDirectory = 0x8769, kFocalLength = 0x920A,
              kPixelsAcross = 0xA002, kPixelsDown = 0xA003, kFocalPlaneX = 0xA20E, kFocalPlaneUnit = 0xA210,
              kFocal35mm = 0xA405, kDngVersion = 0xC612;
constexpr int kAscii = 2, kShort = 3, kLong = 4, kRational = 5, kDirectory = 13;  // of a field
constexpr std::uint32_t kColourFilters = 32803,
                        kLinearRaw = 34892;  // photometric interpretations of raw pictures
constexpr std::size_t kMostDirectories = 32;
constexpr double kFilmDiagonal_mm = 43.27;  // of 24 mm x 36 mm

// What the picture's EXIF says of its focal length besides the figure for 35 mm film: how many pixels of the sensor go on a
// length, so that the focal length is known in pixels.
struct FocalPlane {
  double focal_mm = 0, pixels_a_unit = 0, unit_mm = kMmPerInch;  // EXIF's default unit is the inch
  double across_px = 0, down_px = 0;

  double as_on_35mm() const {
    const double diagonal_px = std::hypot(across_px, down_px);
    if (!(focal_mm > 0) || !(pixels_a_unit > 0) || !(across_px > 0) || !(down_px > 0)) return 0;
    return focal_mm * pixels_a_unit / unit_mm / diagonal_px * kFilmDiagonal_mm;
  }
};

double unit_of(std::uint32_t code) {
  switch (code) {
    case 3:
      return 10;
    case 4:
      return 1;
    case 5:
      return 0.001;
    default:
      return kMmPerInch;
  }
}

void read_directory(const TiffBlock& block, std::size_t at, Picture& picture, FocalPlane& plane,
                    bool main_directory) {
  block.directory(at, [&](std::size_t entry, int tag, int type) {
    const auto whole = [&] { return block.number(entry + 8, type == kShort ? 2 : 4); };
    const bool is_whole = type == kShort || type == kLong;
    if (tag == kMake && type == kAscii) picture.make = block.text(entry);
    if (tag == kModel && type == kAscii) picture.model = block.text(entry);
    if (tag == kOrientation && type == kShort) picture.orientation = static_cast<int>(whole());
    if (tag == kFocal35mm && type == kShort) picture.focal_35mm_mm = whole();
    if (tag == kFocalLength && type == kRational) plane.focal_mm = block.rational(entry);
    if (tag == kFocalPlaneX && type == kRational) plane.pixels_a_unit = block.rational(entry);
    if (tag == kFocalPlaneUnit && type == kShort) plane.unit_mm = unit_of(whole());
    if (tag == kPixelsAcross && is_whole) plane.across_px = whole();
    if (tag == kPixelsDown && is_whole) plane.down_px = whole();
    if (tag == kExifDirectory && (type == kLong || type == kDirectory) && main_directory)
      read_directory(block, whole(), picture, plane, false);
  });
}

}  // namespace

void read_exif(Bytes tiff_block, Picture& picture) {
  const TiffBlock block(tiff_block);
  if (!block.is_tiff()) return;
  FocalPlane plane;
  read_directory(block, block.number(4, 4), picture, plane, true);
  if (!(picture.focal_35mm_mm > 0)) picture.focal_35mm_mm = plane.as_on_35mm();
}

bool is_raw_tiff(Bytes bytes) {
  const TiffBlock block(bytes);
  if (!block.is_tiff()) return false;
  if (bytes[8] == 'C' && bytes[9] == 'R') return true;  // a raw file whose directories do not say so
  std::vector<std::size_t> directories = {block.number(4, 4)};
  bool raw = false;
  for (std::size_t i = 0; i < directories.size() && !raw; ++i) {
    const auto note = [&](std::size_t at) {
      if (at > 0 && directories.size() < kMostDirectories) directories.push_back(at);
    };
    note(block.directory(directories[i], [&](std::size_t entry, int tag, int type) {
      const std::uint32_t value = type == kShort ? block.number(entry + 8, 2) : block.number(entry + 8, 4);
      raw = raw || tag == kDngVersion ||
            (tag == kPhotometric && (value == kColourFilters || value == kLinearRaw));
      if (tag != kSubDirectories || (type != kLong && type != kDirectory)) return;
      const std::size_t count = block.number(entry + 4, 4);
      if (count == 1) return note(value);
      for (std::size_t k = 0; k < std::min(count, kMostDirectories); ++k)
        if (block.has(value + 4 * k, 4)) note(block.number(value + 4 * k, 4));
    }));
  }
  return raw;
}

}  // namespace rondure
