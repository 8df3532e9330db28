#include "rondure/report/profile_text.hpp"

#include <fmt/format.h>

#include "rondure/core/geometry.hpp"

namespace rondure {
namespace {

std::string size(const Estimate& e, const LengthWords& words) { return words.both(e.value, e.u, true); }

std::string sizes(const ProfileSegment& s, const LengthWords& words) {
  switch (s.kind) {
    case SegmentKind::kFace:
      return "at " + words.one(s.from_mm, 3);
    case SegmentKind::kCylinder:
      return s.diameter_mm ? "diameter " + size(*s.diameter_mm, words) : "straight";
    case SegmentKind::kTaper:
      if (!s.diameter_mm) return fmt::format("{:.2f} deg to the axis", s.angle_deg->value);
      return "diameter " + size(*s.diameter_mm, words) + " to " + size(*s.end_diameter_mm, words) +
             fmt::format(", {:.2f} deg to the axis", s.angle_deg->value);
    case SegmentKind::kChamfer:
      return fmt::format("{} x {:.0f} deg", words.one(s.width_mm->value, 2), s.angle_deg->value);
    case SegmentKind::kFillet:
      return "R " + words.one_u(s.radius_mm->value, s.radius_mm->u);
    case SegmentKind::kArc:
      break;
  }
  std::string text = "R " + size(*s.radius_mm, words);
  if (s.radius95_mm) text += ", 95 %: " + words.one_range(*s.radius95_mm, 2);
  if (s.diameter_mm) text += ", diameter " + size(*s.diameter_mm, words);
  if (s.height_mm && s.top_mm)
    text += fmt::format(", {} {} at {}", s.concave ? "deep" : "high", words.one(*s.height_mm, 3),
                        words.one(*s.top_mm, 2));
  return text;
}

std::string chance(double p) { return p > 0.99 ? "over 99 %" : fmt::format("{:.0f} %", 100 * p); }

}  // namespace

std::string profile_text(const SideProfile& profile, const TextOptions& options) {
  const LengthWords words(options.unit);
  std::string head = "profile, from the left face";
  if (profile.length_mm) head += "; whole width " + size(*profile.length_mm, words);
  std::string text = wrapped(head, "", "  ", options.width);
  for (const ProfileSegment& s : profile.segments) {
    const bool plain = s.kind == SegmentKind::kFace || s.name == segment_word(s.kind);
    std::string line = sizes(s, words);
    if (s.width_mm && s.kind != SegmentKind::kChamfer && s.kind != SegmentKind::kFillet)
      line += ", width " + size(*s.width_mm, words);
    if (s.sharp_width_mm) line += ", to its sharp corners " + size(*s.sharp_width_mm, words);
    text += wrapped(line, fmt::format("  {:<16} ", plain ? std::string(segment_word(s.kind)) : s.name),
                    std::string(19, ' '), options.width);
  }
  if (profile.p_as_seen)
    text += fmt::format("  chance that what is seen has these {} pieces, and no others: {}\n",
                        profile.segments.size(), chance(*profile.p_as_seen));
  else if (profile.p_as_cut < 0.999)
    text += fmt::format("  chance that it has these {} pieces, and no others: {}\n", profile.segments.size(),
                        chance(profile.p_as_cut));
  for (const Warning& w : profile.warnings)
    text += marked(wrapped(words.sentence(w.text), "  note: ", "        ", options.width),
                   "note:", options.ink, Says::kDoubtful);
  return text;
}

}  // namespace rondure
