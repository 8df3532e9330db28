// A file of readings to the feature it shows: stage correction, the part turned, re-readings, the other
// reading forms.
#pragma once
#include "rondure/core/result.hpp"
#include "rondure/interpret/feature.hpp"
#include "rondure/interpret/outline.hpp"
#include "rondure/readings/points_file.hpp"
#include "rondure/readings/stage.hpp"

namespace rondure::cli {

// `outline` holds what the command line says; resolution, other readings, scale and (where it is not given
// and readings were repeated often enough) the reading uncertainty are added. `stage` may be null.
Result<Feature> measure_readings(const Readings& readings, const StageCalibration* stage,
                                 OutlineOptions outline);

}  // namespace rondure::cli
