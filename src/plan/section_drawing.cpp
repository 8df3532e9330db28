#include "rondure/plan/section_drawing.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

#include "form_tool_drawing.hpp"
#include "rondure/core/shown.hpp"
#include "svg_sheet.hpp"

namespace rondure::plan {
namespace {

// The sheet's layout, mm: within the margins of A4; a dimension's two lines of text fit between steps.
constexpr double kSheetWidth = 180, kTop = 34, kDimensionStep = 11, kFootHeight = 30, kBesideText = 28;

// Scales of ISO 5455 and how they are written.
struct Scale {
  double factor;
  const char* text;
};
constexpr Scale kScales[] = {{20, "20:1"}, {10, "10:1"}, {5, "5:1"},   {2, "2:1"},
                             {1, "1:1"},   {0.5, "1:2"}, {0.2, "1:5"}, {0.1, "1:10"}};

Scale scale_for(double length_mm, double diameter_mm) {
  for (const Scale& s : kScales)
    if (length_mm * s.factor <= 62 && diameter_mm * s.factor <= 80) return s;
  return {62 / std::max(length_mm, diameter_mm), "not to a standard scale"};
}

PrintedLimits printed(const PlannedSize* s, double nominal_mm) {
  if (!s || !s->lower_mm || !s->upper_mm) return {{}, {}, nominal_mm};
  return {s->lower_mm, s->upper_mm};
}

std::string mm_limits(const PlannedSize* s, double nominal_mm, const char* sign) {
  return sign + printed(s, nominal_mm).range(LengthUnit::kMm, " \u2013 ");
}

std::string inch_limits(const PlannedSize* s, double nominal_mm) {
  return "(" + printed(s, nominal_mm).range(LengthUnit::kInch, " \u2013 ") + ")";
}

class SectionDrawing {
public:
  explicit SectionDrawing(const ReplacementPlan& plan) : plan_(plan), profile_(plan.profile) {
    width_known_ = !(plan.rotor && plan.rotor->per_mm_width);
    if (!width_known_) profile_.front().length_mm = profile_.front().outside_mm / 2;
    for (const ProfileStep& s : profile_) {
      length_mm_ += s.length_mm;
      largest_mm_ = std::max({largest_mm_, s.outside_mm, s.end_outside_mm.value_or(0)});
    }
    scale_ = scale_for(length_mm_, largest_mm_);
    left_ = 78 - length_mm_ * scale_.factor / 2;
    most_left_ = left_ - 7;
    axis_ = kTop + largest_mm_ * scale_.factor / 2;
    // the bore's limits stand above its arrows, and the crown's radius above them
    constexpr double kBoreText = 34, kCrownText = 25;
    const double text_top = axis_ - profile_.front().bore_mm / 2 * scale_.factor - kBoreText;
    if (text_top < kCrownText) axis_ += kCrownText - text_top;
  }

  std::string draw() {
    section();
    bores();
    outsides();
    lengths();
    geometry_frames();
    crown();
    // what stands round the section, alone: for a small screen
    const double below = axis_ + largest_mm_ / 2 * scale_.factor + bottom_ + 2;
    sheet_.view("section", {most_left_, 6}, most_right_ - most_left_, below - 6);
    const double tools_top = axis_ + largest_mm_ / 2 * scale_.factor + 10 + bottom_;
    const double foot = tools_top + draw_form_tools(sheet_, plan_, tools_top);
    foot_block(foot);
    return sheet_.document(kSheetWidth, foot + kFootHeight + 4, "Section of the replacement: " + plan_.part,
                           description());
  }

private:
  At place(double z_mm, double r_mm) const {
    return {left_ + z_mm * scale_.factor, axis_ - r_mm * scale_.factor};
  }
  At mirror(At p) const { return {p.x, 2 * axis_ - p.y}; }

