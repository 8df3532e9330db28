// What each piece of a profile is: face, cylinder, taper, crown or groove, chamfer, fillet.
#pragma once
#include "cut_profile.hpp"

namespace rondure {

struct NamedPieces {
  std::vector<ProfileSegment> segments;  // kind and ends
  double share = 1;                      // of the evidence, where forms do not decide between kinds
};

// The breaks of fillets and chamfers come out as their kind asks for, the fillets' covariance with them.
NamedPieces name_kinds(CutProfile& cut);

}  // namespace rondure
