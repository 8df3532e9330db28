#include "rondure/core/result.hpp"

#include <algorithm>

namespace rondure {

std::string_view sentence(ErrorCode code) {
  switch (code) {
    case ErrorCode::kBadArgument:
      return "argument not usable";
    case ErrorCode::kBadLength:
      return "not a length";
    case ErrorCode::kFileMissing:
      return "no such file";
    case ErrorCode::kFileUnreadable:
      return "file cannot be read";
    case ErrorCode::kFileUnwritable:
      return "file cannot be written";
    case ErrorCode::kFileDamaged:
      return "file is damaged";
    case ErrorCode::kFileLocked:
      return "file is being written by another program";
    case ErrorCode::kBadLine:
      return "line not understood";
    case ErrorCode::kMixedUnits:
      return "mixed units";
    case ErrorCode::kNotFinite:
      return "not a finite number";
    case ErrorCode::kTooFewPoints:
      return "too few points";
    case ErrorCode::kCollinear:
      return "points lie on a straight line";
    case ErrorCode::kRadiusUndetermined:
      return "radius cannot be found from these points";
    case ErrorCode::kNoEllipse:
      return "no ellipse fits these points";
    case ErrorCode::kArcTooShort:
      return "arc too short";
    case ErrorCode::kNotAPicture:
      return "not a picture";
    case ErrorCode::kPictureSize:
      return "picture size not usable";
    case ErrorCode::kNoRoundEdge:
      return "no round edge found";
    case ErrorCode::kNoBoard:
      return "no chessboard found";
    case ErrorCode::kBoardMismatch:
      return "chessboard of another size";
    case ErrorCode::kBadCalibration:
      return "calibration not possible";
    case ErrorCode::kCalibrationMismatch:
      return "calibration belongs to another camera or picture size";
    case ErrorCode::kNoAnswer:
      return "cannot tell from this";
  }
  return "unknown error";
}

std::string Error::message() const {
  std::string text(sentence(code));
  if (!detail.empty()) text += ": " + detail;
  // what is quoted from a file may hold anything
  std::replace_if(
      text.begin(), text.end(), [](unsigned char c) { return c < 32 || c == 127; }, ' ');
  return text;
}

}  // namespace rondure
