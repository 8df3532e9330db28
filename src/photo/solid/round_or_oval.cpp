#include "photo/solid/round_or_oval.hpp"

#include <algorithm>
#include <cmath>

namespace rondure {
namespace {

// Three parts in four are round to 0.3 %; and an oval within its prior is five times as free as noise alone.
constexpr double kRoundOdds = 15;
// Of the oval's edges: with fewer, the round fit follows another line. Odds of a round part below kLeastShare
// change nothing.
constexpr double kSameEdges_ratio = 0.8, kLeastShare = 0.02;
// Of a fit's misses, at least, so that the ratio of two stays finite; no photograph is so good.
constexpr double kLeastRms_px = 0.02;

double mixed_variance(double share, double u_round, double u_oval, double apart) {
  return share * u_round * u_round + (1 - share) * u_oval * u_oval + share * (1 - share) * apart * apart;
}

}  // namespace

WallFit weighed_with_round(const RayEdges& edges, const CameraPlace& camera, const WallFit& oval) {
  if (!oval.shape.oval) return oval;
  WallFit from = oval;
  from.shape.oval = false, from.wall.oval.setZero();
  const WallFit round = refit_wall(edges, camera, from);
  const double count = static_cast<double>(oval.chosen.size());
  if (static_cast<double>(round.chosen.size()) < kSameEdges_ratio * count) return oval;
  const double missed = round.rms_px / std::max(kLeastRms_px, oval.rms_px);
  const double chi2 = std::max(0.0, count / kNeighbourRays * (missed * missed - 1));
  const double odds = kRoundOdds * std::exp(-0.5 * chi2), share = odds / (1 + odds);
  if (share < kLeastShare) return oval;
  WallFit mixed = oval;
  mixed.wall.center += share * (round.wall.center - oval.wall.center);
  mixed.wall.radius_mm += share * (round.wall.radius_mm - oval.wall.radius_mm);
  mixed.wall.top_mm += share * (round.wall.top_mm - oval.wall.top_mm);
  mixed.wall.foot_mm += share * (round.wall.foot_mm - oval.wall.foot_mm);
  mixed.wall.oval *= 1 - share;
  mixed.u_radius_mm = std::sqrt(
      mixed_variance(share, round.u_radius_mm, oval.u_radius_mm, round.wall.radius_mm - oval.wall.radius_mm));
  mixed.u_top_mm =
      std::sqrt(mixed_variance(share, round.u_top_mm, oval.u_top_mm, round.wall.top_mm - oval.wall.top_mm));
  return mixed;
}

}  // namespace rondure
