// What a camera's sensor read, before any tone curve: DNG and the raw files of cameras, unpacked by libraw. Black level and
// white balance are taken off, colours between the sensor's filters come from their nearest neighbours (bilinear: the same
// weights everywhere, so that no edge moves), and nothing else: no curve, no sharpening, no noise filter, no correction of
// the lens. Colours stay the sensor's own.
#include <libraw/libraw.h>

#include <algorithm>
#include <array>
#include <memory>

#include "photo/picture/decoded_apart.hpp"
#include "photo/picture/picture_decoders.hpp"
#include "photo/picture/tiff_block.hpp"

namespace rondure {
namespace {

// Deflate packs 1032 bytes into one, the densest of what raw files use.
constexpr std::uint64_t kDensestRaw = 1032;
// The library's own samples (2 bytes) and its picture of four channels (8).
constexpr std::uint64_t kWorking_bytes = 10;

// Of its flip, three bits: mirrored across, mirrored down, axes exchanged.
constexpr std::array<int, 8> kOrientationOfFlip = {1, 2, 4, 3, 5, 8, 6, 7};

Error refusal(int code) {
  if (code == LIBRAW_UNSUFFICIENT_MEMORY || code == LIBRAW_TOO_BIG)
    return {ErrorCode::kPictureSize, "not enough memory for it"};
  if (code == LIBRAW_FILE_UNSUPPORTED || code == LIBRAW_NOT_IMPLEMENTED)
    return {ErrorCode::kNotAPicture, "camera raw of a kind that is not known"};
  if (code == LIBRAW_IO_ERROR || code == LIBRAW_DATA_ERROR)
    return {ErrorCode::kFileDamaged,
            "camera raw: it ends too early, or its bytes are not what its head says"};
  return {ErrorCode::kFileDamaged, std::string("camera raw: ") + LibRaw::strerror(code)};
}

void ask_for_plain_light(libraw_output_params_t& ask) {
  ask.gamm[0] = ask.gamm[1] = 1;
  ask.no_auto_bright = 1, ask.adjust_maximum_thr = 0;
  ask.output_bps = 16, ask.output_color = 0;
  ask.use_camera_wb = 1;
  ask.user_qual = 0;  // bilinear
  ask.highlight = 0;  // a channel at its end is at full scale, whatever the others read
  ask.use_rawspeed = 0;
  ask.max_raw_memory_mb = static_cast<unsigned>(kMostMemory_bytes / 1'000'000);
}

void note_damage(void* damaged, const char*, int) { *static_cast<bool*>(damaged) = true; }

// What the file says of itself in the manner of EXIF, or else what the library read.
void read_notes(Bytes bytes, const libraw_data_t& raw, Picture& picture) {
  read_exif(bytes, picture);
  if (picture.make.empty()) picture.make = raw.idata.make;
  if (picture.model.empty()) picture.model = raw.idata.model;
  if (!(picture.focal_35mm_mm > 0)) picture.focal_35mm_mm = raw.lens.FocalLengthIn35mmFormat;
  picture.orientation = raw.sizes.flip >= 0 && raw.sizes.flip < 8
                            ? kOrientationOfFlip[static_cast<std::size_t>(raw.sizes.flip)]
                            : 1;
}

Result<Picture> decode_here(Bytes bytes, PictureChannel channel);

}  // namespace

bool is_raw(Bytes bytes) {
  constexpr std::array<std::uint8_t, 4> kFirst[] = {
      {'I', 'I', 'U', 0}, {'I', 'I', 'R', 'O'}, {'I', 'I', 'R', 'S'}, {'M', 'M', 'O', 'R'},
      {0, 'M', 'R', 'M'}, {'F', 'U', 'J', 'I'}, {'F', 'O', 'V', 'b'}};
  constexpr std::array<std::uint8_t, 8> kBoxes = {'f', 't', 'y', 'p', 'c', 'r', 'x', ' '};
  if (bytes.size() < 12) return false;
  const auto head = bytes.first(4);
  if (std::ranges::any_of(kFirst, [&](const auto& first) { return std::ranges::equal(first, head); }))
    return true;
  if (std::ranges::equal(bytes.subspan(4, 8), kBoxes)) return true;
  return is_raw_tiff(bytes);
}

Result<Picture> decode_raw(Bytes bytes, PictureChannel channel) {
  return decoded_apart([&] { return decode_here(bytes, channel); });
}

namespace {

Result<Picture> decode_here(Bytes bytes, PictureChannel channel) {
  const auto raw = std::make_unique<LibRaw>(LIBRAW_OPTIONS_NONE);
  bool damaged = false;
  raw->set_dataerror_handler(note_damage, &damaged);
  ask_for_plain_light(raw->imgdata.params);
  // Read only: the library's interface lacks the word.
  if (const int code = raw->open_buffer(const_cast<std::uint8_t*>(bytes.data()), bytes.size());
      code != LIBRAW_SUCCESS)
    return refusal(code);
  const auto& sizes = raw->imgdata.sizes;
  if (const auto size = check_size(sizes.raw_width, sizes.raw_height); !size) return size.error();
  if (const auto size = check_size(sizes.iwidth, sizes.iheight); !size) return size.error();
  const std::uint64_t sensor = std::uint64_t{sizes.raw_width} * sizes.raw_height;
  if (const auto claim = check_claim(sensor, bytes.size(), kDensestRaw); !claim) return claim.error();
  Picture picture;
  picture.width_px = sizes.iwidth, picture.height_px = sizes.iheight;
  picture.bits = 16;
  picture.linear_light = true;
  picture.colour = raw->imgdata.idata.colors > 1;
  read_notes(bytes, raw->imgdata, picture);
  if (const auto room = allocate_samples(picture, bytes.size() + kWorking_bytes * sensor); !room)
    return room.error();
  int code = raw->unpack();
  if (code == LIBRAW_SUCCESS && damaged) code = LIBRAW_IO_ERROR;
  if (code == LIBRAW_SUCCESS) code = raw->dcraw_process();
  if (code != LIBRAW_SUCCESS) return refusal(code);
  // A sensor read askew is turned by the library and has another size then.
  picture.width_px = sizes.iwidth, picture.height_px = sizes.iheight;
  if (const auto room = allocate_samples(picture, bytes.size() + kWorking_bytes * sensor); !room)
    return room.error();
  const int channels = raw->imgdata.idata.colors >= 3 ? 3 : 1;
  for (std::size_t i = 0; i < picture.grey16.size(); ++i)
    picture.grey16[i] = grey_of(raw->imgdata.image[i], channels, channel);
  return picture;
}

}  // namespace
}  // namespace rondure
