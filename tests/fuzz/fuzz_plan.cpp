// The plan's parsers. First byte: t = shelf of tools, s = steps, else the plan's own JSON, which is written
// again, read back the same, printed and drawn whatever it holds.
#include <cstdint>
#include <cstdlib>

#include "rondure/plan/section_drawing.hpp"
#include "rondure/record/plan_section.hpp"

using namespace rondure::plan;
using rondure::parse_plan, rondure::plan_json;

namespace {
void shelf(const std::string& text) {
  const auto tools = parse_tools(text);
  if (!tools) return;
  if (!rank_tools({"arc", {13, 0.05}, 6}, *tools) && tools->empty()) std::abort();
}
void steps(const std::string& text) {
  const auto profile = parse_steps(text);
  if (!profile) return;
  if (mass_properties(*profile, 1000) && outline_svg(*profile).empty()) std::abort();
}
void plan(const std::string& text) {
  const auto read = parse_plan(text);
  if (!read) {
    if (read.error().detail.empty()) std::abort();
    return;
  }
  const std::string written = plan_json(*read);
  const auto again = parse_plan(written);
  if (!again || plan_json(*again) != written) std::abort();
  plan_text(*read);
  section_svg(*read);
  form_tool_svg(*read);
  outline_dxf(read->profile);
}
}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const std::string text(reinterpret_cast<const char*>(data) + 1, size - 1);
  if (data[0] == 't')
    shelf(text);
  else if (data[0] == 's')
    steps(text);
  else
    plan(data[0] == '{' ? "{" + text : text);
  return 0;
}
