#include "cli/bench/named_in_text.hpp"

#include <algorithm>
#include <iterator>

#include "cli/bench/answers.hpp"

namespace rondure::cli {
namespace {

constexpr std::string_view kTableHeads[] = {"name,kind,radius", "name,length,outside", "name,kind,size",
                                            "system,grid,step_mm"};
constexpr std::string_view kPages = "/api/pages/";

}  // namespace

std::string table_head(const std::string& text) {
  for (std::string line : lines_of(text)) {
    std::erase_if(line, [](unsigned char c) { return c == ' ' || c == '\r' || c == '\t'; });
    if (!line.empty() && line[0] != '#') return line;
  }
  return {};
}

std::string_view table_kind(const std::string& text) {
  const std::string head = table_head(text);
  const auto at =
      std::ranges::find_if(kTableHeads, [&](std::string_view begin) { return head.starts_with(begin); });
  return at == std::end(kTableHeads) ? std::string_view() : *at;
}

bool is_number(std::string_view id) {
  return !id.empty() && id.size() <= 9 && id.find_first_not_of("0123456789") == std::string_view::npos;
}

std::optional<PageOfSet> page_asked(std::string_view path) {
  if (!path.starts_with(kPages)) return std::nullopt;
  path.remove_prefix(kPages.size());
  const auto slash = path.find('/');
  const std::string_view id = path.substr(0, slash);
  if (!is_number(id) || slash == std::string_view::npos) return std::nullopt;
  return PageOfSet{std::string(id), std::string(path.substr(slash + 1))};
}

}  // namespace rondure::cli
