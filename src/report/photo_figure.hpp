// The photograph of a feature with what was found drawn over it, as an SVG element with the picture inside.
#pragma once
#include <string>

#include "rondure/report/page.hpp"

namespace rondure {

// Empty when the feature has no map to the picture. Angles of the charts are marked round the part.
std::string photo_figure(const Feature& feature, const PagePicture& picture);

// Bytes as base64 (RFC 4648).
std::string base64(const std::string& bytes);
// Grey values as a JPEG file (quality 1 to 100); empty when that fails.
std::string grey_jpeg(const std::vector<std::uint8_t>& grey, int width_px, int height_px, int quality);

}  // namespace rondure
