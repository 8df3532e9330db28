// What an uncertainty comes from: one line of a budget each (GUM 5.1.2: one term for each input quantity), and what
// two measured sizes must have in common to share its error (GUM 5.2 and F.1.2.3: a quantity that both results rest
// on makes them correlated).
//
// The words a record and a page show for a source come from one table (uncertainty_source.cpp); nothing is decided by
// them. A record of a newer version may name a source that this version does not know: it is kOther, keeps its own
// words, and counts as shared with nothing.
#pragma once
#include <optional>
#include <string>
#include <string_view>

namespace rondure {

enum class UncertaintySource {
  kEdgeNoise,       // scatter of the points about the outline
  kForm,            // form the points show but do not pin down
  kFormPrior,       // form between and beyond the points
  kReading,         // one reading of a calliper or micrometer
  kReadingScatter,  // of the mean of several such readings
  kReadings,        // readings of several kinds together
  kRounding,        // of the digits typed
  kChord,
  kSagitta,
  kScale,           // of the calibration: board, stage, stated scale
  kEdgeOffset,      // where light says the edge is, against where it is
  kBoardAndLens,    // pose of the board, and the lens, in this picture
  kHeight,          // of the edge above the board
  kReferencePiece,  // diameter of a round piece of known size in the picture
  kTilt,            // of a side view\'s axis towards the camera
  kTemperature,
  kOther
};

// What two sizes must have in common for an error of this source to be the same in both.
enum class SharedBy { kNothing, kCalibration, kPicture };

std::string_view name(UncertaintySource source);  // as it stands in the record; empty for kOther
std::optional<UncertaintySource> parse_uncertainty_source(std::string_view name);
SharedBy shared_by(UncertaintySource source);
// Part of what the fit of the points leaves open, not of scale, place or temperature.
bool of_the_fit(UncertaintySource source);

struct BudgetLine {
  UncertaintySource source = UncertaintySource::kOther;
  double u_mm = 0;  // contribution to the standard uncertainty of the size (a round size: its DIAMETER)
  std::string other_name = {};  // kOther: the words of the record it was read from

  std::string text() const {
    return source == UncertaintySource::kOther ? other_name : std::string(name(source));
  }
  // The source by the words of a record.
  static BudgetLine from_record(const std::string& words, double u_mm);
};

}  // namespace rondure
