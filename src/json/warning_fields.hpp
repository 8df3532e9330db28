// A warning as part records and calibration files hold it.
#pragma once
#include "json/field_list.hpp"
#include "rondure/core/warning.hpp"

namespace rondure::json {

struct WarningFields {
  template <class Io>
  static void list(Io& io, Warning& v) {
    io.word(
        "code", v.code, [](WarningCode code) { return code.word(); }, WarningCode::from_record);
    io.always("text", v.text);
  }
};

}  // namespace rondure::json
