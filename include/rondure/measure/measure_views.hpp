// Several photographs of one part at rest -> one set of features: each rim with its height, found and not told.
//
// Every photograph must show the chessboard (PhotoOptions::board). Sizes: the joint adjustment of part_views.hpp, then
// measure_outline over the points of all views; one budget. The height told, if any, is a prior. Lengths mm.
// Errors: those of load_picture, plane_of_photo (with the file's name) and find_part_in_views; kBadArgument where no board
// is given, or a scan, a scale or references besides.
#pragma once
#include <string>
#include <vector>

#include "rondure/core/result.hpp"
#include "rondure/measure/measure_photo.hpp"
#include "rondure/photo/part_views.hpp"

namespace rondure {

// A round line that lies on the board in all views: a mark, a shadow, a foot.
struct LineOnBoard {
  std::string called;
  Circle circle;  // the first view's frame
};

struct ViewsMeasurement {
  PhotoMeasurement measured;                          // outlines are those of the first view used
  std::vector<ViewOfPart> views;                      // in the order of the files
  std::vector<std::vector<OverlayOutline>> outlines;  // of each view, to draw with overlay_png
  std::vector<LineOnBoard> on_the_board;
  std::string calibration;  // what the scale comes from, for the record
};

Result<ViewsMeasurement> measure_one_part(const std::vector<std::string>& files, const PhotoOptions& options);

}  // namespace rondure
