// Where the edges of a photograph run, in px, for whoever draws them over it (the page at the bench):
//   {"width_px":..,"height_px":..,
//    "edges":[{"name":..,"found_as":..,"outline_px":[[x,y],...],"left_out_px":[[[x,y],...],...]}],
//    "not_the_part":[{"called":..,"found_as":..,"outline_px":[...]}],
//    "clipped_px":[[x,y,width,height],...],      light that the sensor could not tell, where it touches an edge
//    "corners_px":[[x,y],...]}                   board not found: what looks like its corners, and nothing else
#pragma once
#include <string>

#include "rondure/measure/measure_photo.hpp"
#include "rondure/photo/side_outline.hpp"

namespace rondure::cli {

// Errors: kFileUnwritable.
Result<void> write_outlines(const std::string& file, const Picture& picture,
                            const PhotoMeasurement& measured);
// A part on its side: its one outline.
Result<void> write_side_outline(const std::string& file, const Picture& picture, const SideOutline& outline);
Result<void> write_corners_seen(const std::string& file, const Picture& picture);

}  // namespace rondure::cli
