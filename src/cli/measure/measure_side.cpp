#include "cli/measure/measure_side.hpp"

#include <fmt/format.h>

#include "cli/deliver/deliver_profile.hpp"
#include "cli/deliver/side_features.hpp"
#include "cli/measure/measure_outlines.hpp"
#include "cli/terminal/text_words.hpp"
#include "rondure/photo/overlay.hpp"
#include "rondure/profile/several_views.hpp"

namespace rondure::cli {
namespace {

Result<std::vector<std::string>> parse_names(const std::string& text) {
  std::vector<std::string> names;
  std::size_t from = 0;
  while (from < text.size()) {
    std::size_t to = text.find(',', from);
    if (to == std::string::npos) to = text.size();
    std::string name = text.substr(from, to - from);
    const std::size_t first = name.find_first_not_of(" \t"), last = name.find_last_not_of(" \t");
    if (first == std::string::npos)
      return Error{ErrorCode::kBadArgument,
                   "--profile: found an empty name, needed a list such as flange,crown,flange"};
    names.push_back(name.substr(first, last - first + 1));
    from = to + 1;
  }
  return names;
}

Result<std::optional<double>> parse_axis(const std::string& text) {
  if (text.empty()) return std::optional<double>{};
  const auto angle = parse_number(text);
  if (!angle || !(*angle >= 0 && *angle < 180))
    return Error{ErrorCode::kBadArgument,
                 "--axis: found '" + text + "', needed degrees from 0 (left to right) to 180"};
  return std::optional<double>(*angle);
}

Result<void> draw(const Picture& picture, const SideView& side, const std::string& file) {
  OverlayOutline drawn;
  drawn.label = "side view";
  for (const SideOutlinePoint& p : side.outline.points) drawn.outline.push_back(p.pixel);
  drawn.points = drawn.outline;
  const auto bytes = overlay_png(picture, {drawn});
  return write_file_atomically(file, std::string(bytes.begin(), bytes.end()));
}

}  // namespace

void add_side_options(CLI::App& command, SideWords& words) {
  command.add_flag(
      "--side", words.asked,
      "the part lies on its side, seen square to its axis: profile, widths, crown, flanges (several "
      "photographs: the part turned about its own axis in between)");
  command
      .add_option("--profile", words.profile,
                  "names of the surfaces of a side view, left to right, e.g. flange,crown,flange")
      ->type_name("NAME,NAME...");
  command
      .add_option("--axis", words.axis,
                  "direction of a side view's axis in the picture, degrees (0 = left to right, 90 = upright)")
      ->type_name("DEG");
  command
      .add_option(
          "--distance", words.distance,
          "camera to the axis of a side view, where --scale alone is given; the scale holds at the axis")
      ->type_name("LENGTH");
}

namespace {

struct SidePicture {
  NamedView view;
  std::string calibration;
  int points = 0;
};

Result<SidePicture> measure_one(const std::string& photo, const std::string& overlay, const SideRun& asked) {
  const auto picture = load_picture(photo, asked.channel);
  if (!picture) return picture.error();
  const auto plane = asked.plane_of(*picture);
  if (!plane) {
    if (!asked.outlines.empty()) (void)write_corners_seen(asked.outlines, *picture);
    return Error{plane.error().code, photo + ": " + plane.error().detail};
  }
  auto side = measure_side(*picture, *plane, asked.options);
  if (!side) return Error{side.error().code, photo + ": " + side.error().detail};
  if (!overlay.empty())
    if (const auto drawn = draw(*picture, *side, overlay); !drawn) return drawn.error();
  if (!asked.outlines.empty())
    if (const auto written = write_side_outline(asked.outlines, *picture, side->outline); !written)
      return written.error();
  return SidePicture{
      {photo, std::move(side->profile)}, plane->description, static_cast<int>(side->outline.points.size())};
}

Result<void> read_words(const SideWords& words, const CommonOptions& common, SideViewOptions& options) {
  auto names = parse_names(words.profile);
  if (!names) return names.error();
  const auto axis = parse_axis(words.axis);
  if (!axis) return axis.error();
  options.names = std::move(*names), options.axis_deg = *axis;
  if (words.distance.empty()) return {};
  const auto distance = parse_length_mm(words.distance, bare_unit(common));
  if (!distance || !(*distance >= 20))
    return Error{ErrorCode::kBadArgument,
                 "--distance: found '" + words.distance + "', needed a length of 20 mm or more"};
  options.distance_mm = *distance;
  return {};
}

}  // namespace

int run_side(const SideWords& words, const std::vector<std::string>& photos, const CommonOptions& common,
             SideRun asked, const std::function<std::string(const std::string&)>& overlay_of) {
  if (const auto ok = read_words(words, common, asked.options); !ok) return report_error(ok.error());
  std::vector<NamedView> views;
  std::string calibration;
  int points = 0;
  for (const std::string& photo : photos) {
    auto one = measure_one(photo, overlay_of(photo), asked);
    if (!one) return report_error(one.error());
    views.push_back(std::move(one->view));
    calibration = one->calibration, points += one->points;
  }
  const auto all = combine_views(views);
  if (!all) return report_error(all.error());
  std::vector<Feature> features = features_of(all->profile);
  for (Feature& f : features) {
    f.source.type = SourceType::kPhoto, f.source.calibration = calibration, f.source.time = now_utc();
    for (const std::string& file : all->used) f.source.file += (f.source.file.empty() ? "" : ", ") + file;
    if (all->used.size() == 1) f.source.sha256 = sha256_of_file(all->used[0]).value_or("");
    f.points.count = f.points.used = points;
  }
  return deliver_profile(std::move(features), all->profile, common);
}

}  // namespace rondure::cli
