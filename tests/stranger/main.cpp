// Measures a photograph and a file of readings with the installed library and prints what the program prints.
// Usage: stranger PHOTO READINGS.csv
#include <cstdio>
#include <fstream>
#include <iterator>
#include <rondure/measure/measure_photo.hpp>
#include <rondure/measure/measure_readings.hpp>
#include <rondure/report/feature_text.hpp>
#include <string>

namespace {

// A 9 x 6 board with squares of 5 mm lies in the picture, the rim 6 mm above it.
bool photograph(const std::string& file) {
  rondure::PhotoOptions options;
  options.board = rondure::BoardSize{9, 6, 5.0};
  options.height_mm = {6.0, 0};
  auto measured = rondure::measure_photo(file, options);
  if (!measured) return std::puts(measured.error().message().c_str()), false;
  for (rondure::Feature& feature : measured->features) feature.source.file = file;
  std::fputs(rondure::features_text(measured->features).c_str(), stdout);
  return true;
}

// Comparator readings of an arc, each known to 0.0002 in.
bool readings(const std::string& file) {
  std::ifstream in(file, std::ios::binary);
  const std::string text(std::istreambuf_iterator<char>(in), {});
  rondure::ReadingsOptions options;
  options.outline.sigma_mm = 0.0002 * rondure::kMmPerInch;
  auto feature = rondure::measure_readings(text, options);
  if (!feature) return std::puts(feature.error().message().c_str()), false;
  feature->name = feature->kind.word();
  feature->source.file = file;
  std::fputs(rondure::features_text({*feature}).c_str(), stdout);
  return true;
}

}  // namespace

int main(int count, char** arguments) {
  if (count != 3) return std::puts("needed: stranger PHOTO READINGS.csv"), 2;
  return photograph(arguments[1]) && readings(arguments[2]) ? 0 : 1;
}
