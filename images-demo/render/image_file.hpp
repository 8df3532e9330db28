// Rendered pictures to files and to the measuring code.
#pragma once
#include <filesystem>

#include "render/scene.hpp"
#include "rondure/photo/picture.hpp"

namespace rondure::render {

bool write_png(const std::filesystem::path& file, const Image& image);  // 8 or 16 bit
std::vector<std::uint8_t> jpeg_bytes(const Image& image, int quality);  // colour as 4:2:0; 8 bit only
bool write_jpeg(const std::filesystem::path& file, const Image& image, int quality);
Image jpeg_round_trip(const Image& image, int quality);  // what JPEG makes of it

// As load_picture would give it (luma by ITU-R BT.601 for colour).
Picture as_picture(const Image& image);

}  // namespace rondure::render
