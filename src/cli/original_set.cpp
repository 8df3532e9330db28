#include "original_set.hpp"

#include <filesystem>
#include <set>

namespace rondure::cli {

std::vector<std::string> part_names(const std::vector<std::string>& files) {
  std::vector<std::string> names;
  for (const std::string& file : files) names.push_back(std::filesystem::path(file).stem().string());
  return std::set(names.begin(), names.end()).size() == files.size() ? names : files;
}

Result<SizeTie> parse_tie(const std::string& text, double belt_mm) {
  const Error bad{
      ErrorCode::kBadArgument,
      "--tie: found '" + text.substr(0, 80) +
          "', needed PART:FEATURE/PART:FEATURE=RATIO+-U such as 'a:outside/b:outside=2.00+-0.01'"};
  const auto equals = text.rfind('=');
  if (equals == std::string::npos) return bad;
  const std::string names = text.substr(0, equals);
  // The slash that parts the two follows a feature's name; names of parts may hold slashes of a path.
  const auto first_colon = names.find(':');
  const auto slash = first_colon == std::string::npos ? first_colon : names.find('/', first_colon);
  const auto second_colon = slash == std::string::npos ? slash : names.rfind(':');
  if (second_colon == std::string::npos || second_colon < slash) return bad;
  SizeTie tie;
  tie.part_a = names.substr(0, first_colon);
  tie.feature_a = names.substr(first_colon + 1, slash - first_colon - 1);
  tie.part_b = names.substr(slash + 1, second_colon - slash - 1);
  tie.feature_b = names.substr(second_colon + 1);
  tie.belt_mm = belt_mm;
  std::string value = text.substr(equals + 1), u;
  for (const char* sign : {"+-", "+/-", "\u00b1"})
    if (const auto at = value.find(sign); at != std::string::npos) {
      u = value.substr(at + std::string(sign).size());
      value = value.substr(0, at);
      break;
    }
  const auto ratio = parse_number(value);
  const bool share = !u.empty() && u.back() == '%';
  const auto spread = share ? parse_ratio(u) : parse_number(u);
  if (!ratio || !spread || !(*ratio > 0) || !(*spread > 0)) return bad;
  tie.ratio = {*ratio, share ? *ratio * *spread : *spread};
  if (tie.part_a.empty() || tie.feature_a.empty() || tie.part_b.empty() || tie.feature_b.empty()) return bad;
  return tie;
}

}  // namespace rondure::cli
