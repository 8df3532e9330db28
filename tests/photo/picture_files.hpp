// Small picture files made by the format libraries themselves, for the loading tests.
#pragma once
#include <cstdint>
#include <functional>
#include <string>
#include <vector>

namespace rondure::test {

// Colour of a pixel, 0 ... 65535 a channel.
struct Rgb {
  std::uint16_t r = 0, g = 0, b = 0;
};
using Painter = std::function<Rgb(int x, int y)>;

struct FileOptions {
  int width = 40, height = 24, bits = 8;
  bool colour = true;
  bool interlaced = false;   // PNG
  bool tiled = false;        // TIFF
  bool separate = false;     // TIFF: one plane a channel
  int quality = 95;          // JPEG
  bool progressive = false;  // JPEG
  int x_dpi = 0, y_dpi = 0;  // stated resolution; 0 = none
  int exif_orientation = 0;  // JPEG and TIFF; 0 = not said
  int focal_35mm_mm = 0;     // EXIF, every form; 0 = not said
};

std::vector<std::uint8_t> png_file(const Painter& paint, const FileOptions& options);
std::vector<std::uint8_t> jpeg_file(const Painter& paint, const FileOptions& options);
std::vector<std::uint8_t> tiff_file(const Painter& paint, const FileOptions& options);
// Lossless HEIC; empty where the library on this machine cannot write one.
std::vector<std::uint8_t> heic_file(const Painter& paint, const FileOptions& options);

// A folder of this test run's own, removed when it goes out of scope.
class ScratchFolder {
public:
  ScratchFolder();
  ~ScratchFolder();
  std::string file(const std::string& name) const { return path_ + "/" + name; }
  std::string write(const std::string& name, const std::vector<std::uint8_t>& bytes) const;

private:
  std::string path_;
};

}  // namespace rondure::test
