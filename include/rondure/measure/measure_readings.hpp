// From a file of readings to the feature it shows: stage correction, the part turned on the stage, re-readings, and
// the other reading forms (points_file.hpp has the forms).
#pragma once
#include <optional>
#include <string>

#include "rondure/core/result.hpp"
#include "rondure/interpret/feature.hpp"
#include "rondure/interpret/outline.hpp"
#include "rondure/readings/points_file.hpp"
#include "rondure/readings/stage.hpp"

namespace rondure {

struct ReadingsOptions {
  LengthUnit bare = LengthUnit::kMm;      // of numbers without a unit, where the file states none
  std::optional<StageCalibration> stage;  // of the comparator
  // What is stated of part and reading (form, sigma, temperature). Resolution, other readings, scale and (where it
  // is not given and readings were repeated often enough) the reading uncertainty are added from the readings.
  OutlineOptions outline;
};

// Errors: those of parse_points, points_on_part and measure_outline; kTooFewPoints where there is no reading.
Result<Feature> measure_readings(const std::string& text, const ReadingsOptions& options = {});
// Of readings already in memory; `stage` may be null.
Result<Feature> measure_readings(const Readings& readings, const StageCalibration* stage,
                                 OutlineOptions outline);

}  // namespace rondure
