#include "cli/report/report_part.hpp"

#include <algorithm>
#include <cmath>
#include <ctime>
#include <filesystem>
#include <iostream>
#include <map>

#include "cli/terminal/command.hpp"
#include "cli/terminal/paint.hpp"
#include "cli/terminal/progress.hpp"
#include "cli/terminal/text_words.hpp"
#include "rondure/photo/picture.hpp"
#include "rondure/photo/raw_picture.hpp"
#include "rondure/plan/planned_profile.hpp"
#include "rondure/plan/replacement_plan.hpp"

namespace rondure::cli {
namespace {

double grey_at(const Picture& picture, int x, int y) { return 255 * picture.at(x, y) / picture.full_scale(); }

// The square round a feature, half again as wide as the feature, reduced to at most 720 pixels by block
// means.
PagePicture crop_round(const Picture& picture, const Feature& feature) {
  const auto& a = *feature.pixel_from_part;
  const auto& c = feature.circle->center;
  const double x = a[0] * c.x_mm + a[1] * c.y_mm + a[2], y = a[3] * c.x_mm + a[4] * c.y_mm + a[5];
  const double scale_px_per_mm = std::sqrt(std::abs(a[0] * a[4] - a[1] * a[3]));
  const double half = 1.45 * feature.circle->diameter_mm / 2 * scale_px_per_mm;
  const int left = std::clamp(static_cast<int>(x - half), 0, picture.width_px - 1);
  const int top = std::clamp(static_cast<int>(y - half), 0, picture.height_px - 1);
  const int right = std::clamp(static_cast<int>(x + half), left, picture.width_px - 1);
  const int bottom = std::clamp(static_cast<int>(y + half), top, picture.height_px - 1);
  const int block = std::max(1, (std::max(right - left, bottom - top) + 719) / 720);
  PagePicture crop;
  crop.feature = feature.name;
  crop.scale = block;
  crop.origin_x_px = left + (block - 1) / 2.0;  // centre of the first block
  crop.origin_y_px = top + (block - 1) / 2.0;
  crop.width_px = (right - left + 1) / block;
  crop.height_px = (bottom - top + 1) / block;
  for (int v = 0; v < crop.height_px; ++v)
    for (int u = 0; u < crop.width_px; ++u) {
      double sum = 0;
      for (int j = 0; j < block; ++j)
        for (int i = 0; i < block; ++i) sum += grey_at(picture, left + u * block + i, top + v * block + j);
      crop.grey.push_back(static_cast<std::uint8_t>(std::lround(sum / (block * block))));
    }
  return crop;
}

// A source named in the record: as it stands, else beside the record.
std::filesystem::path find_source(const std::string& file, const std::filesystem::path& record) {
  if (std::filesystem::exists(file)) return file;
  return record.parent_path() / file;
}

std::string latest_day(const PartRecord& record) {
  std::string latest;
  for (const Feature& f : record.features) latest = std::max(latest, f.source.time);
  return latest.empty() ? "" : ", measured " + latest.substr(0, 10);
}

Error no_side_view(const std::string& option, const std::string& file) {
  return {ErrorCode::kBadArgument,
          option + ": found no side view in '" + file + "', needed one (rondure measure --side --save)"};
}

// What the wishes hold the part's profile against; nothing where they name no record.
Result<std::optional<EarlierProfile>> held_against(const PartRecord& record, const std::string& record_file,
                                                   const PageWishes& how) {
  const bool planned = !how.planned.empty();
  const std::string& file = planned ? how.planned : how.earlier;
  if (file.empty()) return std::optional<EarlierProfile>();
  const std::string option = planned ? "--planned" : "--earlier";
  if (!record.profile) return no_side_view(option, record_file);
  const auto other = load_part_record(file);
  if (!other) return Error{other.error().code, "'" + file + "', " + other.error().detail};
  EarlierProfile out;
  out.from = file + latest_day(*other), out.planned = planned;
  if (planned) {
    auto asked = other->replacement ? plan::planned_profile(*other->replacement) : std::nullopt;
    if (!asked)
      return Error{ErrorCode::kBadArgument,
                   "--planned: found no plan with a profile in '" + file +
                       "', needed one (rondure plan --save, from a side view or with "
                       "--steps)"};
    out.profile = std::move(asked->profile), out.allowed_mm = std::move(asked->allowed_mm);
  } else if (other->profile) {
    out.profile = *other->profile;
  } else {
    return no_side_view(option, file);
  }
  out.surfaces = compare_profiles(out.profile, *record.profile);
  if (out.surfaces.empty())
    return Error{ErrorCode::kBadArgument, option + ": found no surface of '" + file + "' along '" +
                                              record_file +
                                              "', needed side views of one part, the same end on the left"};
  return std::optional(std::move(out));
}

}  // namespace

std::string page_time() {
  const std::time_t now = std::time(nullptr);
  char text[32];
  std::strftime(text, sizeof text, "%Y-%m-%d %H:%M UTC", std::gmtime(&now));
  return text;
}

Result<std::string> part_page(const std::string& record_file, const std::optional<SetLink>& set,
                              const PageWishes& how) {
  const auto record = load_part_record_or_input(record_file);
  if (!record) return record.error();
  PageOptions page;
  page.made_at = page_time();
  page.set = set;
  page.unit = how.unit;
  auto against = held_against(*record, record_file, how);
  if (!against) return against.error();
  page.earlier = *std::move(against);
  std::map<std::string, std::optional<Picture>> pictures;
  const double share =
      1.0 / (1.0 + double(record->features.size()));  // of a feature; one for the page itself
  bool begun = false;
  for (const Feature& feature : record->features) {
    if (how.progress && begun) how.progress->done(share);
    begun = true;
    if (feature.source.file.empty() || feature.source.sha256.empty()) continue;
    const auto path = find_source(feature.source.file, record_file);
    const auto digest = sha256_of_file(path);
    if (digest != feature.source.sha256) {
      if (std::find(page.changed_files.begin(), page.changed_files.end(), feature.source.file) ==
          page.changed_files.end()) {
        page.changed_files.push_back(feature.source.file);
        if (!how.quiet)
          std::cerr << error_lines("note: " + feature.source.file +
                                   (digest ? " has changed since it was measured" : " is no longer there"));
      }
      continue;
    }
    if (feature.source.type != SourceType::kPhoto || !feature.pixel_from_part || !feature.circle) continue;
    auto& picture = pictures[feature.source.file];
    if (!picture) {
      auto loaded = load_picture(path);
      if (!loaded) continue;
      picture = seen_on_screen(std::move(*loaded));
    }
    page.pictures.push_back(crop_round(*picture, feature));
  }
  if (how.progress && begun) how.progress->done(share);
  std::string html = report_page(*record, page);
  if (how.progress) how.progress->done(share);
  return html;
}

}  // namespace rondure::cli
