// The measuring plane of a photograph, from whichever of its sources is given.
#include <fmt/format.h>

#include <cmath>
#include <optional>

#include "rondure/measure/measure_photo.hpp"
#include "rondure/photo/side_outline.hpp"

namespace rondure {
namespace {

// The plane of a board of known size; one whose squares were counted instead of its inner corners has one less each
// way.
Result<MeasuringPlane> plane_of_board(const Picture& picture, const BoardSize& told,
                                      const std::optional<CameraCalibration>& camera,
                                      const BoardPlaneOptions& options) {
  BoardSize size = told;
  if (told.columns == 0) {
    const auto seen = board_size_as_seen(picture, told.square_mm);
    if (!seen) return seen.error();
    size = *seen;
  }
  auto plane = plane_from_board(picture, size, camera, options);
  if (plane || plane.error().code != ErrorCode::kBoardMismatch || told.columns < 4 || told.rows < 4)
    return plane;
  auto by_corners =
      plane_from_board(picture, {told.columns - 1, told.rows - 1, told.square_mm}, camera, options);
  if (!by_corners) return plane;
  by_corners->warnings.push_back(
      {"board-squares-counted",
       fmt::format("the board has {} squares, so {}x{} inner corners: --board counts corners", told.text(),
                   told.columns - 1, told.rows - 1)});
  return by_corners;
}

MeasuringPlane plane_of_told_scale(const Picture& picture, const PhotoOptions& options) {
  MeasuringPlane plane = plane_of_scale(picture.width_px, picture.height_px, options.scale_px_per_mm->value,
                                        options.scale_px_per_mm->u);
  if (options.scale_in_dpi)
    plane.warnings.push_back(
        {"scale-dpi",
         "a photograph has no dpi, whatever its file notes: only a scan has (--scan 600dpi). Needed in a "
         "photograph: a board, a pin, or px/mm counted on something of known size"});
  return plane;
}

// EXIF 2.3, FocalLengthIn35mmFilm: by the diagonal of that film, 43.27 mm. The doubt: whole millimetres (2 %), makers that
// go by the width (4 % for 4:3), focusing near (common practice, no source).
constexpr double kFilmDiagonal_mm = 43.27, kUNoted_ratio = 0.05;
std::optional<FocalHint> focal_noted(const Picture& picture) {
  if (!(picture.focal_35mm_mm > 5) || picture.focal_35mm_mm > 2000) return {};
  return FocalHint{picture.focal_35mm_mm / kFilmDiagonal_mm * std::hypot(picture.width_px, picture.height_px),
                   kUNoted_ratio};
}

constexpr double kHighest_ratio = 0.8;  // of the camera's own height

}  // namespace

Result<BoardSize> board_size_as_seen(const Picture& picture, double square_mm) {
  constexpr int kAny = 1000;  // corners: larger than any board, so that whatever is there is counted
  const auto seen = find_board(picture, {kAny, kAny, square_mm});
  if (!seen) {
    if (seen.error().code != ErrorCode::kNoBoard) return seen.error();
    return Error{ErrorCode::kNoBoard,
                 "found no whole chessboard to count; needed one in focus with white paper "
                 "round it, or its size, such as --board 9x6"};
  }
  if (seen->border_left && seen->border_right && seen->border_top && seen->border_bottom)
    return BoardSize{seen->columns, seen->rows, square_mm};
  return Error{ErrorCode::kNoBoard,
               fmt::format("found {}x{} corners of a chessboard that goes on beyond; needed its "
                           "size, such as --board 9x6, or all of it in the picture",
                           seen->columns, seen->rows)};
}

Result<MeasuringPlane> plane_of_photo(const Picture& picture, const PhotoOptions& options) {
  Result<MeasuringPlane> plane = [&]() -> Result<MeasuringPlane> {
    if (options.scan) return scan_plane(picture, *options.scan);
    if (options.scale_px_per_mm) return plane_of_told_scale(picture, options);
    if (options.board) {
      std::optional<CameraCalibration> camera;
      if (options.calibration) camera = options.calibration->camera;
      return plane_of_board(picture, *options.board, camera, options.board_options);
    }
    if (options.calibration) return plane_for(*options.calibration, picture);
    return Error{ErrorCode::kBadArgument, "found no scale, needed a calibration, a board or a known scale"};
  }();
  if (!plane || !options.height_mm || (options.height_mm->value == 0 && options.height_mm->u == 0))
    return plane;
  if (auto raised = at_height(*plane, options.height_mm->value, options.height_mm->u)) {
    const auto camera_mm = camera_above(*plane);
    if (camera_mm && !(options.height_mm->value < kHighest_ratio * camera_mm->z()))
      return Error{ErrorCode::kBadArgument,
                   fmt::format("found a height of {:.1f} mm, needed one well below the camera, which stood "
                               "{:.0f} mm above the board",
                               options.height_mm->value, camera_mm->z())};
    return raised;
  }
  // The view does not tell the focal length: the picture's own note may.
  const auto noted = focal_noted(picture);
  auto raised = at_height(*plane, options.height_mm->value, options.height_mm->u, noted);
  if (raised && noted)
    raised->warnings.push_back(
        {"focal-from-note", fmt::format("no camera file: the focal length is taken from the picture's EXIF "
                                        "note ({:.0f} mm as on 35 mm film, "
                                        "{:.0f} px) and doubted by {:.0f} %; a camera file is better",
                                        picture.focal_35mm_mm, noted->focal_px, 100 * noted->u_ratio)});
  return raised;
}

}  // namespace rondure
