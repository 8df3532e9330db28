// Something the user should know of an answer that stands all the same.
#pragma once
#include <string>

#include "rondure/core/warning_code.hpp"

namespace rondure {

struct Warning {
  WarningCode code;
  std::string text;  // one sentence for the user
};

inline bool is_caution(const Warning& warning) { return warning.code.is_caution(); }

}  // namespace rondure
