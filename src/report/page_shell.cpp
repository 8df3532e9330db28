#include "page_shell.hpp"

#include <fmt/format.h>

#include "rondure/core/builtin_data.hpp"
#include "svg.hpp"

namespace rondure {
namespace {

// Hatching for left-out sectors, defined once for every drawing of the page.
constexpr const char* kHatch =
    "<svg width=\"0\" height=\"0\" style=\"position:absolute\" aria-hidden=\"true\"><defs><pattern "
    "id=\"hatch\" width=\"5\" height=\"5\" "
    "patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\"><rect width=\"5\" height=\"5\" "
    "fill=\"#ffffff\"/>"
    "<line x1=\"0\" y1=\"0\" x2=\"0\" y2=\"5\" stroke=\"#16202a\" "
    "stroke-width=\"1.4\"/></pattern></defs></svg>\n";

}  // namespace

std::string page_opening(const std::string& title) {
  return fmt::format(
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" "
      "content=\"width=device-width, "
      "initial-scale=1\">\n<title>{0}</title>\n<style>\n{1}</style>\n</head>\n<body>\n{2}<header>\n<h1>{0}</"
      "h1>\n",
      escape_markup(title), builtin_data("page.css"), kHatch);
}

}  // namespace rondure
