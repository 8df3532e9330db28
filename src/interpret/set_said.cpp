#include "set_said.hpp"

#include <algorithm>
#include <cmath>
#include <set>

namespace rondure {
namespace {

constexpr double kAlike_ratio = 0.02;  // parts of one drawing shrink alike within that; by judgement

Error bad(const std::string& what) { return {ErrorCode::kBadArgument, what}; }

}  // namespace

std::optional<std::size_t> find_feature(const SetPart& part, const std::string& name) {
  for (std::size_t i = 0; i < part.sizes.size(); ++i)
    if (part.sizes[i].name == name) return i;
  return std::nullopt;
}

std::map<std::string, Members> marked_alike(std::span<const SetPart> parts) {
  std::map<std::string, Members> by_word;
  for (std::size_t p = 0; p < parts.size(); ++p)
    for (const auto& [feature, word] : parts[p].same)
      if (const auto i = find_feature(parts[p], feature)) by_word[word].emplace_back(p, *i);
  std::erase_if(by_word, [](const auto& word) { return word.second.size() < 2; });
  return by_word;
}

Result<void> check_said(std::span<const SetPart> parts, const SetOptions& options) {
  if (parts.size() < 2 || parts.size() > kMostParts)
    return bad("found " + std::to_string(parts.size()) + " parts, needed 2 to " + std::to_string(kMostParts) +
               " for a set");
  std::set<std::string> names;
  for (const SetPart& p : parts) {
    if (!names.insert(p.name).second)
      return bad("found the part '" + p.name + "' twice, needed each part once");
    if (p.options.crack_gap_mm || p.options.drive)
      return bad("part '" + p.name +
                 "': a crack gap or a drive is about one part, needed this part asked alone");
  }
  for (const std::string& shared : options.same_drawing) {
    FeatureKind kind;
    std::size_t members = 0;
    for (const SetPart& p : parts)
      if (const auto i = find_feature(p, shared)) {
        const FeatureKind own = p.sizes[*i].kind;
        if (members > 0 && own != kind)
          return bad("found '" + shared + "' as " + std::string(kind.word()) + " and as " +
                     std::string(own.word()) + ", needed one kind for features of the same drawing");
        kind = own;
        ++members;
      }
    if (members < 2)
      return bad("found '" + shared + "' in " + (members == 0 ? "no part" : "one part") +
                 ", needed a feature of at least two parts to be of the same drawing");
  }
  for (const auto& [word, members] : marked_alike(parts))
    for (const auto& [p, i] : members) {
      const auto& first = parts[members.front().first].sizes[members.front().second];
      if (parts[p].sizes[i].kind != first.kind)
        return bad("found features marked the same '" + word + "' as " + std::string(first.kind.word()) +
                   " and as " + std::string(parts[p].sizes[i].kind.word()) +
                   ", needed one kind for features of the same drawing");
    }
  for (const SizeTie& t : options.ties) {
    if (!(t.ratio.value > 0 && t.ratio.u > 0 && t.belt_mm >= 0))
      return bad("a ratio between parts needs its uncertainty, such as 2.00+-0.01");
    for (const auto& [part, feature] : {std::pair(t.part_a, t.feature_a), std::pair(t.part_b, t.feature_b)}) {
      const auto at = std::find_if(parts.begin(), parts.end(),
                                   [&part = part](const SetPart& p) { return p.name == part; });
      if (at == parts.end()) return bad("found the part '" + part + "' in a ratio, needed one of the set");
      if (!find_feature(*at, feature)) return bad("part '" + part + "' has no feature '" + feature + "'");
    }
  }
  return {};
}

// Equal parts taken as drawn one by one would each count as a size of its own choosing.
std::vector<Warning> alike_but_not_said(std::span<const SetPart> parts, const SetOptions& options) {
  std::vector<Warning> warnings;
  std::set<std::string> said(options.same_drawing.begin(), options.same_drawing.end());
  for (const auto& [word, members] : marked_alike(parts))
    for (const auto& [p, i] : members) said.insert(parts[p].sizes[i].name);
  for (std::size_t p = 0; p < parts.size(); ++p)
    for (const SizeObservation& o : parts[p].sizes) {
      if (!said.insert(o.name).second) continue;
      std::size_t alike = 1;
      for (std::size_t q = p + 1; q < parts.size(); ++q)
        if (const auto i = find_feature(parts[q], o.name))
          if (const SizeObservation& other = parts[q].sizes[*i];
              other.kind == o.kind && std::abs(other.size_mm - o.size_mm) < kAlike_ratio * o.size_mm)
            ++alike;
      if (alike < 2) continue;
      warnings.push_back(
          {"alike-features",
           std::to_string(alike) + " parts have the same '" + o.name +
               "' within 2 %: if they were made to one drawing, add --same-drawing " + o.name +
               "; without it each counts as drawn on its own, and the answer on the unit system is "
               "too sure"});
    }
  return warnings;
}

}  // namespace rondure
