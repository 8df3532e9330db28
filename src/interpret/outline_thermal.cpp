#include "outline_parts.hpp"

namespace rondure {

void bring_to_20_c(Feature& feature, const OutlineOptions& options) {
  const double factor = options.at_20_c_ratio();
  if (factor == 1) return;
  const auto scale = [factor](double& value) { value *= factor; };
  const auto scale_if = [factor](std::optional<double>& value) {
    if (value) *value *= factor;
  };
  const auto scale_interval = [factor](std::optional<Interval>& interval) {
    if (interval) interval->lo *= factor, interval->hi *= factor;
  };
  if (auto& c = feature.circle) {
    scale(c->diameter_mm), scale_if(c->u_diameter_mm), scale(c->rms_mm), scale_interval(c->diameter95_mm);
  }
  if (auto& e = feature.ellipse) {
    scale(e->major_diameter_mm), scale(e->minor_diameter_mm), scale(e->ovality_mm);
    scale_if(e->u_ovality_mm), scale_interval(e->ovality95_mm);
  }
  if (auto& r = feature.roundness) {
    for (auto* reference : {&r->lsci, &r->mzci, &r->mcci, &r->mici})
      if (*reference) scale((*reference)->ront_mm), scale((*reference)->diameter_mm);
    scale_if(r->noise_floor_mm);
  }
  if (auto& s = feature.sizes)
    for (auto* size : {&s->gg, &s->gn, &s->gx, &s->cc, &s->ca, &s->lp_max, &s->lp_min, &s->lp_range})
      scale_if(*size);
  for (HarmonicResult& h : feature.harmonics) scale(h.amplitude_mm), scale_if(h.u_amplitude_mm);
  for (ExcludedSector& sector : feature.excluded) scale(sector.height_mm);
  for (ProfilePoint& point : feature.profile) scale(point.deviation_mm);
  for (CombinedReading& reading : feature.combination) scale(reading.radius_mm), scale(reading.u_radius_mm);
}

}  // namespace rondure
