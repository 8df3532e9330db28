// Files that hold what a camera's sensor read: DNG and camera raw. Their samples are proportional to light: there is no tone
// curve to guess, and edges in them are placed with linear_light on.
#pragma once
#include <filesystem>
#include <string>
#include <vector>

#include "rondure/photo/picture.hpp"

namespace rondure {

// Whether the pictures are to be taken as proportional to light: told so, or all of them raw (by
// their bytes, not by their names).
// Errors: kBadArgument, raw ones beside others: they need one answer.
Result<bool> linear_light_of(const std::vector<std::string>& files, bool told);

// Of a file that is stored with a tone curve by its kind (JPEG).
bool has_tone_curve(const std::filesystem::path& file);

// A picture of linear light made fit for a screen, by the curve of IEC 61966-2-1. Others are left alone.
Picture seen_on_screen(Picture picture);

}  // namespace rondure
