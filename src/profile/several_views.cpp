#include "rondure/profile/several_views.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "rondure/core/warning.hpp"

namespace rondure {
namespace {

constexpr double kTold = 4;  // standard uncertainties of a difference

std::vector<SegmentKind> kinds(const SideProfile& p) {
  std::vector<SegmentKind> out;
  for (const ProfileSegment& s : p.segments) out.push_back(s.kind);
  return out;
}

std::string words(const char* format, const std::string& name, double mm) {
  char line[300];
  std::snprintf(line, sizeof line, format, name.c_str(), mm);
  return line;
}

// Part of a size's uncertainty that is this view's own.
double noise_mm(const std::vector<BudgetLine>& budget) {
  double sum = 0;
  for (const BudgetLine& line : budget)
    if (line.source == UncertaintySource::kEdgeNoise) sum += line.u_mm * line.u_mm;
  return std::sqrt(sum);
}

// Line by line the root mean square of the views', the scatter of their mean with the noise.
std::vector<BudgetLine> merged(const std::vector<const std::vector<BudgetLine>*>& budgets,
                               double scatter_mm) {
  std::vector<BudgetLine> out;
  for (const auto* budget : budgets)
    for (const BudgetLine& line : *budget) {
      auto at =
          std::find_if(out.begin(), out.end(), [&](const BudgetLine& o) { return o.source == line.source; });
      if (at == out.end()) at = out.insert(out.end(), {line.source, 0});
      at->u_mm += line.u_mm * line.u_mm / static_cast<double>(budgets.size());
    }
  for (BudgetLine& line : out)
    line.u_mm =
        std::sqrt(line.u_mm + (line.source == UncertaintySource::kEdgeNoise ? scatter_mm * scatter_mm : 0));
  return out;
}

struct Spread {
  double mean = 0, of_mean = 0, lo = 1e300, hi = -1e300;
  int count = 0;
  double range() const { return count > 0 ? hi - lo : 0; }
};

Spread spread_of(const std::vector<double>& values) {
  Spread out;
  out.count = static_cast<int>(values.size());
  for (const double v : values)
    out.mean += v / out.count, out.lo = std::min(out.lo, v), out.hi = std::max(out.hi, v);
  double sum = 0;
  for (const double v : values) sum += (v - out.mean) * (v - out.mean);
  if (out.count > 1) out.of_mean = std::sqrt(sum / (out.count - 1) / out.count);
  return out;
}

class Combining {
public:
  explicit Combining(std::vector<const SideProfile*> views) : views_(std::move(views)), out_(*views_[0]) {}

  SideProfile run() {
    drop_view_notes();
    for (std::size_t k = 0; k < out_.segments.size(); ++k) segment(k);
    const Spread length = take(out_.length_mm, [](const SideProfile& p) { return p.length_mm; });
    out_.length_budget = budget_of(
        [](const SideProfile& p) -> auto& { return p.length_budget; }, length);
    for (const SideProfile* v : views_) {
      if (v->p_as_seen || out_.p_as_seen)
        out_.p_as_seen = std::min(out_.p_as_seen.value_or(out_.p_as_cut), v->p_as_seen.value_or(v->p_as_cut));
      out_.p_as_cut = std::min(out_.p_as_cut, v->p_as_cut);
    }
    return std::move(out_);
  }

private:
  // The flanks are judged over all views; other notes stand once.
  void drop_view_notes() {
    std::vector<Warning> kept;
    for (const SideProfile* v : views_)
      for (const Warning& w : v->warnings)
        if (w.code != WarningCode::kFlanksDiffer &&
            std::none_of(kept.begin(), kept.end(), [&](const Warning& k) { return k.text == w.text; }))
          kept.push_back(w);
    out_.warnings = std::move(kept);
  }

  // Mean of a size over the views that have it.
  template <class Of>
  Spread take(std::optional<Estimate>& into, Of of) const {
    std::vector<double> values;
    double u2 = 0;
    for (const SideProfile* v : views_)
      if (const std::optional<Estimate> e = of(*v)) values.push_back(e->value), u2 += e->u * e->u;
    const Spread s = spread_of(values);
    if (s.count > 0) into = Estimate{s.mean, std::hypot(std::sqrt(u2 / s.count), s.of_mean)};
    return s;
  }
  template <class Of>
  std::vector<BudgetLine> budget_of(Of of, const Spread& size) const {
    std::vector<const std::vector<BudgetLine>*> budgets;
    for (const SideProfile* v : views_) budgets.push_back(&of(*v));
    return merged(budgets, size.of_mean);
  }
  template <class Of>
  double mean(Of of) const {
    double sum = 0;
    for (const SideProfile* v : views_) sum += of(*v) / static_cast<double>(views_.size());
    return sum;
  }

