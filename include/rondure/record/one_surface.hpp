// One surface of the part, one size: where an outside of the record (seen from above, or read) and a surface of its side
// view are the same, the original is inferred, the plan made and the page drawn from a record in which they are one.
//
// Two diameters agree where they differ by no more than 1.96 times their joint standard uncertainty (95 %, GUM 5.1 for
// independent readings; pictures of one scale share errors, so this is on the wide side). An outside is the same as a
// surface of the side view where it agrees with that surface alone, and that surface with that outside alone. A taper
// agrees where any diameter along it does; faces, chamfers and fillets have no part in it. Names decide nothing: they are
// how the record keeps which of its features came from the side view.
// The surface keeps the side view's name (its width, its radius and the steps hang on that), the size, its budget and its
// original of the one with the smaller uncertainty (the other's original where that has none), and the form of the one that
// was seen all round, about that size.
#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "rondure/record/part_record.hpp"

namespace rondure {

struct SharedSurface {
  std::string name;   // in the side view
  std::string other;  // of the outside that is the same surface
};

struct SurfacesOnce {
  PartRecord record;                  // every surface once
  std::vector<SharedSurface> shared;  // those that were two
  std::vector<Warning>
      notes;  // one for each outside: the same (names-differ), one of several, or none (alike-features)
};

// Nothing changes without a side view. `done`: what is done with the sizes, for the notes: "planned", "counted".
SurfacesOnce surfaces_once(const PartRecord& record, std::string_view done = "taken");

}  // namespace rondure
