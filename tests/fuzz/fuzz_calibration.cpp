// Calibration files of a camera, a plane or a scale, of a printed board and of a scanner: whatever is accepted is
// written again as the same file; a plane takes a pixel to a finite place or says that it cannot.
#include <cmath>
#include <cstdint>
#include <string>

#include "must.hpp"
#include "rondure/photo/board_print_file.hpp"
#include "rondure/photo/calibration.hpp"
#include "rondure/photo/scan.hpp"

using namespace rondure;

namespace {

template <class Parse>
auto read_back(const std::string& text, Parse parse) {
  const auto read = parse(text);
  if (!read) {
    must(!read.error().detail.empty() && read.error().message().find('\n') == std::string::npos);
    return read;
  }
  const std::string written = to_json(*read);
  const auto again = parse(written);
  must(again && to_json(*again) == written);
  return read;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  const bool print = read_back(text, parse_board_print).has_value(),
             scanner = read_back(text, parse_scanner).has_value();
  const auto calibration = read_back(text, parse_calibration);
  must(print + scanner + calibration.has_value() <= 1);  // a file is of one kind
  if (!calibration) return 0;
  must(calibration->camera.has_value() != calibration->plane.has_value());
  if (calibration->plane)
    if (const auto part = part_from_pixel(*calibration->plane, {10, 20}))
      must(std::isfinite(part->x_mm) && std::isfinite(part->y_mm));
  return 0;
}
