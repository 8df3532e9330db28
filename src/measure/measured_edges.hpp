// The edges of one photograph as parts: which belong together, what each is, and their names.
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "rondure/interpret/feature.hpp"
#include "rondure/photo/round_edges.hpp"

namespace rondure {

struct MeasuredEdge {
  const RoundEdge* edge;
  Feature feature;
  Circle circle;
  std::optional<Estimate> eccentricity_mm = std::nullopt;
  int part = -1;              // index of the outermost edge it belongs to
  bool dropped = false;       // no edge of the part, as a person has said
  std::string found_as = {};  // the name it was given, whatever a person calls it
  EdgeRole role = EdgeRole::kOutside;
};

// `edges` largest first: gives each its part, its role, its kind and a name that no other has.
void name_edges(std::vector<MeasuredEdge>& edges);

// The name that an edge gets unless the user gives another, and back.
const char* usual_name(EdgeRole role);
std::optional<EdgeRole> role_of_word(const std::string& word);
FeatureKind kind_of(EdgeRole role);

}  // namespace rondure
