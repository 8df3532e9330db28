// From one photograph and its measuring plane to features: round edges found, measured and named.
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "rondure/core/result.hpp"
#include "rondure/interpret/feature.hpp"
#include "rondure/interpret/outline.hpp"
#include "rondure/photo/measuring_plane.hpp"
#include "rondure/photo/overlay.hpp"
#include "rondure/photo/picture.hpp"
#include "rondure/photo/reference_piece.hpp"
#include "rondure/photo/round_edges.hpp"

namespace rondure::cli {

struct PhotoMeasurement {
  std::vector<Feature> features;         // largest first
  // Of a bore or step: how far its centre lies off that of its part's outside; also a note of the feature.
  std::vector<std::optional<Estimate>> eccentricities_mm;
  std::vector<OverlayOutline> outlines;  // one a feature
};

// `outline` carries what the user stated (form, temperature); scale, edge and plane contributions are filled
// in here. With `references` sizes are theirs; their own edges are no features.
Result<PhotoMeasurement> measure_photo(const Picture& picture, const MeasuringPlane& plane,
                                       const EdgeOptions& edges, const OutlineOptions& outline,
                                       const ReferenceScale* references = nullptr);

}  // namespace rondure::cli
