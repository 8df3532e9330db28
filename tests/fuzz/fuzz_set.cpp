// The answer of a set, as 'report' and 'compare' read it: whatever is accepted is written again as an answer that reads
// back the same.
#include <cstdint>
#include <string>

#include "must.hpp"
#include "rondure/record/set_json.hpp"

using namespace rondure;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  const auto file = parse_set_json(text);
  if (!file) {
    must(!file.error().detail.empty() && file.error().message().find('\n') == std::string::npos);
    return 0;
  }
  must(is_set_json(text) && file->files.size() == file->set.parts.size());
  const std::string written = set_json(file->set, file->files);
  const auto again = parse_set_json(written);
  must(again && set_json(again->set, again->files) == written);
  return 0;
}
