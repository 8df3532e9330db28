// One surface of the part, one size to make: where an outside of the record (seen from above, or read) and a surface of its
// side view are the same, the plan is made from a record in which they are one.
//
// Two diameters agree where they differ by no more than 1.96 times their joint standard uncertainty (95 %, GUM 5.1 for
// independent readings; pictures of one scale share errors, so this is on the wide side). An outside is the same as a
// surface of the side view where it agrees with that surface alone, and that surface with that outside alone. A taper
// agrees where any diameter along it does; faces, chamfers and fillets have no part in it. Names decide nothing: they are
// how the record keeps which of its features came from the side view.
// The surface keeps the side view's name (its width, its radius and the steps hang on that), the size and the original of
// the one with the smaller uncertainty, and the form of the one that was seen all round.
#pragma once
#include "rondure/plan/replacement_plan.hpp"

namespace rondure::plan {

struct SharedSurface {
  std::string name;   // in the side view
  std::string other;  // of the outside that is the same surface
};

struct SurfacesOnce {
  PartRecord record;                  // every surface once
  PlanOptions options;                // what was said of `other`, said of `name`
  std::vector<SharedSurface> shared;  // those that were two
  std::vector<Warning> notes;         // one for each outside: the same, one of several, or none
};

// Nothing changes without a side view. Errors: kBadArgument (a size or tolerance said twice of one surface).
Result<SurfacesOnce> surfaces_once(const PartRecord& record, const PlanOptions& options);
std::vector<SharedSurface> shared_surfaces(const PartRecord& record);

}  // namespace rondure::plan
