#include "rondure/report/profile_text.hpp"

#include <fmt/format.h>

#include "rondure/core/geometry.hpp"

namespace rondure {
namespace {

std::string size(const Estimate& e) {
  return fmt::format("{:.3f} +- {:.3f} mm ({:.4f} in)", e.value, e.u, e.value / kMmPerInch);
}

std::string sizes(const ProfileSegment& s) {
  switch (s.kind) {
    case SegmentKind::kFace:
      return fmt::format("at {:.3f} mm", s.from_mm);
    case SegmentKind::kCylinder:
      return "diameter " + size(*s.diameter_mm);
    case SegmentKind::kTaper:
      return "diameter " + size(*s.diameter_mm) + " to " + size(*s.end_diameter_mm) +
             fmt::format(", {:.2f} deg to the axis", s.angle_deg->value);
    case SegmentKind::kChamfer:
      return fmt::format("{:.2f} mm x {:.0f} deg", s.width_mm->value, s.angle_deg->value);
    case SegmentKind::kFillet:
      return fmt::format("R {:.2f} +- {:.2f} mm", s.radius_mm->value, s.radius_mm->u);
    case SegmentKind::kArc:
      break;
  }
  std::string text = "R " + size(*s.radius_mm);
  if (s.radius95_mm) text += fmt::format(", 95 %: {:.2f} to {:.2f}", s.radius95_mm->lo, s.radius95_mm->hi);
  if (s.diameter_mm) text += ", diameter " + size(*s.diameter_mm);
  if (s.height_mm && s.top_mm)
    text += fmt::format(", {} {:.3f} mm at {:.2f} mm", s.concave ? "deep" : "high", *s.height_mm, *s.top_mm);
  return text;
}

}  // namespace

std::string profile_text(const SideProfile& profile, const Ink& ink) {
  std::string text = "profile, from the left face";
  if (profile.length_mm) text += "; whole width " + size(*profile.length_mm);
  text += "\n";
  for (const ProfileSegment& s : profile.segments) {
    const bool plain = s.kind == SegmentKind::kFace || s.name == segment_word(s.kind);
    text += fmt::format("  {:<16} {}", plain ? std::string(segment_word(s.kind)) : s.name, sizes(s));
    if (s.width_mm && s.kind != SegmentKind::kChamfer && s.kind != SegmentKind::kFillet)
      text += ", width " + size(*s.width_mm);
    text += "\n";
  }
  if (profile.p_as_cut < 0.999)
    text += fmt::format("  {} pieces with probability {:.2f}\n", profile.segments.size(), profile.p_as_cut);
  for (const Warning& w : profile.warnings) text += "  " + ink(Says::kDoubtful, "note:") + " " + w.text + "\n";
  return text;
}

}  // namespace rondure
