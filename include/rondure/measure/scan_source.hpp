// Where the scale of a flatbed scan comes from: the resolution that is stated or in the file, and the scanner's own file.
#pragma once
#include <optional>

#include "rondure/core/result.hpp"
#include "rondure/photo/measuring_plane.hpp"
#include "rondure/photo/picture.hpp"
#include "rondure/photo/scan.hpp"

namespace rondure {

struct ScanAsked {
  std::optional<Resolution> stated;  // else that of the file
  std::optional<ScannerFile>
      scanner;  // of calibrate scanner: the two axes; else their difference is not known
};
// Errors: those of resolution_of; kCalibrationMismatch (a scanner's file made at another resolution).
Result<MeasuringPlane> scan_plane(const Picture& picture, const ScanAsked& asked);

}  // namespace rondure
