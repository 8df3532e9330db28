// What a user says of the part: its name, the maker's mark on it, a date, a note. Kept in the section "part" of the
// record, like any field that the record does not look into.
#pragma once
#include <string>

#include "rondure/record/part_record.hpp"

namespace rondure {

// Empty = not said.
struct PartFacts {
  std::string name, mark, date, note;
  bool said() const { return !(name + mark + date + note).empty(); }
};

PartFacts facts_of(const PartRecord& record);
// What is not empty replaces what stood there.
void put_facts(PartRecord& record, const PartFacts& facts);

}  // namespace rondure
