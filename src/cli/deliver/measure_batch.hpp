// Many photographs measured in one go: what each gave, the table of all of them, and the summary.
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "cli/terminal/command.hpp"
#include "rondure/measure/measure_photo.hpp"

namespace rondure::cli {

struct MeasuredPhoto {
  std::string file;
  std::optional<Error> error;
  PhotoMeasurement measured;
  std::string overlay;  // where it was written; empty = none
};

// One line a feature, in the order of the photographs; a photograph that failed has a line with its error.
std::string csv_table(const std::vector<MeasuredPhoto>& photos);
// "199 of 200 photographs measured, 597 features; 1 could not be measured"
std::string batch_summary(const std::vector<MeasuredPhoto>& photos);

// deliver() of command.hpp with one line a feature.
int deliver_table(std::vector<Feature> features, const CommonOptions& options);

}  // namespace rondure::cli
