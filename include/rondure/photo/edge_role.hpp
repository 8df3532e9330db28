// What an edge in a photograph is on its part, or beside it. Words for it stand where features are named.
#pragma once

namespace rondure {

enum class EdgeRole {
  kOutside,
  kHubStep,
  kBore,
  kGrooveOuterWall,
  kGrooveInnerWall,
  kInnerEdge,  // of the part, within its outside: a bore's, a hub's or a groove's, which of them is not told
  kFoot,       // of the wall of a hub, or the far rim of a bore
  kMark,       // on a face, or on the ground
  kShadow,     // the last three are no edges of the part
};

constexpr bool is_of_the_part(EdgeRole role) { return role < EdgeRole::kFoot; }

}  // namespace rondure
