// The part record: whatever is accepted is written again as a record that reads back the same.
#include <cstdint>
#include <cstdlib>

#include "rondure/record/part_record.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  const auto record = rondure::parse_part_record(text);
  if (!record) {
    if (record.error().detail.empty()) std::abort();  // says what and where
    return 0;
  }
  const std::string written = rondure::to_json(*record);
  const auto again = rondure::parse_part_record(written);
  if (!again || rondure::to_json(*again) != written) std::abort();
  return 0;
}
