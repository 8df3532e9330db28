// What a user says of the part: its name, the maker's mark on it, a date, a note. Kept in the section "part" of the
// record, like any field that the record does not look into.
#pragma once
#include <string>
#include <utility>
#include <vector>

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

// The user's word for the drawing of a feature (key "same" of the feature): features with one word, of any part, had one
// drawing. Pairs of feature and word.
std::vector<std::pair<std::string, std::string>> same_words(const PartRecord& record);
// Of a feature of a record as it was read from its file.
void put_same(PartRecord& record, const std::string& feature, const std::string& word);

}  // namespace rondure
