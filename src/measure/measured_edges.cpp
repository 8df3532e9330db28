#include "measured_edges.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "rondure/interpret/part_name.hpp"

namespace rondure {
namespace {

// An edge belongs to the part whose outermost edge holds its centre and most of it.
void group(std::vector<MeasuredEdge>& edges) {
  for (std::size_t i = 0; i < edges.size(); ++i) {
    edges[i].part = static_cast<int>(i);
    for (std::size_t k = 0; k < i; ++k) {  // larger ones
      const double apart = (edges[i].circle.center.vec() - edges[k].circle.center.vec()).norm();
      if (edges[k].part == static_cast<int>(k) &&
          apart + 0.9 * edges[i].circle.radius_mm < edges[k].circle.radius_mm) {
        edges[i].part = static_cast<int>(k);
        break;
      }
    }
  }
}

constexpr double kGrooveWidth_ratio = 0.4;  // of the outer radius: a wider ring is no groove

// The next smaller edge of the same part, or -1.
int next_inside(const std::vector<MeasuredEdge>& edges, std::size_t of) {
  for (std::size_t i = of + 1; i < edges.size(); ++i)
    if (edges[i].part == edges[of].part) return static_cast<int>(i);
  return -1;
}

// Two walls of one ring: light changes at the outer one and comes back at the inner one.
bool is_groove(const MeasuredEdge& outer, const MeasuredEdge& inner) {
  if (outer.edge->dark_inside == inner.edge->dark_inside) return false;
  const double ring_light = outer.edge->light_inside, step = std::abs(outer.edge->light_outside - ring_light);
  const bool comes_back = std::abs(inner.edge->light_inside - outer.edge->light_outside) < 0.35 * step;
  const bool narrow =
      outer.circle.radius_mm - inner.circle.radius_mm < kGrooveWidth_ratio * outer.circle.radius_mm;
  return comes_back && narrow;
}

// Names that all differ, those of a further part with its number; the largest part is the first.
void tell_apart(std::vector<MeasuredEdge>& edges) {
  std::vector<int> outermost;
  for (std::size_t i = 0; i < edges.size(); ++i)
    if (edges[i].part == static_cast<int>(i)) outermost.push_back(edges[i].part);
  std::set<std::string> taken;
  for (std::size_t n = 0; n < outermost.size(); ++n)
    for (MeasuredEdge& e : edges) {
      if (e.part != outermost[n]) continue;
      const std::string plain = e.feature.name;
      const auto named = [&](const std::string& name) {
        return n > 0 ? name_in_part(name, static_cast<int>(n) + 1) : name;
      };
      e.feature.name = named(plain);
      for (int number = 2; !taken.insert(e.feature.name).second; ++number)
        e.feature.name = named(fmt::format("{} {}", plain, number));
    }
}

// Outside: the outermost edge. Bore: the innermost one where light turns the other way. Two walls of a ring
// between are a groove, what is left are hub steps.
void find_roles(std::vector<MeasuredEdge>& edges) {
  for (std::size_t i = 0; i < edges.size(); ++i) {
    const bool outermost = edges[i].part == static_cast<int>(i);
    edges[i].role = outermost ? EdgeRole::kOutside : EdgeRole::kHubStep;
    const bool turned = edges[i].edge->dark_inside != edges[edges[i].part].edge->dark_inside;
    const bool innermost = std::none_of(
        edges.begin() + static_cast<std::ptrdiff_t>(i) + 1, edges.end(), [&](const MeasuredEdge& e) {
          return e.part == edges[i].part && e.edge->dark_inside == edges[i].edge->dark_inside;
        });
    if (!outermost && turned && innermost) edges[i].role = EdgeRole::kBore;
  }
  for (std::size_t i = 0; i < edges.size(); ++i) {
    const int inner = next_inside(edges, i);
    if (edges[i].role != EdgeRole::kHubStep || inner < 0 || edges[inner].role != EdgeRole::kHubStep) continue;
    if (!is_groove(edges[i], edges[inner])) continue;
    edges[i].role = EdgeRole::kGrooveOuterWall;
    edges[inner].role = EdgeRole::kGrooveInnerWall;
  }
  for (MeasuredEdge& e : edges)  // what the solid's rings were found to be
    if (e.edge->ring) e.role = e.edge->ring->role;
}

}  // namespace

const char* usual_name(EdgeRole role) {
  switch (role) {
    case EdgeRole::kOutside:
      return "outside";
    case EdgeRole::kHubStep:
      return "hub step";
    case EdgeRole::kBore:
      return "bore";
    case EdgeRole::kGrooveOuterWall:
      return "groove, outer wall";
    case EdgeRole::kGrooveInnerWall:
      return "groove, inner wall";
    case EdgeRole::kInnerEdge:
      return "inner edge";
    case EdgeRole::kFoot:
      return "foot";
    case EdgeRole::kMark:
      return "mark";
    case EdgeRole::kShadow:
      return "shadow";
  }
  return "";
}

std::optional<EdgeRole> role_of_word(const std::string& word) {
  for (const EdgeRole role : {EdgeRole::kOutside, EdgeRole::kHubStep, EdgeRole::kBore,
                              EdgeRole::kGrooveOuterWall, EdgeRole::kGrooveInnerWall, EdgeRole::kInnerEdge,
                              EdgeRole::kFoot, EdgeRole::kMark, EdgeRole::kShadow})
    if (word == usual_name(role)) return role;
  return std::nullopt;
}

FeatureKind kind_of(EdgeRole role) {
  if (role == EdgeRole::kInnerEdge) return FeatureKind::kUnstated;
  return role == EdgeRole::kBore ? FeatureKind::kBore : FeatureKind::kOutside;
}

void name_edges(std::vector<MeasuredEdge>& edges) {
  group(edges);
  find_roles(edges);
  for (MeasuredEdge& e : edges) {
    e.feature.kind = kind_of(e.role);
    e.feature.name = usual_name(e.role);
  }
  tell_apart(edges);
  for (MeasuredEdge& e : edges) e.found_as = e.feature.name;
}

}  // namespace rondure
