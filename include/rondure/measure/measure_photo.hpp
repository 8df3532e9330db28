// From one photograph to features: the measuring plane, the round edges found on it, each measured and named.
//
// The plane comes from the first of these that is given: a flatbed scan, a known scale (square-on view), the board in the picture
// (the lens from the calibration, where it holds one), the calibration's own plane. A number belongs to the PART:
// scale, plane, height, edge and form are in the budget. Lengths mm; y is up in the part plane (geometry.hpp).
// Errors: those of the steps (load_picture, plane_from_board, plane_for, find_round_edges, measure_outline,
// read_reference_piece), and kBadArgument where nothing gives a scale.
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "rondure/core/result.hpp"
#include "rondure/interpret/feature.hpp"
#include "rondure/interpret/outline.hpp"
#include "rondure/measure/scan_source.hpp"
#include "rondure/photo/board_plane.hpp"
#include "rondure/photo/calibration.hpp"
#include "rondure/photo/measuring_plane.hpp"
#include "rondure/photo/overlay.hpp"
#include "rondure/photo/picture.hpp"
#include "rondure/photo/reference_piece.hpp"
#include "rondure/photo/round_edges.hpp"

namespace rondure {

// What a person has said of one edge, by the name it was found under: as PhotoMeasurement::found_as has it ("bore",
// "hub step 2", "outside, part 2").
struct EdgeChoice {
  std::string found_as;
  // "outside", "bore", "hub step", ...; one of is_not_the_part: no feature; empty: as found.
  std::string called;
  std::vector<OutlineSector> left_out, taken_in;
};
bool is_not_the_part(const std::string& called);  // "shadow", "foot", "mark", "leave out"

struct PhotoOptions {
  std::optional<ScanAsked> scan;            // a flatbed scan, no parallax
  std::optional<Estimate> scale_px_per_mm;  // square-on view of known scale
  bool scale_in_dpi = false;                // it was told as scanners count: cautioned
  std::optional<BoardSize> board;           // a chessboard in this very picture
  BoardPlaneOptions board_options;
  std::optional<Calibration> calibration;  // camera, plane or scale
  // Of the edge above the board, towards the camera; absent: with the board in the picture it is looked for there, else 0.
  std::optional<Estimate> height_mm;
  std::vector<ReferencePiece> references;  // sizes are theirs; their own edges are no features
  EdgeOptions edges;
  OutlineOptions outline;  // what is stated of the part: form, temperature; the rest is filled in
  PictureChannel channel = PictureChannel::kLuma;
  std::vector<EdgeChoice> choices;  // an edge that is not there: kBadArgument, with the names that are
};

struct PhotoMeasurement {
  std::vector<Feature> features;  // part by part, its outside first; source.file is the caller's to fill in
  // Of a bore or step: how far its centre lies off that of its part's outside; also a note of the feature.
  std::vector<std::optional<Estimate>> eccentricities_mm;
  std::vector<OverlayOutline> outlines;  // one a feature, to draw with overlay_png
  std::vector<std::string> found_as;     // one a feature: the name a choice has to give
  // Edges that are no edge of the part: a person has said so, as EdgeChoice has them, or the program (then
  // found_as is empty): a shadow, the foot of a hub's or bore's wall, a mark.
  struct NotThePart {
    std::string found_as, called;
    OverlayOutline outline;
    Circle circle;  // in the part's plane; a shadow's on the board
  };
  std::vector<NotThePart> not_the_part;
};

// All in one: the file read, the plane found, the edges measured.
Result<PhotoMeasurement> measure_photo(const std::string& file, const PhotoOptions& options);

// The board's size counted in the picture, where all its sides are seen. Error: kNoBoard.
Result<BoardSize> board_size_as_seen(const Picture& picture, double square_mm);

// The same in steps, for who shows progress or draws on the picture.
Result<MeasuringPlane> plane_of_photo(const Picture& picture, const PhotoOptions& options);
Result<PhotoMeasurement> measure_photo(const Picture& picture, const MeasuringPlane& plane,
                                       const PhotoOptions& options);
// What the pieces in the picture say of scale and edge; empty when there are none.
Result<std::optional<ReferenceScale>> reference_scale(const Picture& picture, const MeasuringPlane& plane,
                                                      const std::vector<ReferencePiece>& pieces,
                                                      const EdgeOptions& edges);

}  // namespace rondure
