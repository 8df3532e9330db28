#include "side_view_steps.hpp"

#include <algorithm>
#include <cmath>

#include "rondure/record/profile_section.hpp"

namespace rondure::plan {
namespace {

constexpr double kMiddle_ratio = 0.02;    // of the width: a top no farther off is in the middle
constexpr int kConesOfArc = 12;           // an arc as cones: they lie within 1/144 of its rise off it
constexpr double kLeastLength_mm = 1e-3;  // shorter is no step: as profile_steps.cpp

bool is_surface(const ProfileSegment& s) {
  return s.kind == SegmentKind::kCylinder || s.kind == SegmentKind::kTaper || s.kind == SegmentKind::kArc;
}

// Planned over measured.
double grown(const PlannedSize* size, const std::optional<Estimate>& measured) {
  return size && measured && measured->value > 0 ? size->target_mm / measured->value : 1;
}

const PlannedSize* sized(const ReplacementPlan& plan, const std::string& name, FeatureKind kind) {
  for (const PlannedSize& s : plan.sizes)
    if (s.name == name && s.kind == kind) return &s;
  return nullptr;
}

class Steps {
public:
  Steps(const SideProfile& profile, const ReplacementPlan& plan) : segments_(profile.segments), plan_(plan) {}

  Profile run() {
    for (std::size_t k = 0; k < segments_.size(); ++k) {
      const ProfileSegment& s = segments_[k];
      if (s.kind == SegmentKind::kFace || !(s.to_mm - s.from_mm > kLeastLength_mm)) continue;
      if (!is_surface(s))
        edge(k);
      else if (s.kind == SegmentKind::kArc)
        arc(s);
      else
        straight(s);
    }
    return std::move(steps_);
  }

private:
  double diameter_ratio(const ProfileSegment& s) const {
    return grown(sized(plan_, s.name, FeatureKind::kOutside), s.diameter_mm);
  }
  bool is_edge(std::size_t k) const {
    return k < segments_.size() &&
           (segments_[k].kind == SegmentKind::kChamfer || segments_[k].kind == SegmentKind::kFillet);
  }
  // The planned width goes to the sharp corners; the broken edges before and after are steps of their own.
  void leave_out_edges(const ProfileSegment& s, ProfileStep& step) const {
    if (!s.sharp_width_mm || step.width_size.empty()) return;
    const auto k = static_cast<std::size_t>(&s - segments_.data());
    const auto length_of = [&](std::size_t i) {
      return is_edge(i) ? segments_[i].to_mm - segments_[i].from_mm : 0;
    };
    const double both = s.sharp_width_mm->value - (s.to_mm - s.from_mm),
                 each = both / (length_of(k - 1) + length_of(k + 1));
    if (!(each > 0) || !std::isfinite(each) || !(step.length_mm - both > kLeastLength_mm)) return;
    if (is_edge(k - 1)) step.edge_before_mm = each * length_of(k - 1);
    if (is_edge(k + 1)) step.edge_after_mm = each * length_of(k + 1);
    step.length_mm -= both;
  }

  ProfileStep start(const ProfileSegment& s) const {
    ProfileStep step;
    step.name = s.name, step.length_mm = s.to_mm - s.from_mm;
    if (sized(plan_, s.name, FeatureKind::kOutside)) step.outside_size = s.name;
    if (const PlannedSize* width = sized(plan_, width_name(s), FeatureKind::kWidth)) {
      step.width_size = width_name(s), step.length_mm = width->target_mm;
      leave_out_edges(s, step);
    }
    return step;
  }

  void straight(const ProfileSegment& s) {
    ProfileStep step = start(s);
    const double ratio = diameter_ratio(s);
    step.outside_mm = (s.diameter_mm ? s.diameter_mm->value : 2 * s.from_radius_mm) * ratio;
    if (s.kind == SegmentKind::kTaper) step.end_outside_mm = 2 * s.to_radius_mm * ratio;
    steps_.push_back(step);
  }

  void arc(const ProfileSegment& s) {
    const PlannedSize* planned = sized(plan_, radius_name(s), FeatureKind::kArc);
    const double radius = planned ? planned->target_mm : s.radius_mm ? s.radius_mm->value : 0;
    const double length = start(s).length_mm, ratio = diameter_ratio(s), measured = s.to_mm - s.from_mm;
    const bool in_middle =
        s.top_mm && std::abs(*s.top_mm - 0.5 * (s.from_mm + s.to_mm)) < kMiddle_ratio * measured;
    if (!s.concave && in_middle && s.diameter_mm && length <= 2 * radius) {
      ProfileStep step = start(s);
      step.outside_mm = s.diameter_mm->value * ratio, step.crown_radius_mm = radius;
      steps_.push_back(step);
      return;
    }
    // The measured arc through its two ends, on which side its centre lies.
    const Eigen::Vector2d a(s.from_mm, s.from_radius_mm), b(s.to_mm, s.to_radius_mm), way = b - a;
    const double half = 0.5 * way.norm(), r = std::max(s.radius_mm ? s.radius_mm->value : half, half);
    const Eigen::Vector2d up = Eigen::Vector2d(-way.y(), way.x()).normalized();
    const double side = s.concave ? 1 : -1;
    const Eigen::Vector2d center = 0.5 * (a + b) + side * std::sqrt(r * r - half * half) * up;
    const auto radius_at = [&](double z) {
      return center.y() - side * std::sqrt(std::max(0.0, r * r - (z - center.x()) * (z - center.x())));
    };
    for (int k = 0; k < kConesOfArc; ++k) {
      ProfileStep step;
      step.name = s.name, step.length_mm = length / kConesOfArc;
      step.outside_mm = 2 * ratio * radius_at(s.from_mm + measured * k / kConesOfArc);
      step.end_outside_mm = 2 * ratio * radius_at(s.from_mm + measured * (k + 1) / kConesOfArc);
      steps_.push_back(step);
    }
  }

  // A chamfer or fillet grows with the surface it breaks: its neighbour of the larger diameter.
  void edge(std::size_t k) {
    const ProfileSegment& s = segments_[k];
    const bool rises = s.from_radius_mm < s.to_radius_mm;
    const std::size_t beside = rises ? k + 1 : k - 1;
    const bool breaks = beside < segments_.size() && is_surface(segments_[beside]);
    const double ratio = breaks ? diameter_ratio(segments_[beside]) : 1;
    ProfileStep step;
    step.name = s.name, step.length_mm = s.to_mm - s.from_mm;
    step.outside_mm = 2 * ratio * s.from_radius_mm, step.end_outside_mm = 2 * ratio * s.to_radius_mm;
    // They meet: a cylinder's diameter, found along all of it, is the better one.
    if (breaks && segments_[beside].kind == SegmentKind::kCylinder && segments_[beside].diameter_mm)
      (rises ? *step.end_outside_mm : step.outside_mm) = ratio * segments_[beside].diameter_mm->value;
    steps_.push_back(step);
  }

  const std::vector<ProfileSegment>& segments_;
  const ReplacementPlan& plan_;
  Profile steps_;
};

}  // namespace

Result<Profile> side_view_steps(const PartRecord& record, const ReplacementPlan& plan) {
  if (!record.profile) return Profile{};
  return Steps(*record.profile, plan).run();
}

}  // namespace rondure::plan