  // Largest radius at an axial place, from the section's own line.
  double radius_at(double z_mm) const {
    double z = 0;
    for (const ProfileStep& s : profile_) {
      if (z_mm <= z + s.length_mm || &s == &profile_.back()) {
        if (s.crown_radius_mm) {
          const double off = z_mm - z - s.length_mm / 2, rc = *s.crown_radius_mm;
          return s.outside_mm / 2 - off * off / (rc + std::sqrt(std::max(0.0, rc * rc - off * off)));
        }
        return (s.outside_mm +
                (s.end_outside_mm.value_or(s.outside_mm) - s.outside_mm) * (z_mm - z) / s.length_mm) /
               2;
      }
      z += s.length_mm;
    }
    return 0;
  }

  void section() {
    std::vector<At> upper, lower;
    for (const Eigen::Vector2d& p : half_section(profile_)) upper.push_back(place(p.x(), p.y()));
    for (const At& p : upper) lower.push_back(mirror(p));
    sheet_.hatch(upper);
    sheet_.hatch(lower);
    sheet_.closed(upper);
    sheet_.closed(lower);
    for (const double z : {0.0, length_mm_}) {  // the bore's far rim and the faces behind the section
      const double r = (z == 0 ? profile_.front() : profile_.back()).bore_mm / 2;
      sheet_.line(place(z, r), place(z, -r), SvgSheet::Line::kThick);
    }
    sheet_.line({left_ - 5, axis_}, {left_ + length_mm_ * scale_.factor + 5, axis_}, SvgSheet::Line::kCentre);
  }

  const PlannedSize* planned_bore() const {
    for (const PlannedSize& s : plan_.sizes)
      if (s.kind == FeatureKind::kBore) return &s;
    return nullptr;
  }

  void bores() {
    std::set<std::pair<long, std::string>> drawn;
    double z = 0, x = left_ - 13;
    for (const ProfileStep& s : profile_) {
      if (s.bore_mm > 0 && drawn.insert({std::lround(s.bore_mm * 1e4), s.bore_size}).second) {
        const PlannedSize* size = planned(s.bore_size);
        sheet_.vertical_dimension(x, place(z, s.bore_mm / 2), place(z, -s.bore_mm / 2),
                                  mm_limits(size, s.bore_mm, "\u00d8"), inch_limits(size, s.bore_mm));
        if (drawn.size() == 1) sheet_.datum({x, place(z, -s.bore_mm / 2).y}, "A");
        most_left_ = std::min(most_left_, x - 9);
        x -= kDimensionStep;
      }
      z += s.length_mm;
    }
  }

  void outsides() {
    struct Outside {
      const ProfileStep* step;
      double diameter_mm, z_mm;
    };
    std::vector<Outside> list;
    double z = 0;
    for (const ProfileStep& s : profile_) {
      list.push_back({&s, s.outside_mm,
                      s.crown_radius_mm ? z + s.length_mm / 2 : z + (s.end_outside_mm ? 0 : s.length_mm)});
      if (s.end_outside_mm) list.push_back({&s, *s.end_outside_mm, z + s.length_mm});
      z += s.length_mm;
    }
    std::stable_sort(list.begin(), list.end(), [](const Outside& a, const Outside& b) {
      return std::pair(a.diameter_mm, -a.z_mm) <
             std::pair(b.diameter_mm, -b.z_mm);  // of equal ones the rightmost first
    });
    double x = left_ + length_mm_ * scale_.factor + 12;
    std::set<std::pair<long, std::string>> drawn;
    for (const Outside& o : list) {
      if (!drawn.insert({std::lround(o.diameter_mm * 1e4), o.step->outside_size}).second) continue;
      const bool at_its_end = o.step->end_outside_mm && o.diameter_mm != o.step->outside_mm;
      const PlannedSize* size = at_its_end ? nullptr : planned(o.step->outside_size);
      const auto says_it = [&](const ProfileStep& s) {  // a planned size, with its limits
        return planned(s.outside_size) && std::lround(s.outside_mm * 1e4) == std::lround(o.diameter_mm * 1e4);
      };
      if (!size && std::ranges::any_of(profile_, says_it)) continue;
      sheet_.vertical_dimension(x, place(o.z_mm, o.diameter_mm / 2), place(o.z_mm, -o.diameter_mm / 2),
                                mm_limits(size, o.diameter_mm, "\u00d8"), inch_limits(size, o.diameter_mm));
      x += kDimensionStep;
    }
    most_right_ = std::max(most_right_, x);
  }

