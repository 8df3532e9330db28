// The same part seen from the side several times, turned about its own axis in between.
//
// A body of revolution shows the same profile however it is turned. Sizes are the means of all views cut alike; what
// the views share (edge offset, scale) does not average out, so the uncertainty is the root mean square of theirs,
// with the scatter of the mean. What differs says what the part is not:
//   a diameter that differs: out of round, by the range of the diameters at least (ISO 1101 calls no such size;
//     ISO 12181 sees it in the roundness profile)
//   a surface whose flanks lie off the common axis by an amount that changes with the turn: run-out (ISO 1101,
//     circular run-out), eccentric by half the range at least. What does not change is the view's (a tilt).
// Both are least values: views between the extremes see less. Views cut otherwise than most are left out and told.
// Errors: kTooFewPoints (no view), kNoAnswer (no two views cut alike).
#pragma once
#include <string>
#include <vector>

#include "rondure/profile/side_profile.hpp"

namespace rondure {

struct NamedView {
  std::string file;
  SideProfile profile;
};

struct SeveralViews {
  SideProfile profile;
  std::vector<std::string> used, left_out;  // files
};

Result<SeveralViews> combine_views(const std::vector<NamedView>& views);

}  // namespace rondure
