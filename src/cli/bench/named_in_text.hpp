// What a question names besides a file of the folder, read from its text alone: the kind of a table, a page of a set.
#pragma once
#include <optional>
#include <string>
#include <string_view>

namespace rondure::cli {

// How the columns of a table begin, by its kind: "name,kind,radius" tools, "name,length,outside" steps along the axis,
// "name,kind,size" sizes, "system,grid,step_mm" grids. Empty for what is none of these.
std::string_view table_kind(const std::string& text);
// The first line that is no comment, without blanks; empty where there is none.
std::string table_head(const std::string& text);

struct PageOfSet {
  std::string id, name;  // digits; a name that is still to be held against the set's folder
};
// "/api/pages/7/idler-1.html". Empty where there is no number of a set.
std::optional<PageOfSet> page_asked(std::string_view path);

// The number of a drawing or a set of this run: one to nine digits.
bool is_number(std::string_view id);

}  // namespace rondure::cli