  void lengths() {
    struct Length {
      At a, b;
      std::string mm, inch;
      bool fits;
    };
    std::vector<Length> list;
    double z = 0;
    for (const ProfileStep& s : profile_) {
      const PlannedSize* size = planned(s.width_size);
      const double from = z - s.edge_before_mm.value_or(0),
                   to = z + s.length_mm + s.edge_after_mm.value_or(0);
      const At a = place(from, -radius_at(z)), b = place(to, -radius_at(z + s.length_mm));
      Length one{a, b, mm_limits(size, to - from, ""), inch_limits(size, to - from), false};
      if (!width_known_) one.mm = "width ?", one.inch.clear();
      one.fits = SvgSheet::fits_between(b.x - a.x, one.mm, one.inch);
      list.push_back(one);
      z += s.length_mm;
    }
    // a chain on one line where the text fits; narrow steps within get lines of their own
    double y = axis_ + largest_mm_ / 2 * scale_.factor + 10;
    const double first = y;
    double next = y + kDimensionStep;
    for (std::size_t i = 0; i < list.size(); ++i) {
      const Length& l = list[i];
      // A broken edge lies within the width of the surface it breaks.
      const bool within =
          (i > 0 && profile_[i - 1].edge_after_mm) || (i + 1 < list.size() && profile_[i + 1].edge_before_mm);
      const bool at_end = i == 0 || i + 1 == list.size();
      const double row = !within && (l.fits || at_end) ? y : std::exchange(next, next + kDimensionStep);
      const bool beside_left = i == 0 && list.size() > 1;
      sheet_.horizontal_dimension(row, l.a, l.b, l.mm, l.inch, beside_left);
      if (!l.fits && beside_left) most_left_ = std::min(most_left_, l.a.x - kBesideText);
      if (!l.fits && !beside_left) most_right_ = std::max(most_right_, l.b.x + kBesideText);
    }
    y = next;
    if (profile_.size() > 1) {
      sheet_.horizontal_dimension(y, place(0, -radius_at(0)), place(length_mm_, -radius_at(length_mm_)),
                                  fmt::format("({:.3f})", length_mm_),
                                  fmt::format("({:.4f})", length_mm_ / kMmPerInch));
      y += kDimensionStep;
    }
    bottom_ = y - first;
  }

  // The planned size that a dimension of a step is; null where it is as listed.
  const PlannedSize* planned(const std::string& name) const {
    return name.empty() ? nullptr : plan_.find(name);
  }

  // Where the running surface lies: start and length.
  std::optional<std::pair<double, double>> running_span() const {
    const PlannedSize* running = plan_.running();
    double z = 0;
    for (const ProfileStep& s : profile_) {
      if (running && s.name == running->name) return std::pair{z, s.length_mm};
      z += s.length_mm;
    }
    return std::nullopt;
  }

  void geometry_frames() {
    const PlannedSize* running = plan_.running();
    const auto span = running_span();
    if (!span || !running->run_out_mm || !running->roundness_mm) return;
    const double z = span->first + 0.8 * span->second;
    const At foot = place(z, radius_at(z));
    const At corner{foot.x, 13.5};
    sheet_.line(foot, corner);
    sheet_.arrow_head(foot, corner);
    sheet_.line(corner, {foot.x + 5, 13.5});
    const PrintedLimits roundness({}, running->roundness_mm), run_out({}, running->run_out_mm);
    sheet_.roundness_frame({foot.x + 5, 11}, roundness.upper(LengthUnit::kMm));
    const double frame =
        planned_bore() ? sheet_.run_out_frame({foot.x + 5, 16}, run_out.upper(LengthUnit::kMm), "A") : 0;
    const double after = foot.x + 5 + std::max(frame, 18.0) + 2;
    most_right_ = std::max(most_right_, after + 20);
    sheet_.text({after, 12}, "(" + roundness.upper(LengthUnit::kInch) + " in)", 2.2);
    if (planned_bore()) sheet_.text({after, 17}, "(" + run_out.upper(LengthUnit::kInch) + " in)", 2.2);
  }

