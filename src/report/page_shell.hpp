// What every page begins with: the head with the style inside, the hatching of the drawings, the title.
#pragma once
#include <string>

namespace rondure {

// Up to and with the title, in an open <header>.
std::string page_opening(const std::string& title);

}  // namespace rondure
