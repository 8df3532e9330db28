#include "measure_side.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iostream>

#include "paint.hpp"
#include "rondure/photo/overlay.hpp"
#include "rondure/photo/side_outline.hpp"
#include "rondure/profile/limb.hpp"
#include "rondure/profile/side_profile.hpp"
#include "rondure/record/profile_section.hpp"
#include "rondure/report/profile_text.hpp"
#include "side_features.hpp"
#include "text_words.hpp"

namespace rondure::cli {
namespace {

constexpr double kStep_px = 2;           // of the outline's points
constexpr double kErrorFloor_px = 0.02;  // of a point, that does not average out

constexpr int kLimbRounds = 3, kHeightRounds = 2;

struct SideRequest {
  bool linear = false;
  std::vector<std::string> names;
  std::optional<double> axis_deg, distance_mm;
};

struct SideMeasurement {
  Meridian meridian;
  std::optional<Estimate> tilt_rad;
  SideProfile profile;
  SideOutline outline;
};

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

std::vector<OutlinePoint> plain_points(const SideOutline& outline) {
  std::vector<OutlinePoint> points;
  for (const SideOutlinePoint& p : outline.points)
    points.push_back({p.point.at.vec(), p.outward, p.point.sigma_mm});
  return points;
}

double largest_radius_mm(const Meridian& meridian) {
  double most = 0;
  for (const MeridianPoint& m : meridian.points) most = std::max(most, m.point.r_mm);
  return most;
}

struct Unfolded {
  Meridian meridian;
  std::optional<Estimate> tilt_rad;  // of the axis towards the camera; absent where the ends do not tell it
};

// The meridian from an outline seen by a camera at a finite distance: axis, tilt and limb in turns.
Result<Unfolded> unfold(const SideOutline& outline, const std::optional<Eigen::Vector3d>& camera_mm,
                        std::optional<double> axis_deg) {
  const std::vector<OutlinePoint> seen = plain_points(outline);
  const double step_mm = kStep_px / outline.px_per_mm;
  auto meridian = fold_outline(seen, step_mm, axis_deg);
  if (!meridian) return meridian.error();
  Unfolded out{std::move(*meridian), {}};
  for (int round = 0; camera_mm && round < kLimbRounds; ++round) {
    out.tilt_rad = tilt_from_faces(seen, out.meridian.axis, *camera_mm, step_mm);
    const double tilt = out.tilt_rad ? out.tilt_rad->value : 0;
    meridian =
        fold_outline(seen_from_afar(seen, out.meridian.axis, *camera_mm, tilt, step_mm), step_mm, axis_deg);
    if (!meridian) return meridian.error();
    out.meridian = std::move(*meridian);
  }
  return out;
}

// Of what the tilt is worth saying: 0.2 degrees move no size that a bench can tell.
std::optional<Warning> tilt_note(const std::optional<Estimate>& tilt_rad) {
  if (!tilt_rad || std::abs(tilt_rad->value) < std::max(rad(0.2), 3 * tilt_rad->u)) return std::nullopt;
  return Warning{"axis-tilted",
                 fmt::format("the axis is tilted by {:.2f} deg, {} end towards the camera: allowed for",
                             deg(std::abs(tilt_rad->value)), tilt_rad->value > 0 ? "right" : "left")};
}

Result<SideMeasurement> measure_side(const Picture& picture, MeasuringPlane plane, const SideRequest& asked) {
  auto outline = find_side_outline(picture, plane, asked.linear);
  if (!outline) return outline.error();
  std::optional<Eigen::Vector3d> camera_mm = camera_above(plane);
  if (asked.distance_mm)
    camera_mm = Eigen::Vector3d(0.5 * plane.width_px / outline->px_per_mm,
                                0.5 * plane.height_px / outline->px_per_mm, *asked.distance_mm);
  auto unfolded = unfold(*outline, camera_mm, asked.axis_deg);
  if (!unfolded) return unfolded.error();
  // The axis lies as high above the board as the part is thick there: solved together, unless it was told.
  for (int round = 0; camera_mm && !asked.distance_mm && plane.height_mm == 0 && round < kHeightRounds;
       ++round) {
    const auto raised = at_height(plane, largest_radius_mm(unfolded->meridian), 0);
    if (!raised) return raised.error();
    outline = find_side_outline(picture, *raised, asked.linear);
    if (!outline) return outline.error();
    camera_mm = camera_above(*raised);
    unfolded = unfold(*outline, camera_mm, asked.axis_deg);
    if (!unfolded) return unfolded.error();
    if (round + 1 == kHeightRounds) plane = *raised;
  }
  const Meridian& meridian = unfolded->meridian;
  const double radius_mm = largest_radius_mm(meridian);
  ProfileCutOptions options;
  options.blur_mm = outline->blur_px / outline->px_per_mm;
  options.u_edge_offset_mm = outline->u_edge_offset_mm;
  options.floor_mm = kErrorFloor_px / outline->px_per_mm;
  options.names = asked.names;
  // An error of the outline that bends with the bow counts as tilt: some 0.3 R of bow for every radian, over a face.
  if (unfolded->tilt_rad)
    options.u_tilt_rad = std::hypot(unfolded->tilt_rad->u, 0.4 * options.floor_mm / (0.3 * radius_mm));
  const double length_mm = meridian.length_mm;
  const PartPoint middle = PartPoint::from(meridian.axis.origin + 0.5 * length_mm * meridian.axis.along);
  const PlaneUncertainty u = u_from_plane(plane, {middle, 0.5 * length_mm});
  options.u_scale_ratio = std::hypot(u.u_scale_mm, u.u_pose_mm, u.u_height_mm) / length_mm;
  auto profile = cut_profile(meridian, options);
  if (!profile) return profile.error();
  profile->warnings.insert(profile->warnings.end(), outline->warnings.begin(), outline->warnings.end());
  profile->warnings.insert(profile->warnings.end(), plane.warnings.begin(), plane.warnings.end());
  if (auto note = tilt_note(unfolded->tilt_rad)) profile->warnings.push_back(std::move(*note));
  if (!camera_mm)
    profile->warnings.push_back(
        {"distance-unknown",
         fmt::format("taken as seen from far away: from 300 mm diameters would read {:.4f} mm too large and "
                     "ends would "
                     "bow; tell how far the camera stood from the axis with --distance",
                     radius_mm * std::pow(radius_mm / 300, 2))});
  return SideMeasurement{std::move(unfolded->meridian), unfolded->tilt_rad, std::move(*profile),
                         std::move(*outline)};
}

Result<void> draw(const Picture& picture, const SideMeasurement& side, const std::string& file) {
  OverlayOutline drawn;
  drawn.label = "side view";
  for (const SideOutlinePoint& p : side.outline.points) drawn.outline.push_back(p.pixel);
  drawn.points = drawn.outline;
  const auto bytes = overlay_png(picture, {drawn});
  return write_file_atomically(file, std::string(bytes.begin(), bytes.end()));
}

Result<void> write_json(const std::vector<Feature>& features, const SideProfile& profile,
                        const CommonOptions& common) {
  PartRecord record;
  record.material = common.material;
  record.features = features;
  put_profile(record, profile);
  if (common.json != "-") return write_file_atomically(common.json, to_json(record));
  std::cout << to_json(record);
  return {};
}

int deliver_side(std::vector<Feature> features, const SideProfile& profile, const CommonOptions& common) {
  if (!common.quiet && common.json != "-") std::cout << profile_text(profile, text_options(common.unit));
  if (!common.save.empty()) {
    CommonOptions silent = common;
    silent.quiet = true, silent.json.clear();
    if (const int saved = deliver(features, silent); saved != kDone) return saved;
    const auto put = [&](PartRecord& record) -> Result<void> {
      return put_profile(record, profile), Result<void>{};
    };
    if (const auto saved = update_part_record(common.save, put); !saved) return report_error(saved.error());
    if (!common.quiet && common.json != "-")
      std::cout << "saved in " << common.save << ": the profile and " << features.size() << " features\n";
  }
  if (!common.json.empty())
    if (const auto written = write_json(features, profile, common); !written)
      return report_error(written.error());
  return finish_output();
}

}  // namespace

void add_side_options(CLI::App& command, SideWords& words) {
  command.add_flag("--side", words.asked,
                   "the part lies on its side, seen square to its axis: profile, widths, crown, flanges");
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

int run_side(const SideWords& words, const std::vector<std::string>& photos, const CommonOptions& common,
             PictureChannel channel, bool linear, const std::string& overlay,
             const std::function<Result<MeasuringPlane>(const Picture&)>& plane_of) {
  const auto names = parse_names(words.profile);
  if (!names) return report_error(names.error());
  const auto axis = parse_axis(words.axis);
  if (!axis) return report_error(axis.error());
  SideRequest asked{linear, *names, *axis, {}};
  if (!words.distance.empty()) {
    const auto distance = parse_length_mm(words.distance, bare_unit(common));
    if (!distance || !(*distance >= 20))
      return report_error({ErrorCode::kBadArgument,
                           "--distance: found '" + words.distance + "', needed a length of 20 mm or more"});
    asked.distance_mm = *distance;
  }
  if (photos.size() > 1)
    return report_error(
        {ErrorCode::kBadArgument, fmt::format("--side: found {} photographs, needed one", photos.size())});
  const auto picture = load_picture(photos[0], channel);
  if (!picture) return report_error(picture.error());
  const auto plane = plane_of(*picture);
  if (!plane) return report_error(plane.error(), photos[0]);
  const auto side = measure_side(*picture, *plane, asked);
  if (!side) return report_error(side.error(), photos[0]);
  std::vector<Feature> features = features_of(side->profile);
  for (Feature& f : features) {
    f.source.type = SourceType::kPhoto, f.source.file = photos[0], f.source.calibration = plane->description;
    f.source.time = now_utc(), f.source.sha256 = sha256_of_file(photos[0]).value_or("");
    f.points.count = f.points.used = static_cast<int>(side->outline.points.size());
  }
  if (!overlay.empty())
    if (const auto drawn = draw(*picture, *side, overlay); !drawn) return report_error(drawn.error());
  return deliver_side(std::move(features), side->profile, common);
}

}  // namespace rondure::cli
