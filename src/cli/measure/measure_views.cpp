#include "cli/measure/measure_views.hpp"

#include <fmt/format.h>

#include <filesystem>
#include <iostream>

#include "cli/terminal/progress.hpp"
#include "cli/terminal/text_words.hpp"
#include "rondure/core/shown.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure::cli {

void add_views_options(CLI::App& command, ViewsWords& words) {
  command.add_flag(
      "--one-part", words.one_part,
      "all photographs show one part: it and the board stood still, the camera moved (two or more, 15 to "
      "25 degrees apart); heights are found, one answer from all");
}

namespace {

// What each view says by itself, as lines of text.
std::string views_text(const std::vector<ViewOfPart>& views, double joint_diameter_mm,
                       const LengthWords& lengths) {
  std::string text = "each view alone, the height as all have it:\n";
  std::size_t widest = 4;
  for (const ViewOfPart& v : views) widest = std::max(widest, v.name.size());
  for (const ViewOfPart& v : views) {
    if (!v.used || !v.diameter_mm) {
      text += fmt::format("  {:<{}}  left out: {}\n", v.name, widest, v.why_not);
      continue;
    }
    text += fmt::format("  {:<{}}  ", v.name, widest) +
            lengths.sentence(fmt::format("{:.4f} +- {:.4f} mm, {:+.4f} mm from all; middle {:.4f} mm off\n",
                                         v.diameter_mm->value, v.diameter_mm->u,
                                         v.diameter_mm->value - joint_diameter_mm, v.shift_mm.norm()));
  }
  return text;
}

}  // namespace

int run_views(const ViewsWords& words, const std::vector<std::string>& photos, const CommonOptions& common,
              const PhotoOptions& prepared, const std::string& calibration) {
  auto measured = measure_one_part(photos, prepared);
  if (!measured) return report_error(measured.error());
  std::vector<Feature>& features = measured->measured.features;
  std::string used;
  for (const ViewOfPart& v : measured->views)
    if (v.used && used.empty()) used = v.name;
  const LengthWords lengths(text_options(common.unit).unit);
  const double joint_mm = features.front().circle->diameter_mm;
  const std::string each = views_text(measured->views, joint_mm, lengths);
  for (Feature& f : features) {
    f.source.file = used;
    f.source.calibration = calibration.empty() ? measured->calibration : calibration;
  }
  for (const ViewOfPart& v : measured->views)
    if (v.used && v.diameter_mm)
      features.front().warnings.push_back(
          {"view", fmt::format("{}: {:.4f} +- {:.4f} mm by itself, its middle {:.4f} mm from that of all",
                               v.name, v.diameter_mm->value, v.diameter_mm->u, v.shift_mm.norm())});
  std::vector<std::string> drawn;
  if (!words.overlay.empty())
    for (std::size_t v = 0; v < photos.size(); ++v) {
      const auto picture = load_picture(photos[v], prepared.channel);
      if (!picture) return report_error(picture.error());
      const auto bytes = overlay_png(*picture, measured->outlines[v]);
      const std::filesystem::path wanted(words.overlay);
      drawn.push_back((wanted.parent_path() / (wanted.stem().string() + "-" +
                                               std::filesystem::path(photos[v]).stem().string() + ".png"))
                          .string());
      if (const auto written = write_file_atomically(drawn.back(), std::string(bytes.begin(), bytes.end()));
          !written)
        return report_error(written.error());
    }
  if (const int delivered = deliver(features, common, words.all); delivered != kDone) return delivered;
  if (!common.quiet && common.json != "-") {
    std::cout << each;
    for (const LineOnBoard& line : measured->on_the_board)
      std::cout << lengths.sentence(fmt::format("not the part: {} of {:.2f} mm, lies on the board\n",
                                                line.called, line.circle.diameter_mm()));
    for (const std::string& file : drawn) std::cout << "drawn on the photograph: " << file << '\n';
  }
  return finish_output();
}

}  // namespace rondure::cli
