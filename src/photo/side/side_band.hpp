// The pixels along a rough outline of any shape, cut into sectors for placing.
#pragma once
#include "photo/edge/edge_band.hpp"
#include "photo/side/silhouette.hpp"

namespace rondure {

// Sectors of about 2 px with the outline's own direction and bend; those of which nothing is left near other
// stretches of the outline are left out.
EdgeBand cut_side_band(const Picture& picture, const std::vector<float>& light_table,
                       const Silhouette& silhouette, double reach_px);

}  // namespace rondure
