// The joint fit of one outline in views that were found to share it: edges placed across it in every view, the
// adjustment, and which views fit.
#pragma once
#include <string>
#include <vector>

#include "photo/views/part_search.hpp"

namespace rondure {

struct AdjustedWall {
  std::vector<ViewOfWall> views;  // edges placed anew
  JointWall joint;
  std::vector<std::string> why_not;  // of views left out; empty: used
  int used() const;
};

// Views in which middle or size is another are left out one by one, the worst first.
AdjustedWall adjust_outside(const std::vector<SingleView>& views, const PartStart& start,
                            const std::optional<Estimate>& height_mm);

// The same for a rim whose place, size and height are nearly known: nothing is searched for.
AdjustedWall adjust_rim(const std::vector<SingleView>& views, const PartStart& start,
                        const Estimate& height_mm);

// The joint outline as points round it, with what is not known of them; the frame is the first view's.
JointRim edge_of(const std::vector<SingleView>& views, const AdjustedWall& adjusted);

}  // namespace rondure
