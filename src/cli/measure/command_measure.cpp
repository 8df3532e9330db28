#include <fmt/format.h>
#include <malloc.h>

#include <atomic>
#include <filesystem>
#include <iostream>
#include <memory>

#include "cli/deliver/deliver_photo.hpp"
#include "cli/deliver/measure_batch.hpp"
#include "cli/measure/measure_options.hpp"
#include "cli/measure/measure_outlines.hpp"
#include "cli/measure/measure_side.hpp"
#include "cli/measure/measure_turned.hpp"
#include "cli/measure/measure_views.hpp"
#include "cli/terminal/command.hpp"
#include "cli/terminal/progress.hpp"
#include "cli/terminal/text_words.hpp"
#include "rondure/core/parallel.hpp"
#include "rondure/photo/overlay.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure::cli {
namespace {

std::string overlay_path(const MeasureOptions& given, const std::string& photo) {
  if (given.photos.size() == 1) return given.overlay;
  const std::filesystem::path wanted(given.overlay);
  return (wanted.parent_path() /
          (wanted.stem().string() + "-" + std::filesystem::path(photo).stem().string() + ".png"))
      .string();
}

// The names that the record will have, on the picture too.
void name_on_picture(PhotoMeasurement& measured, const CommonOptions& common) {
  std::vector<Feature> named = measured.features;
  if (!name_as_kept(named, common, false)) return;  // a damaged record: delivering tells
  for (std::size_t i = 0; i < named.size(); ++i) {
    Feature& feature = measured.features[i];
    std::string& label = measured.outlines[i].label;
    if (label.starts_with(feature.name)) label = named[i].name + label.substr(feature.name.size());
    feature.name = named[i].name;
  }
}

// Names in the table of many photographs, where they are kept: as in the record.
void name_in_table(std::vector<MeasuredPhoto>& photos, const std::vector<Feature>& named) {
  auto name = named.begin();
  for (MeasuredPhoto& photo : photos)
    for (Feature& feature : photo.measured.features) feature.name = (name++)->name;
}

// Nothing that is measured may be drawn over.
Result<void> check_overlay(const MeasureOptions& given) {
  if (given.overlay.empty()) return {};
  for (const std::string& photo : given.photos)
    for (const std::string& drawn : given.photos) {
      const std::string overlay = overlay_path(given, drawn);
      std::error_code none;
      if (overlay == photo || std::filesystem::equivalent(overlay, photo, none))
        return Error{ErrorCode::kBadArgument,
                     "--overlay: '" + overlay + "' is a photograph to be measured; needed another file name"};
    }
  return {};
}

// For the progress line: what reading a photograph and finding the board in it take of the whole (24 megapixels, 2026-11).
constexpr double kReading_share = 0.12, kBoard_share = 0.35;

// With a told scale nothing in the picture tells the tone curve; the user may.
Result<MeasuringPlane> plane_as_told(const Picture& picture, const PhotoOptions& prepared, bool srgb) {
  auto plane = plane_of_photo(picture, prepared);
  if (plane && srgb) plane->tone_known = true;
  return plane;
}

MeasuredPhoto measure_one(const std::string& file, const MeasureOptions& given, const PhotoOptions& prepared,
                          Progress& progress) {
  MeasuredPhoto out;
  const auto picture = load_picture(file, prepared.channel);
  if (!picture) return out.error = picture.error(), out;
  progress.done(kReading_share);
  const auto plane = plane_as_told(*picture, prepared, given.srgb);
  if (!plane) {
    if (!given.outlines.empty()) (void)write_corners_seen(given.outlines, *picture);
    return out.error = plane.error(), out;
  }
  if (prepared.board) progress.done(kBoard_share);
  auto measured = measure_photo(*picture, *plane, prepared);
  if (!measured) return out.error = measured.error(), out;
  out.measured = std::move(*measured);
  for (Feature& feature : out.measured.features) {
    feature.source.file = file;
    feature.source.calibration = given.calibration.empty() ? plane->description : given.calibration;
  }
  if (given.photos.size() == 1) name_on_picture(out.measured, given.common);
  if (!given.overlay.empty()) {
    std::vector<OverlayOutline> drawn = out.measured.outlines;
    for (const auto& other : out.measured.not_the_part) drawn.push_back(other.outline);
    const auto bytes = overlay_png(*picture, drawn);
    out.overlay = overlay_path(given, file);
    const auto written = write_file_atomically(out.overlay, std::string(bytes.begin(), bytes.end()));
    if (!written) out.error = written.error();
  }
  if (!given.outlines.empty())
    if (const auto written = write_outlines(given.outlines, *picture, out.measured); !written)
      out.error = written.error();
  out.measured.outlines.clear();  // drawn: a thousand photographs must fit into memory
  if (given.common.json.empty() && given.common.save.empty())
    for (Feature& feature : out.measured.features) feature.profile = {};
  return out;
}

std::vector<EdgeAside> aside_of(const PhotoMeasurement& measured) {
  std::vector<EdgeAside> aside;
  for (const auto& other : measured.not_the_part) aside.push_back({other.called, other.circle});
  return aside;
}

// One photograph after the other on each core: they are independent, and a bad one does not stop the rest.
std::vector<MeasuredPhoto> measure_all(const MeasureOptions& given, const PhotoOptions& prepared) {
  std::vector<MeasuredPhoto> photos(given.photos.size());
  Progress progress(photos.size() == 1 ? "measuring the photograph"
                                       : fmt::format("measuring {} photographs", photos.size()),
                    static_cast<double>(photos.size()),
                    given.common.quiet || given.common.json == "-" || given.csv == "-");
  std::atomic<std::size_t> finished{0};
  use_cores(given.threads);
  in_parallel(static_cast<int>(photos.size()), [&](int i) {
    try {
      photos[i] = measure_one(given.photos[i], given, prepared, progress);
    } catch (const std::exception& failure) {
      photos[i].error = Error{ErrorCode::kNoAnswer, failure.what()};
    }
    photos[i].file = given.photos[i];
    progress.done_ratio(static_cast<double>(++finished) / static_cast<double>(photos.size()));
  });
  return photos;
}

SideRun side_run(const MeasureOptions& given, const PhotoOptions& prepared) {
  SideRun out;
  out.outlines = given.outlines;
  out.options.edges = prepared.edges, out.options.references = prepared.references;
  out.channel = prepared.channel;
  out.plane_of = [&prepared, srgb = given.srgb](const Picture& picture) {
    return plane_as_told(picture, prepared, srgb);
  };
  return out;
}

// A picture's bands and windows are taken and given back by the thousand: the memory is kept, not returned to the system
// and asked for again (a tenth of the time of a picture with many edges went there).
void keep_freed_memory() {
#ifdef __GLIBC__
  constexpr int kKept_bytes = 1 << 28;  // a quarter of what a picture may take (kMostMemory_bytes)
  mallopt(M_TRIM_THRESHOLD, kKept_bytes);
  mallopt(M_MMAP_THRESHOLD, 1 << 25);  // the largest that glibc takes
#endif
}

int run(MeasureOptions given) {
  constexpr const char* kNoPhoto = "found no photograph, needed one or more (see 'rondure measure --help')";
  keep_freed_memory();
  if (given.turned.given) give_back_photo(given.turned, given.photos);
  if (given.photos.empty() && given.scan.resolution.empty()) return report_usage(kNoPhoto);
  const auto prepared = photo_options(given);
  if (!prepared) return report_error(prepared.error());
  if (given.photos.empty()) return report_usage(kNoPhoto);
  if (!given.outlines.empty() && given.photos.size() > 1)
    return report_usage("--outlines takes one photograph at a time");
  if (const auto clear = check_overlay(given); !clear) return report_error(clear.error());
  if (given.side.asked)
    return run_side(
        given.side, given.photos, given.common, side_run(given, *prepared),
        [&](const std::string& photo) { return given.overlay.empty() ? "" : overlay_path(given, photo); });
  if (given.turned.given) {
    use_cores(given.threads);
    return run_turned(given.turned, given.photos, given.common, *prepared, given.calibration, given.all);
  }
  if (given.views.one_part) {
    use_cores(given.threads);
    given.views.overlay = given.overlay, given.views.all = given.all;
    return run_views(given.views, given.photos, given.common, *prepared, given.calibration);
  }
  std::vector<MeasuredPhoto> photos = measure_all(given, *prepared);
  int status = kDone;
  std::vector<Feature> features;
  for (const MeasuredPhoto& photo : photos) {
    if (photo.error) {
      const bool named = photo.error->detail.find(photo.file) != std::string::npos;
      status = report_error(*photo.error, named ? "" : photo.file);
    }
    features.insert(features.end(), photo.measured.features.begin(), photo.measured.features.end());
  }
  if (photos.size() > 1 && !given.common.save.empty() && name_as_kept(features, given.common, true))
    name_in_table(photos, features);
  if (!given.csv.empty()) {
    const std::string table = csv_table(photos);
    if (given.csv == "-") {
      std::cout << table;
    } else if (const auto written = write_file_atomically(given.csv, table); !written) {
      return report_error(written.error());
    }
  }
  const bool text = !given.common.quiet && given.common.json != "-" && given.csv != "-";
  CommonOptions common = given.common;
  if (given.csv == "-") common.quiet = true;
  if (!features.empty())
    if (const int delivered = photos.size() > 1
                                  ? deliver_table(features, common)
                                  : deliver(features, aside_of(photos.front().measured), common, given.all);
        delivered != kDone)
      return delivered;
  if (text)
    for (const MeasuredPhoto& photo : photos)
      if (!photo.overlay.empty()) std::cout << "drawn on the photograph: " << photo.overlay << '\n';
  if (photos.size() > 1 && !given.common.quiet)
    (text ? std::cout : std::cerr) << batch_summary(photos) << '\n';
  const int written = finish_output();
  return status == kDone ? written : status;
}

}  // namespace

void add_measure(CLI::App& program, Action& action) {
  auto options = std::make_shared<MeasureOptions>();
  CLI::App* command =
      program.add_subcommand("measure", "Finds the round edges in photographs and measures each.");
  add_measure_options(*command, *options);
  command->footer(
      "Examples: a part beside the chessboard, its rim 6 mm above the paper; a part on a light table, seen "
      "square-on\n"
      "  rondure measure images-demo/roller.jpg --board 9x6 --square 5mm --height 6mm --overlay found.png\n"
      "  rondure measure images-demo/drum.png --scale '38.00px/mm+-0.02'");
  command->callback([options, &action] { action = [options] { return run(*options); }; });
}

}  // namespace rondure::cli
