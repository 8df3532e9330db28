// One self-contained HTML page of a part: pictures and drawings inside, no network, no script. Prints on A4 and Letter,
// readable on a phone.
#pragma once
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "rondure/core/length.hpp"
#include "rondure/profile/compare_profiles.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure {

// The piece of a source photograph that shows a feature, as grey values. picture pixel = origin + scale * crop pixel.
struct PagePicture {
  std::string feature;  // name of the feature it shows
  int width_px = 0, height_px = 0;
  double origin_x_px = 0, origin_y_px = 0, scale = 1;
  std::vector<std::uint8_t> grey;
};

// The page of the set that the part is one of; with the answer of the set for this part, in place of the record's own,
// and what the part says alone.
struct SetLink {
  std::string href, words;
  std::optional<OriginalResult> original = {};
  std::string alone = {};  // "1/2 in (51 %)"
};

// What the side view of the record is held against: an earlier one of the same part, or the profile its plan asked for.
struct EarlierProfile {
  SideProfile profile;
  std::vector<SurfaceWear> surfaces;  // compare_profiles(profile, the record's)
  std::string from;                   // "roller-2014.json, measured 2014-03-02"
  bool planned = false;
  std::map<std::string, Interval> allowed_mm;  // planned: of a surface's radius, less that of the plan
};

struct PageOptions {
  std::vector<PagePicture> pictures;  // features without one are shown without a photograph
  std::vector<std::string>
      changed_files;                  // sources whose bytes are no longer those measured, or that are gone
  std::string made_at;                // date and time of the page, as it is to be printed
  LengthUnit unit = LengthUnit::kMm;  // that stands first: in and thou lead with inches
  std::optional<SetLink> set = {};
  std::optional<EarlierProfile> earlier = {};
};

std::string report_page(const PartRecord& record, const PageOptions& options);

// The part in one sentence: size, shape, and what it was drawn as, where that is known.
std::string answer_sentence(const PartRecord& record, LengthUnit unit = LengthUnit::kMm);

}  // namespace rondure
