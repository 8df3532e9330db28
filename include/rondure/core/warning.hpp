// Something the user should know of an answer that stands all the same.
#pragma once
#include <string>

namespace rondure {

struct Warning {
  std::string code;  // kebab-case, stable: "clipped-light", "short-arc"
  std::string text;  // one sentence for the user
};

}  // namespace rondure
