// Round edges in a photograph that are no feature of the part, as the record keeps them: section "not_the_part",
// [{"what": "shadow", "center_mm": [x, y], "diameter_mm": d}, ...]. They are of the photograph measured last.
#pragma once
#include <string>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure {

struct EdgeAside {
  std::string what;  // "shadow", "mark", "foot", "board"
  Circle circle;     // in the part's plane, mm; a shadow's on the board
};

// Replaces those of the record; none: the section goes.
void put_not_the_part(PartRecord& record, const std::vector<EdgeAside>& edges);
std::vector<EdgeAside> not_the_part_of(const PartRecord& record);
// save_features() of part_record.hpp and put_not_the_part() in one change.
Result<void> save_features(const std::filesystem::path& file, const std::vector<Feature>& features,
                           const std::vector<EdgeAside>& edges, const std::string& material);

}  // namespace rondure