  const PlannedSize* planned_arc(double radius_mm) const {
    const auto at = std::ranges::find_if(plan_.sizes, [&](const PlannedSize& s) {
      return s.kind == FeatureKind::kArc && s.target_mm == radius_mm;
    });
    return at == plan_.sizes.end() ? nullptr : &*at;
  }

  void crown() {
    double z = 0;
    for (const ProfileStep& s : profile_) {
      if (s.crown_radius_mm) {
        const At foot = place(z + 0.3 * s.length_mm, radius_at(z + 0.3 * s.length_mm));
        const At corner{foot.x - 9, 20};
        sheet_.line(foot, corner);
        sheet_.arrow_head(foot, corner);
        constexpr double kText = 31;  // of the sheet, its limits' width
        sheet_.line(corner, {corner.x - kText, corner.y});
        most_left_ = std::min(most_left_, corner.x - kText - 2);
        const PlannedSize* arc = planned_arc(*s.crown_radius_mm);
        sheet_.text({corner.x - kText, corner.y - 1}, mm_limits(arc, *s.crown_radius_mm, "R"), 2.8);
        sheet_.text({corner.x - kText, corner.y + 3}, inch_limits(arc, *s.crown_radius_mm), 2.2);
        return;
      }
      z += s.length_mm;
    }
  }

  void foot_block(double y) {
    const double split = 118;
    sheet_.closed({{4, y}, {kSheetWidth - 4, y}, {kSheetWidth - 4, y + kFootHeight}, {4, y + kFootHeight}},
                  SvgSheet::Line::kThin);
    sheet_.line({split, y}, {split, y + kFootHeight});
    double line = y + 5;
    const auto note = [&](const std::string& text) {
      if (!text.empty()) sheet_.text({6, line}, text, 2.4), line += 4;
    };
    note("Limits in mm; in inches (in brackets) rounded inward. Break sharp edges 0.1 mm.");
    if (plan_.fit)
      note(fmt::format("Bore for {}: shaft {:.4f} \u00b1 {:.4f} mm{}.", plan_.fit->text,
                       plan_.fit->shaft_mm.value, plan_.fit->shaft_mm.u,
                       plan_.fit->shaft_measured ? "" : " NOT MEASURED, measure first"));
    for (const PlannedSize& s : plan_.sizes)
      if (s.basis == SizeBasis::kOriginalUndecided || s.basis == SizeBasis::kMeasured)
        note(fmt::format("{}: {}.", s.name,
                         s.basis == SizeBasis::kMeasured ? "as measured today, original not inferred"
                                                         : "original not decided"));
    line = y + kFootHeight - 3;
    note("Local safety rules and licensed practice come first.");
    sheet_.text({split + 3, y + 6.5}, plan_.part.empty() ? "Replacement part" : plan_.part, 3.6, "start",
                true, true);
    sheet_.text({split + 3, y + 12.5}, plan_.material_new, 2.8);
    sheet_.text({split + 3, y + 18}, fmt::format("Section, scale {}", scale_.text), 2.8);
    sheet_.text({split + 3, y + 23.5}, "mm (in); ISO 1101, ISO 129-1", 2.4);
  }

  std::string description() const {
    std::string text = fmt::format("Full section through the axis, scale {}.", scale_.text);
    for (const PlannedSize& s : plan_.sizes)
      text += fmt::format(" {} {}{} mm.", s.name, s.kind == FeatureKind::kArc ? "R " : "",
                          mm_limits(&s, s.target_mm, ""));
    return text;
  }

  const ReplacementPlan& plan_;
  Profile profile_;
  bool width_known_ = true;
  double length_mm_ = 0, largest_mm_ = 0;
  Scale scale_{1, "1:1"};
  double left_ = 0, axis_ = 0, bottom_ = 0;
  double most_left_ = 0, most_right_ = 0;  // of what is drawn and written about the section
  SvgSheet sheet_;
};

}  // namespace

std::string section_svg(const ReplacementPlan& plan) {
  if (!mass_properties(plan.profile, 1000)) return {};  // also refuses shapes that cannot be
  return SectionDrawing(plan).draw();
}

}  // namespace rondure::plan
