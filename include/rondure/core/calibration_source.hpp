// A file that a calibration was made from, and what it held.
#pragma once
#include <string>

namespace rondure {

struct CalibrationSource {
  std::string file, sha256;
};

}  // namespace rondure
