// The bones of a TIFF file (TIFF 6.0; EXIF and DNG are made the same way): directories of 12-byte entries, read without
// trusting any of their places.
#pragma once
#include <algorithm>
#include <cstdint>
#include <string>

#include "photo/picture/picture_decoders.hpp"

namespace rondure {

class TiffBlock {
public:
  explicit TiffBlock(Bytes bytes) : bytes_(bytes), big_endian_(bytes.size() > 1 && bytes[0] == 'M') {}

  // "II" or "MM" and 42.
  bool is_tiff() const {
    return bytes_.size() >= 14 && bytes_[0] == bytes_[1] && (bytes_[0] == 'I' || bytes_[0] == 'M') &&
           number(2, 2) == 42;
  }
  bool has(std::size_t from, std::size_t count) const {
    return from <= bytes_.size() && count <= bytes_.size() - from;
  }
  std::uint32_t number(std::size_t from, int count) const {
    std::uint32_t value = 0;
    for (int i = 0; i < count; ++i)
      value = value << 8 | bytes_[from + static_cast<std::size_t>(big_endian_ ? i : count - 1 - i)];
    return value;
  }
  std::string text(std::size_t entry) const {
    const std::size_t length = number(entry + 4, 4);
    const std::size_t from = length <= 4 ? entry + 8 : number(entry + 8, 4);
    if (length > 256 || !has(from, length)) return {};
    std::string out(reinterpret_cast<const char*>(bytes_.data()) + from, length);
    out.resize(std::min(out.find('\0'), out.size()));
    out.erase(std::remove_if(out.begin(), out.end(), [](char c) { return c < 32 || c > 126; }), out.end());
    while (!out.empty() && out.back() == ' ') out.pop_back();
    return out;
  }
  // An unsigned rational (type 5); 0 where it lies outside the file or divides by 0.
  double rational(std::size_t entry) const {
    const std::size_t from = number(entry + 8, 4);
    if (!has(from, 8) || number(from + 4, 4) == 0) return 0;
    return static_cast<double>(number(from, 4)) / number(from + 4, 4);
  }

  // Calls see(entry, tag, type) for every whole entry of the directory at `at`; returns where the next directory lies, 0
  // for none.
  template <class See>
  std::size_t directory(std::size_t at, const See& see) const {
    if (!has(at, 2)) return 0;
    const std::size_t entries = number(at, 2);
    for (std::size_t i = 0; i < entries; ++i) {
      const std::size_t entry = at + 2 + 12 * i;
      if (!has(entry, 12)) return 0;
      see(entry, static_cast<int>(number(entry, 2)), static_cast<int>(number(entry + 2, 2)));
    }
    const std::size_t next = at + 2 + 12 * entries;
    return has(next, 4) ? number(next, 4) : 0;
  }

private:
  Bytes bytes_;
  bool big_endian_;
};

}  // namespace rondure
