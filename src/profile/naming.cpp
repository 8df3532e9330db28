#include "naming.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <map>

namespace rondure {
namespace {

double largest_radius(const ProfileSegment& s) {
  double r = std::max(s.from_radius_mm, s.to_radius_mm);
  if (s.diameter_mm) r = std::max(r, 0.5 * s.diameter_mm->value);
  return r;
}

// What a surface is called by its kind and by its neighbours.
std::string word_for(const std::vector<ProfileSegment*>& main, std::size_t k) {
  const ProfileSegment& s = *main[k];
  if (s.kind == SegmentKind::kArc) return s.concave ? "groove" : "crown";
  if (s.kind == SegmentKind::kTaper) return "taper";
  const bool over_left = k == 0 || largest_radius(*main[k - 1]) < 0.98 * largest_radius(s);
  const bool over_right = k + 1 == main.size() || largest_radius(*main[k + 1]) < 0.98 * largest_radius(s);
  const double reach = s.to_mm - s.from_mm;
  if (main.size() > 1 && over_left && over_right && reach < largest_radius(s)) return "flange";
  return "cylinder";
}

using Surface =
    std::vector<ProfileSegment*>;  // pieces with no face between them: of one surface, if they are told so

std::vector<Surface> between_faces(SideProfile& profile) {
  std::vector<Surface> out;
  bool after_face = true;
  for (ProfileSegment& s : profile.segments) {
    if (is_main(s)) {
      if (after_face) out.emplace_back();
      out.back().push_back(&s);
      after_face = false;
    } else if (s.kind == SegmentKind::kFace) {
      after_face = true;
    }
  }
  return out;
}

std::string seen(const std::vector<ProfileSegment*>& pieces) {
  std::string text;
  for (const ProfileSegment* s : pieces) {
    char one[80];
    const double from_mm = std::abs(s->from_mm) < 0.005 ? 0 : s->from_mm;  // no "-0.00"
    std::snprintf(one, sizeof one, "%s%s %.2f to %.2f mm", text.empty() ? "" : ", ", segment_word(s->kind),
                  from_mm, s->to_mm);
    text += one;
  }
  return text;
}

// One name a surface, where some of them read as several pieces.
void name_surfaces(const std::vector<Surface>& surfaces, const std::vector<std::string>& given,
                   std::vector<std::string>& words, SideProfile& profile) {
  for (std::size_t k = 0; k < surfaces.size(); ++k) {
    const bool whole = surfaces[k].size() == 1;
    for (std::size_t part = 1; part <= surfaces[k].size(); ++part)
      words.push_back(whole ? given[k] : given[k] + " part " + std::to_string(part));
    if (!whole)
      profile.warnings.push_back({"names-differ", given[k] + " reads as " +
                                                      std::to_string(surfaces[k].size()) +
                                                      " pieces from the left face (" + seen(surfaces[k]) +
                                                      "): worn, or made so; each is measured by itself"});
  }
}

}  // namespace

bool is_main(const ProfileSegment& s) {
  return s.kind == SegmentKind::kCylinder || s.kind == SegmentKind::kTaper || s.kind == SegmentKind::kArc;
}

Result<void> name_segments(const std::vector<std::string>& given, SideProfile& profile) {
  std::vector<ProfileSegment*> main;
  for (ProfileSegment& s : profile.segments)
    if (is_main(s))
      main.push_back(&s);
    else
      s.name = segment_word(s.kind);
  std::vector<std::string> words;
  const std::vector<Surface> surfaces = between_faces(profile);
  if (given.empty()) {
    for (std::size_t k = 0; k < main.size(); ++k) words.push_back(word_for(main, k));
  } else if (given.size() == main.size()) {
    words = given;
  } else if (given.size() == surfaces.size()) {
    name_surfaces(surfaces, given, words, profile);
  } else {
    return Error{ErrorCode::kBadArgument, "--profile: found " + std::to_string(given.size()) +
                                              (given.size() == 1 ? " name" : " names") +
                                              ", the picture shows " + std::to_string(main.size()) +
                                              " surfaces, from the left face: " + seen(main)};
  }
  std::map<std::string, int> count, before;
  for (const std::string& w : words) ++count[w];
  for (std::size_t k = 0; k < main.size(); ++k) {
    const std::string& w = words[k];
    const int n = ++before[w];
    if (count[w] == 1)
      main[k]->name = w;
    else if (count[w] == 2)
      main[k]->name = (n == 1 ? "left " : "right ") + w;
    else
      main[k]->name = w + " " + std::to_string(n);
  }
  return {};
}

}  // namespace rondure
