#include "cli/measure/measure_edges.hpp"

#include <algorithm>
#include <cmath>

#include "rondure/core/length.hpp"

namespace rondure::cli {
namespace {

EdgeChoice& choice_of(std::vector<EdgeChoice>& all, const std::string& found_as) {
  const auto at = std::ranges::find(all, found_as, &EdgeChoice::found_as);
  if (at != all.end()) return *at;
  all.push_back({found_as, "", {}, {}});
  return all.back();
}

// "bore@30..60"
std::optional<std::pair<std::string, OutlineSector>> sector_of(const std::string& text) {
  const auto at = text.rfind('@'), dots = text.find("..", at == std::string::npos ? 0 : at);
  if (at == std::string::npos || at == 0 || dots == std::string::npos) return std::nullopt;
  const auto from = parse_number(text.substr(at + 1, dots - at - 1)),
             to = parse_number(text.substr(dots + 2));
  if (!from || !to || std::abs(*from) > 720 || std::abs(*to) > 720) return std::nullopt;
  return std::pair{text.substr(0, at), OutlineSector{*from, *to}};
}

}  // namespace

void add_edge_options(CLI::App& command, EdgeWords& words) {
  command
      .add_option("--call", words.called,
                  "what an edge is, by the name it was found under: 'hub step=bore'; or no edge of the part: "
                  "'outside=shadow', foot, mark, leave out")
      ->type_name("EDGE=WHAT")
      ->allow_extra_args(false);
  command
      .add_option("--leave-out", words.left_out,
                  "a sector of an edge that must not count, degrees counter-clockwise: 'bore@30..60'")
      ->type_name("EDGE@FROM..TO")
      ->allow_extra_args(false);
  command
      .add_option("--take-in", words.taken_in,
                  "a sector that was taken for damage but is sound: 'bore@30..60'")
      ->type_name("EDGE@FROM..TO")
      ->allow_extra_args(false);
}

Result<std::vector<EdgeChoice>> edge_choices(const EdgeWords& words) {
  std::vector<EdgeChoice> all;
  for (const std::string& text : words.called) {
    const auto sign = text.find('=');
    if (sign == std::string::npos || sign == 0 || sign + 1 == text.size())
      return Error{ErrorCode::kBadArgument, "--call: found '" + text + "', needed such as 'hub step=bore'"};
    choice_of(all, text.substr(0, sign)).called = text.substr(sign + 1);
  }
  const auto sectors = [&](const std::vector<std::string>& texts, const char* option,
                           auto member) -> Result<void> {
    for (const std::string& text : texts) {
      const auto sector = sector_of(text);
      if (!sector)
        return Error{ErrorCode::kBadArgument,
                     std::string(option) + ": found '" + text + "', needed such as 'bore@30..60' (degrees)"};
      (choice_of(all, sector->first).*member).push_back(sector->second);
    }
    return {};
  };
  if (const auto ok = sectors(words.left_out, "--leave-out", &EdgeChoice::left_out); !ok) return ok.error();
  if (const auto ok = sectors(words.taken_in, "--take-in", &EdgeChoice::taken_in); !ok) return ok.error();
  return all;
}

}  // namespace rondure::cli
