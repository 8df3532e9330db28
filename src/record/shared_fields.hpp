// The fields of types that stand inside several others.
#pragma once
#include "json/warning_fields.hpp"
#include "rondure/core/uncertainty_source.hpp"
#include "rondure/interpret/size_grids.hpp"

namespace rondure::record {

inline std::string_view system_word(UnitSystem system) { return name(system); }
inline UnitSystem parse_system(std::string_view word) {
  return word == name(UnitSystem::kInch) ? UnitSystem::kInch : UnitSystem::kMetric;
}

struct SharedFields : json::WarningFields {
  using WarningFields::list;
  template <class Io>
  static void list(Io& io, BudgetLine& v) {
    std::string source = v.text();
    io.always("source", source);
    io("u_mm", v.u_mm);
    if constexpr (Io::kReads) v = BudgetLine::from_record(source, v.u_mm);
  }
};

}  // namespace rondure::record
