#include "photo/solid/refused_part.hpp"

#include <fmt/format.h>

#include <string>

namespace rondure {
namespace {

Error round_edge(const RefusedPart& part, const WallFit& found, const std::string& why) {
  const auto px =
      pixel_from_part(part.board, PartPoint::from(part.camera.seen_at(found.wall.center, found.wall.top_mm)));
  return {ErrorCode::kNoRoundEdge,
          fmt::format("found a round edge of about {:.1f} mm at {:.0f},{:.0f} px, {}",
                      2 * found.wall.radius_mm, px ? px->x_px : 0, px ? px->y_px : 0, why)};
}

}  // namespace

Error RefusedPart::rim_of_hole(const WallFit& found) const {
  return round_edge(
      *this, found,
      "but no ground beside it: it may be the rim of a hole in a part that hardly stands out from its "
      "ground; needed other paper, clearly darker or lighter than the part, and light from all sides");
}

Error RefusedPart::on_a_face(const WallFit& found) const {
  return round_edge(
      *this, found,
      "but beside it is a face that ends farther out all round: it may be a bore in a larger part whose "
      "outline is not found; needed that part's height (--height 6mm), or a picture from straight above it");
}

Error RefusedPart::no_wall_under(const WallFit& found, double told_mm) const {
  return round_edge(
      *this, found,
      fmt::format(
          "told to stand {:.1f} mm above the board, and no wall under it: a slip of the point in the height, "
          "or "
          "the rim of a hole in a part that hardly stands out from its ground; needed the right height, "
          "or other paper, clearly darker or lighter than the part",
          told_mm));
}

Error RefusedPart::too_little_outline(const WallFit& found) const {
  return round_edge(
      *this, found,
      "but too little of an outline to tell how high it stands: it may be a rim within a larger part; needed "
      "the part's height (--height 6mm), or other paper, clearly darker or lighter than the part");
}

Error RefusedPart::two_outlines(const Circle& c, double other_radius_mm) const {
  const auto px = pixel_from_part(plane, c.center);
  return {ErrorCode::kNoRoundEdge,
          fmt::format("found a part at {:.0f},{:.0f} px whose outside may be {:.1f} or {:.1f} mm; needed "
                      "{}other paper, clearly darker or lighter than the part, and light from all sides",
                      px ? px->x_px : 0, px ? px->y_px : 0, 2 * c.radius_mm, 2 * other_radius_mm,
                      height_told ? "" : "its height (--height 6mm), or ")};
}

Warning height_unknown(double radius_mm, const CameraPlace& camera) {
  return {
      "height-unknown",
      fmt::format(
          "HEIGHT NOT TOLD, and this picture does not show it: measured as if it lay flat. Every mm that "
          "the edge stands above the board makes it {:.3f} mm smaller. Measure the height with a calliper "
          "and give it (--height 6mm; --height 0 for a flat thing), or take one more picture at 25 degrees",
          2 * radius_mm / camera.height_mm)};
}

}  // namespace rondure
