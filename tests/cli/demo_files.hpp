// Files of the demo. Header only.
#pragma once
#include <filesystem>
#include <string>

// The full path of images-demo/NAME.
inline std::string demo(const std::string& name) {
  return (std::filesystem::canonical(RONDURE_SOURCE) / "images-demo" / name).string();
}
