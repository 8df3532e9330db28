// The fields of types that stand inside several others.
#pragma once
#include "json/field_list.hpp"
#include "rondure/core/uncertainty_source.hpp"
#include "rondure/core/warning.hpp"

namespace rondure::record {

inline std::string_view warning_word(WarningCode code) { return code.word(); }

struct SharedFields {
  template <class Io>
  static void list(Io& io, Warning& v) {
    io.word("code", v.code, warning_word, WarningCode::from_record), io.always("text", v.text);
  }
  template <class Io>
  static void list(Io& io, BudgetLine& v) {
    std::string source = v.text();
    io.always("source", source);
    io("u_mm", v.u_mm);
    if constexpr (Io::kReads) v = BudgetLine::from_record(source, v.u_mm);
  }
};

}  // namespace rondure::record
