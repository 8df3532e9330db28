#include "rondure/core/uncertainty_source.hpp"

namespace rondure {
namespace {

using Source = UncertaintySource;

struct Row {
  Source source;
  std::string_view name;
  SharedBy shared;
  bool of_the_fit;
};

constexpr Row kRows[] = {
    {Source::kEdgeNoise, "edge noise", SharedBy::kNothing, true},
    {Source::kForm, "form", SharedBy::kNothing, true},
    {Source::kFormPrior, "form, from the prior", SharedBy::kNothing, true},
    {Source::kReading, "reading", SharedBy::kNothing, false},
    {Source::kReadingScatter, "scatter of the readings", SharedBy::kNothing, false},
    {Source::kReadings, "readings", SharedBy::kNothing, false},
    {Source::kRounding, "rounding of the digits", SharedBy::kNothing, false},
    {Source::kChord, "chord", SharedBy::kNothing, false},
    {Source::kSagitta, "sagitta", SharedBy::kNothing, false},
    {Source::kScale, "scale", SharedBy::kCalibration, false},
    {Source::kEdgeOffset, "edge offset", SharedBy::kNothing, false},
    {Source::kBoardAndLens, "board and lens", SharedBy::kCalibration, false},
    {Source::kHeight, "height of the edge", SharedBy::kNothing, false},
    {Source::kReferencePiece, "reference piece", SharedBy::kPicture, false},
    {Source::kTilt, "tilt", SharedBy::kNothing, false},
    {Source::kTemperature, "temperature", SharedBy::kNothing, false},
};

const Row* row_of(Source source) {
  for (const Row& row : kRows)
    if (row.source == source) return &row;
  return nullptr;
}

}  // namespace

std::string_view name(Source source) {
  const Row* row = row_of(source);
  return row ? row->name : std::string_view();
}

std::optional<Source> parse_uncertainty_source(std::string_view name) {
  for (const Row& row : kRows)
    if (row.name == name) return row.source;
  return std::nullopt;
}

SharedBy shared_by(Source source) {
  const Row* row = row_of(source);
  return row ? row->shared : SharedBy::kNothing;
}

bool of_the_fit(Source source) {
  const Row* row = row_of(source);
  return row && row->of_the_fit;
}

BudgetLine BudgetLine::from_record(const std::string& words, double u_mm) {
  if (const auto source = parse_uncertainty_source(words)) return {*source, u_mm};
  return {Source::kOther, u_mm, words};
}

}  // namespace rondure
