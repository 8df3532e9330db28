// JPEG through libjpeg(-turbo). Luma is decoded alone: the colour planes are neither inverse-transformed nor
// upsampled.
#include <csetjmp>
#include <cstdio>
// clang-format off: jpeglib.h needs <cstdio> first
#include <jerror.h>
#include <jpeglib.h>
// clang-format on
#include <algorithm>
#include <cstring>

#include "photo/picture/picture_decoders.hpp"
#include "rondure/core/geometry.hpp"

namespace rondure {
namespace {

// At least a bit for every 8 x 8 block of the finest component (its direct-current coefficient, ITU-T T.81
// F.1.2).
constexpr std::uint64_t kDensestJpeg = 512;
constexpr int kMaxScans = 500;  // a progressive file of endless scans is an attack, not a photograph

// libjpeg leaves through these instead of exit(); nothing with a destructor lives between setjmp and here.
struct JpegReader {
  jpeg_decompress_struct info{};
  jpeg_error_mgr errors{};
  jpeg_progress_mgr progress{};
  std::jmp_buf jump{};
  char message[JMSG_LENGTH_MAX] = {};
  bool damaged = false, header_read = false;
};

[[noreturn]] void fail(j_common_ptr info) {
  auto& reader = *static_cast<JpegReader*>(info->client_data);
  (*info->err->format_message)(info, reader.message);
  std::longjmp(reader.jump, 1);
}

// Warnings: missing or corrupt data must not pass as grey pixels; stray bytes between markers are harmless.
void note_warning(j_common_ptr info, int level) {
  if (level >= 0) return;
  const int code = info->err->msg_code;
  if (code == JWRN_JPEG_EOF || code == JWRN_HIT_MARKER || code == JWRN_HUFF_BAD_CODE) {
    static_cast<JpegReader*>(info->client_data)->damaged = true;
    fail(info);
  }
}

void watch_scans(j_common_ptr info) {
  if (!info->is_decompressor) return;
  const auto* decompress = reinterpret_cast<j_decompress_ptr>(info);
  if (decompress->input_scan_number > kMaxScans) ERREXIT(info, JERR_BAD_PROGRESSION);
}

struct Destroyer {
  JpegReader* reader;
  ~Destroyer() { jpeg_destroy_decompress(&reader->info); }
};

// Header into reader.info; false when libjpeg refused.
bool open_jpeg(JpegReader& reader, Bytes bytes) {
  if (setjmp(reader.jump)) return false;
  jpeg_create_decompress(&reader.info);
  reader.info.client_data = &reader;
  reader.progress.progress_monitor = watch_scans;
  reader.info.progress = &reader.progress;
  jpeg_mem_src(&reader.info, bytes.data(), static_cast<unsigned long>(bytes.size()));
  jpeg_save_markers(&reader.info, JPEG_APP0 + 1, 0xFFFF);
  jpeg_read_header(&reader.info, TRUE);
  reader.header_read = true;
  return true;
}

// A later scan may bring a table of its own: the one last in force.
void read_steps(const jpeg_decompress_struct& info, std::uint16_t* steps) {
  const JQUANT_TBL* table = info.comp_info[0].quant_table;
  if (table) std::copy(std::begin(table->quantval), std::end(table->quantval), steps);
}

// All rows into `samples`, the first component's quantisation into `steps`; `row` holds one row of colour
// when more than one component comes out.
bool read_rows(JpegReader& reader, std::uint8_t* samples, std::uint8_t* row, std::uint16_t* steps,
               PictureChannel channel, bool cmyk) {
  if (setjmp(reader.jump)) return false;
  auto& info = reader.info;
  jpeg_start_decompress(&info);
  const std::size_t width = info.output_width;
  while (info.output_scanline < info.output_height) {
    std::uint8_t* out = samples + info.output_scanline * width;
    const int components = info.output_components;
    JSAMPROW target = components == 1 ? out : row;
    jpeg_read_scanlines(&info, &target, 1);
    if (components == 1) continue;
    for (std::size_t x = 0; x < width; ++x) {
      const std::uint8_t* s = row + x * static_cast<std::size_t>(components);
      if (!cmyk) {
        out[x] = grey_of(s, components, channel);
      } else {  // inverted CMYK as picture programs write it: light = ink complement times black complement
        const std::uint8_t rgb[3] = {static_cast<std::uint8_t>(s[0] * s[3] / 255),
                                     static_cast<std::uint8_t>(s[1] * s[3] / 255),
                                     static_cast<std::uint8_t>(s[2] * s[3] / 255)};
        out[x] = grey_of(rgb, 3, channel);
      }
    }
  }
  read_steps(info, steps);  // they go with the next line
  jpeg_finish_decompress(&info);
  return true;
}

void read_markers(const jpeg_decompress_struct& info, Picture& picture) {
  constexpr char kExif[] = "Exif\0";  // six bytes with the closing zero
  for (auto* marker = info.marker_list; marker; marker = marker->next)
    if (marker->marker == JPEG_APP0 + 1 && marker->data_length > 6 &&
        std::memcmp(marker->data, kExif, 6) == 0)
      read_exif(Bytes(marker->data + 6, marker->data_length - 6), picture);
}

Error refusal(const JpegReader& reader) {
  if (reader.errors.msg_code == JERR_NO_BACKING_STORE || reader.errors.msg_code == JERR_OUT_OF_MEMORY)
    return {ErrorCode::kPictureSize,
            "it takes more than " + std::to_string(kMostMemory_bytes / 1'000'000) + " MB of memory to read"};
  if (reader.errors.msg_code == JERR_IMAGE_TOO_BIG || reader.errors.msg_code == JERR_EMPTY_IMAGE)
    return {ErrorCode::kPictureSize, std::string("JPEG header: ") + reader.message};
  if (reader.damaged || reader.header_read)
    return {ErrorCode::kFileDamaged, std::string("JPEG data, row ") +
                                         std::to_string(reader.info.output_scanline) + " of " +
                                         std::to_string(reader.info.image_height) + ": " + reader.message};
  return {ErrorCode::kNotAPicture, std::string("JPEG header: ") + reader.message};
}

}  // namespace

Result<Picture> decode_jpeg(Bytes bytes, PictureChannel channel) {
  JpegReader reader;
  reader.info.err = jpeg_std_error(&reader.errors);
  reader.info.client_data = &reader;
  reader.errors.error_exit = fail;
  reader.errors.emit_message = note_warning;
  const Destroyer destroyer{&reader};
  if (!open_jpeg(reader, bytes)) return refusal(reader);
  auto& info = reader.info;
  if (const auto size = check_size(info.image_width, info.image_height); !size) return size.error();
  if (const auto claim =
          check_claim(std::uint64_t{info.image_width} * info.image_height, bytes.size(), kDensestJpeg);
      !claim)
    return claim.error();
  const bool cmyk = info.jpeg_color_space == JCS_CMYK || info.jpeg_color_space == JCS_YCCK;
  const bool colour = info.jpeg_color_space != JCS_GRAYSCALE;
  if (cmyk)
    info.out_color_space = JCS_CMYK;
  else
    info.out_color_space = !colour || channel == PictureChannel::kLuma ? JCS_GRAYSCALE : JCS_RGB;
  info.dct_method = JDCT_ISLOW;  // exact; the fast transform is off by a grey level here and there

  Picture picture;
  picture.width_px = static_cast<int>(info.image_width);
  picture.height_px = static_cast<int>(info.image_height);
  picture.colour = colour;
  picture.jpeg = true;
  read_markers(info, picture);
  if (info.saw_JFIF_marker && info.density_unit != 0) {  // 1: per inch, 2: per cm
    const double unit_mm = info.density_unit == 1 ? kMmPerInch : 10;
    set_resolution(picture, info.X_density / unit_mm, info.Y_density / unit_mm);
  }
  if (const auto room = allocate_samples(picture, bytes.size()); !room) return room.error();
  // what is left is the library's: a progressive file keeps all its coefficients
  const std::uint64_t copies = picture.orientation >= 2 ? 2 : 1;
  info.mem->max_memory_to_use = static_cast<long>(kMostMemory_bytes - copies * picture.grey8.size());
  std::vector<std::uint8_t> row(4 * static_cast<std::size_t>(picture.width_px));
  if (!read_rows(reader, picture.grey8.data(), row.data(), picture.jpeg_steps.data(), channel, cmyk))
    return refusal(reader);
  return picture;
}

}  // namespace rondure
