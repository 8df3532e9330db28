#include "cli/measure/measure_turned.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <iostream>

#include "cli/terminal/text_words.hpp"
#include "rondure/core/length.hpp"
#include "rondure/measure/measure_turned.hpp"

namespace rondure::cli {
namespace {

Result<std::vector<double>> angles_of(const std::string& text) {
  std::vector<double> angles;
  std::size_t from = 0;
  while (from <= text.size() && !text.empty()) {
    const std::size_t to = std::min(text.find_first_of(",;", from), text.size());
    const auto angle = parse_number(text.substr(from, to - from));
    if (!angle || std::abs(*angle) > 3600)
      return Error{
          ErrorCode::kBadArgument,
          "--turned: found '" + text + "', needed an angle a picture in degrees, such as 0,72,144,216,288"};
    angles.push_back(*angle);
    from = to + 1;
  }
  return angles;
}

}  // namespace

void add_turned_option(CLI::App& command, TurnedWords& words) {
  command
      .add_option_function<std::vector<std::string>>(
          "--turned",
          [&words](const std::vector<std::string>& values) {
            words.given = true;
            if (!values.empty()) words.angles = values.front();
          },
          "all photographs show one part that was turned about its axis between them, by these angles "
          "(degrees "
          "counter-clockwise as seen, the first 0) or as its marks say: what turns is the part's, what stays "
          "the picture's")
      ->expected(0, 1)
      ->allow_extra_args(false)  // the photographs behind it are not its angles
      ->trigger_on_parse()
      ->type_name("ANGLES");
}

void give_back_photo(TurnedWords& words, std::vector<std::string>& photos) {
  std::error_code ignored;
  if (words.angles.empty() || !std::filesystem::exists(words.angles, ignored)) return;
  photos.insert(photos.begin(), words.angles);
  words.angles.clear();
}

int run_turned(const TurnedWords& words, const std::vector<std::string>& photos, const CommonOptions& common,
               const PhotoOptions& prepared, const std::string& calibration, bool all_figures) {
  const auto angles = angles_of(words.angles);
  if (!angles) return report_error(angles.error());
  auto turned = measure_turned(photos, prepared, *angles);
  if (!turned) return report_error(turned.error());
  if (!calibration.empty()) turned->feature.source.calibration = calibration;
  if (const int delivered = deliver({turned->feature}, common, all_figures); delivered != kDone)
    return delivered;
  if (!common.quiet && common.json != "-") {
    std::size_t widest = 4;
    for (const TurnedPicture& p : turned->pictures) widest = std::max(widest, p.name.size());
    std::cout << (turned->angles_found ? "each picture alone, its angle found by the part's marks:\n"
                                       : "each picture alone, its angle as given:\n");
    const LengthWords lengths(text_options(common.unit).unit);
    for (const TurnedPicture& p : turned->pictures)
      std::cout << fmt::format("  {:<{}}  turned {:6.1f} deg  ", p.name, widest, p.angle_deg)
                << lengths.sentence(
                       fmt::format("{:.4f} mm, oval by {:.4f} mm\n", p.diameter_mm, p.ovality_mm));
    for (const TurnedHarmonic& h : turned->harmonics)
      if (h.divided && h.upr > 2 && std::max(h.part_mm, h.picture_mm) > 3 * h.u_part_mm)
        std::cout << lengths.sentence(
            fmt::format("  {} lobes: {:.4f} +- {:.4f} mm turn with the part, {:.4f} mm stay (amplitude)\n",
                        h.upr, h.part_mm, h.u_part_mm, h.picture_mm));
  }
  return finish_output();
}

}  // namespace rondure::cli
