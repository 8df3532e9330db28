// A DNG written byte by byte (TIFF 6.0, DNG 1.4 chapter 4, EXIF 2.3): little-endian, one strip.
#include "render/raw_file.hpp"

#include <algorithm>
#include <cmath>
#include <string>

namespace rondure::render {
namespace {

constexpr int kByte = 1, kAscii = 2, kShort = 3, kLong = 4, kRational = 5, kSignedRational = 10;
constexpr double kBlack = 512, kWhite = 16383;
constexpr std::uint32_t kRatioOf = 10000;

void put(std::vector<std::uint8_t>& to, std::uint32_t value, int bytes) {
  for (int i = 0; i < bytes; ++i) to.push_back(static_cast<std::uint8_t>(value >> 8 * i));
}

// One directory with its long values behind it, beginning at `start` in the file. Tags are added in rising order.
class Directory {
public:
  void add(int tag, int type, std::vector<std::uint32_t> values) {
    const bool pairs = type == kRational || type == kSignedRational;
    std::vector<std::uint8_t> bytes;
    for (const std::uint32_t v : values) put(bytes, v, type == kShort ? 2 : type == kLong || pairs ? 4 : 1);
    entries_.push_back(
        {tag, type, static_cast<std::uint32_t>(pairs ? values.size() / 2 : values.size()), bytes});
  }
  void add(int tag, const std::string& text) {
    std::vector<std::uint32_t> values(text.begin(), text.end());
    values.push_back(0);
    add(tag, kAscii, values);
  }
  std::uint32_t size() const {
    std::size_t bytes = 2 + 12 * entries_.size() + 4;
    for (const Entry& e : entries_) bytes += e.bytes.size() > 4 ? e.bytes.size() + e.bytes.size() % 2 : 0;
    return static_cast<std::uint32_t>(bytes);
  }
  void write(std::uint32_t start, std::vector<std::uint8_t>& to) const {
    std::vector<std::uint8_t> behind;
    const auto from = static_cast<std::uint32_t>(start + 2 + 12 * entries_.size() + 4);
    put(to, static_cast<std::uint32_t>(entries_.size()), 2);
    for (const Entry& e : entries_) {
      put(to, static_cast<std::uint32_t>(e.tag), 2), put(to, static_cast<std::uint32_t>(e.type), 2),
          put(to, e.count, 4);
      if (e.bytes.size() > 4) {
        put(to, from + static_cast<std::uint32_t>(behind.size()), 4);
        behind.insert(behind.end(), e.bytes.begin(), e.bytes.end());
        behind.resize(behind.size() + behind.size() % 2);
      } else {
        to.insert(to.end(), e.bytes.begin(), e.bytes.end());
        to.resize(to.size() + 4 - e.bytes.size());
      }
    }
    put(to, 0, 4);
    to.insert(to.end(), behind.begin(), behind.end());
  }

private:
  struct Entry {
    int tag, type;
    std::uint32_t count;
    std::vector<std::uint8_t> bytes;
  };
  std::vector<Entry> entries_;
};

std::vector<std::uint8_t> samples_of(const Image& image, const RawOptions& options) {
  constexpr int kColour[2][2] = {{0, 1}, {1, 2}};
  std::vector<std::uint8_t> bytes;
  for (int y = 0; y < image.height_px; ++y)
    for (int x = 0; x < image.width_px; ++x)
      for (int c = 0; c < 3; ++c) {
        if (options.mosaic && kColour[y % 2][x % 2] != c) continue;
        const auto i = 3 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(image.width_px) + x) + c;
        const double light = image.samples[i] / 65535.0 * options.neutral[static_cast<std::size_t>(c)];
        put(bytes, static_cast<std::uint32_t>(std::lround(kBlack + light * (kWhite - kBlack))), 2);
      }
  return bytes;
}

}  // namespace

std::vector<std::uint8_t> dng_bytes(const Image& image, const RawOptions& options) {
  const auto samples = samples_of(image, options);
  const auto width = static_cast<std::uint32_t>(image.width_px),
             height = static_cast<std::uint32_t>(image.height_px);
  const std::uint32_t colours = options.mosaic ? 1 : 3;
  Directory exif;
  exif.add(0xA405, kShort, {static_cast<std::uint32_t>(options.focal_35mm_mm)});
  const auto main_directory = [&](std::uint32_t exif_at, std::uint32_t strip_at) {
    Directory d;
    d.add(0x00FE, kLong, {0});
    d.add(0x0100, kLong, {width});
    d.add(0x0101, kLong, {height});
    d.add(0x0102, kShort, std::vector<std::uint32_t>(colours, 16));
    d.add(0x0103, kShort, {1});
    d.add(0x0106, kShort, {options.mosaic ? 32803u : 34892u});
    d.add(0x010F, "Drawn");
    d.add(0x0110, "Raw box");
    d.add(0x0111, kLong, {strip_at});
    d.add(0x0112, kShort, {static_cast<std::uint32_t>(options.orientation)});
    d.add(0x0115, kShort, {colours});
    d.add(0x0116, kLong, {height});
    d.add(0x0117, kLong, {static_cast<std::uint32_t>(samples.size())});
    d.add(0x011C, kShort, {1});
    if (options.mosaic) {
      d.add(0x828D, kShort, {2, 2});
      d.add(0x828E, kByte, {0, 1, 1, 2});
    }
    if (options.focal_35mm_mm > 0) d.add(0x8769, kLong, {exif_at});
    d.add(0xC612, kByte, {1, 4, 0, 0});
    d.add(0xC613, kByte, {1, 1, 0, 0});
    d.add(0xC614, "Drawn Raw box");
    d.add(0xC61A, kRational, [&] {
      std::vector<std::uint32_t> levels;
      for (std::uint32_t c = 0; c < colours; ++c)
        levels.insert(levels.end(), {static_cast<std::uint32_t>(kBlack), 1});
      return levels;
    }());
    d.add(0xC61D, kLong, std::vector<std::uint32_t>(colours, static_cast<std::uint32_t>(kWhite)));
    // XYZ to the sensor's colours: as if they were the primaries of IEC 61966-2-1.
    std::vector<std::uint32_t> matrix;
    for (const int v : {32405, -15371, -4985, -9693, 18760, 416, 556, -2040, 10572})
      matrix.insert(matrix.end(), {static_cast<std::uint32_t>(v), kRatioOf});
    d.add(0xC621, kSignedRational, matrix);
    std::vector<std::uint32_t> neutral;
    for (const double n : options.neutral)
      neutral.insert(neutral.end(), {static_cast<std::uint32_t>(std::lround(n * kRatioOf)), kRatioOf});
    d.add(0xC628, kRational, neutral);
    d.add(0xC65A, kShort, {21});  // the light that the matrix is for: D65
    return d;
  };
  constexpr std::uint32_t kStart = 8;
  const std::uint32_t exif_at = kStart + main_directory(0, 0).size(), strip_at = exif_at + exif.size();
  std::vector<std::uint8_t> file = {'I', 'I', 42, 0};
  put(file, kStart, 4);
  main_directory(exif_at, strip_at).write(kStart, file);
  exif.write(exif_at, file);
  file.insert(file.end(), samples.begin(), samples.end());
  return file;
}

}  // namespace rondure::render
