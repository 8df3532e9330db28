// The picture formats behind load_picture. Each decoder leaves the picture as stored; orientation is
// turned later.
#pragma once
#include <cstdint>
#include <span>

#include "rondure/photo/picture.hpp"

namespace rondure {

using Bytes = std::span<const std::uint8_t>;

Result<Picture> decode_jpeg(Bytes bytes, PictureChannel channel);
Result<Picture> decode_png(Bytes bytes, PictureChannel channel);
Result<Picture> decode_tiff(Bytes bytes, PictureChannel channel);
bool is_heif(Bytes bytes);  // by its first bytes
Result<Picture> decode_heif(Bytes bytes, PictureChannel channel);
bool is_raw(Bytes bytes);       // of a camera: by its first bytes, or a TIFF that says so
bool is_raw_tiff(Bytes bytes);  // DNG, or TIFF/EP with a picture behind colour filters
Result<Picture> decode_raw(Bytes bytes, PictureChannel channel);

// Reads make, model, orientation and focal length out of an EXIF block (a small TIFF file; a whole TIFF file serves too);
// damaged ones are ignored. Where no focal length as on 35 mm film is noted, it is worked out of the lens's own and the
// focal plane's resolution, if those are.
void read_exif(Bytes tiff_block, Picture& picture);

// Ignores what no file can mean.
void set_resolution(Picture& picture, double x_px_per_mm, double y_px_per_mm);

// kPictureSize when 0 or more than kMaxPixels.
Result<void> check_size(std::int64_t width_px, std::int64_t height_px);
// Reading takes no more than this, the file's own bytes included.
inline constexpr std::uint64_t kMostMemory_bytes = 1'000'000'000;

// kFileDamaged when the header claims more than the file can hold: a coder that packs `densest` bytes into
// one cannot give so many. Told before anything is allocated.
Result<void> check_claim(std::uint64_t unpacked_bytes, std::size_t file_bytes, std::uint64_t densest);
// Room for the samples. kPictureSize when they, their turned copy where the orientation asks for one, and
// `working_bytes` (the file and what the decoder takes for itself) are more than kMostMemory_bytes.
Result<void> allocate_samples(Picture& picture, std::uint64_t working_bytes);

// One sample out of `channels` (1 grey, 2 grey + alpha, 3 RGB, 4 RGB + alpha).
template <class T>
T grey_of(const T* sample, int channels, PictureChannel channel) {
  if (channels < 3) return sample[0];
  switch (channel) {
    case PictureChannel::kRed:
      return sample[0];
    case PictureChannel::kGreen:
      return sample[1];
    case PictureChannel::kBlue:
      return sample[2];
    case PictureChannel::kLuma:
      break;
  }
  const std::uint64_t sum = 19595ull * sample[0] + 38470ull * sample[1] + 7471ull * sample[2] + 32768ull;
  return static_cast<T>(sum >> 16);
}

}  // namespace rondure
