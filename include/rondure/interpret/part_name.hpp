// Features of further parts in one picture carry the part in their name: "bore, part 2". The largest, part 1, has plain
// names.
#pragma once
#include <charconv>
#include <string>
#include <string_view>

namespace rondure {

inline constexpr std::string_view kPartMark = ", part ";

inline std::string name_in_part(const std::string& name, int part_number) {
  return name + std::string(kPartMark) + std::to_string(part_number);
}

// 0: the name says of no part.
inline int part_number_of(std::string_view name) {
  const auto at = name.rfind(kPartMark);
  if (at == std::string_view::npos) return 0;
  const std::string_view tail = name.substr(at + kPartMark.size());
  int number = 0;
  const auto [end, failed] = std::from_chars(tail.data(), tail.data() + tail.size(), number);
  return failed == std::errc() && end == tail.data() + tail.size() && number > 0 ? number : 0;
}

}  // namespace rondure
