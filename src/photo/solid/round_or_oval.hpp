// A wall fitted with a free oval, weighed against the round one.
//
// Most parts are round, and the outline of a standing part, drawn out by its wall, hardly differs from that of an
// oval one that is lower: a free oval lets height and size go where noise pulls them. The two fits are therefore
// weighed by the edges, exp(-chi2 / 2) each, with prior odds for the round one, and averaged (Bayesian model
// averaging); what they differ by goes into the uncertainties.
#pragma once
#include "photo/solid/wall_fit.hpp"

namespace rondure {

// `oval`: fitted to `edges` with shape.oval. Where the round wall hardly meets the edges it is given back as it is.
WallFit weighed_with_round(const RayEdges& edges, const CameraPlace& camera, const WallFit& oval);

}  // namespace rondure