  void segment(std::size_t k) {
    ProfileSegment& s = out_.segments[k];
    const auto at = [k](auto member) {
      return [k, member](const SideProfile& p) { return p.segments[k].*member; };
    };
    using S = ProfileSegment;
    for (const auto member : {&S::from_mm, &S::to_mm, &S::from_radius_mm, &S::to_radius_mm})
      s.*member = mean(at(member));
    const Spread diameter = take(s.diameter_mm, at(&S::diameter_mm));
    const Spread width = take(s.width_mm, at(&S::width_mm)), radius = take(s.radius_mm, at(&S::radius_mm));
    (void)take(s.end_diameter_mm, at(&S::end_diameter_mm)), (void)take(s.angle_deg, at(&S::angle_deg));
    (void)take(s.sharp_width_mm, at(&S::sharp_width_mm));
    const double noise = noise_mm(s.budget);
    const bool round = s.kind == SegmentKind::kCylinder || s.kind == SegmentKind::kTaper;
    s.budget = budget_of(
        [k](const SideProfile& p) -> auto& { return p.segments[k].budget; },
        s.radius_mm ? radius
        : round     ? diameter
                    : width);
    if (s.radius95_mm) {
      std::vector<double> lo, hi;
      for (const SideProfile* v : views_)
        if (const auto& i = v->segments[k].radius95_mm) lo.push_back(i->lo), hi.push_back(i->hi);
      s.radius95_mm = Interval{spread_of(lo).mean, spread_of(hi).mean};
    }
    if (s.kind == SegmentKind::kCylinder || s.kind == SegmentKind::kArc || s.kind == SegmentKind::kTaper)
      judge(k, diameter, noise);
  }

  void judge(std::size_t k, const Spread& diameter, double noise) {
    ProfileSegment& s = out_.segments[k];
    const double own_mm =
        std::sqrt(2.0) * (s.kind == SegmentKind::kCylinder ? noise : 2 * noise_mm(views_[0]->length_budget));
    if (diameter.count > 1 && own_mm > 0 && diameter.range() > kTold * own_mm)
      out_.warnings.push_back(
          {"views-differ-diameter", words("the diameter of %s differs by %.4f mm between the pictures: out "
                                          "of round by that much at least",
                                          s.name, diameter.range())});
    std::vector<double> off;
    double u = 0;
    for (const SideProfile* v : views_)
      if (v->segments[k].u_flank_difference_mm > 0)
        off.push_back(v->segments[k].flank_difference_mm),
            u = std::max(u, v->segments[k].u_flank_difference_mm);
    const Spread flanks = spread_of(off);
    if (flanks.count > 1) s.flank_difference_mm = flanks.mean;
    if (flanks.count > 1 && flanks.range() > kTold * std::sqrt(2.0) * u)
      out_.warnings.push_back(
          {"views-run-out", words("%s runs out: its middle moves by %.4f mm across the common "
                                  "axis as the part is turned; eccentric by half of that at least",
                                  s.name, flanks.range())});
    else if (flanks.count > 1 && std::abs(flanks.mean) > kTold * u)
      out_.warnings.push_back({WarningCode::kFlanksDiffer,
                               words("the flanks of %s differ by %.4f mm however the part is turned: the "
                                     "axis is not square to the view",
                                     s.name, 2 * std::abs(flanks.mean))});
  }

  std::vector<const SideProfile*> views_;
  SideProfile out_;
};

}  // namespace

Result<SeveralViews> combine_views(const std::vector<NamedView>& views) {
  if (views.empty()) return Error{ErrorCode::kTooFewPoints, "found no side view, needed one or more"};
  std::vector<std::size_t> best;
  for (const NamedView& a : views) {
    std::vector<std::size_t> alike;
    for (std::size_t i = 0; i < views.size(); ++i)
      if (kinds(views[i].profile) == kinds(a.profile)) alike.push_back(i);
    if (alike.size() > best.size()) best = alike;
  }
  if (views.size() > 1 && best.size() < 2)
    return Error{ErrorCode::kNoAnswer,
                 "found " + std::to_string(views.size()) +
                     " side views, no two of them cut into the same pieces; needed the same "
                     "part, the same end to the left, turned about its own axis"};
  SeveralViews out;
  std::vector<const SideProfile*> used;
  for (std::size_t i = 0; i < views.size(); ++i)
    if (std::find(best.begin(), best.end(), i) != best.end())
      used.push_back(&views[i].profile), out.used.push_back(views[i].file);
    else
      out.left_out.push_back(views[i].file);
  out.profile = used.size() > 1 ? Combining(std::move(used)).run() : *used[0];
  for (const std::string& file : out.left_out)
    out.profile.warnings.push_back(
        {"view-left-out", file + " shows other pieces than the other pictures: left out"});
  return out;
}

}  // namespace rondure
