#include "naming.hpp"

#include <algorithm>
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
  if (!given.empty() && given.size() != main.size()) {
    std::string found;
    for (const ProfileSegment* s : main)
      found += (found.empty() ? "" : ", ") + std::string(segment_word(s->kind));
    return Error{ErrorCode::kBadArgument, "--profile: found " + std::to_string(given.size()) +
                                              " names, the picture shows " + std::to_string(main.size()) +
                                              " surfaces (" + found + ")"};
  }
  std::vector<std::string> words;
  for (std::size_t k = 0; k < main.size(); ++k) words.push_back(given.empty() ? word_for(main, k) : given[k]);
  std::map<std::string, int> count, seen;
  for (const std::string& w : words) ++count[w];
  for (std::size_t k = 0; k < main.size(); ++k) {
    const std::string& w = words[k];
    const int n = ++seen[w];
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
