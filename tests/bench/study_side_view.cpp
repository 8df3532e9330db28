// Random parts of revolution seen from the side: drawn by area, blurred, with noise, 8-bit sRGB; measured as `measure
// --side --scale` does. Usage: study_side_view [PARTS]
//
// A part: 1 to 5 surfaces (cylinder, taper, crown, groove) with steps of 0.4 mm and more between them, some with edges
// broken by 0.3 mm; 30 px/mm, blur 0.6 to 1.1 px, noise 0.4 to 1.5 %, turned by up to 25 degrees in the picture. Seed =
// number of the part.
#include <fmt/format.h>

#include <cstdlib>
#include <map>

#include "profile/drawn_side.hpp"
#include "rondure/photo/side_outline.hpp"
#include "rondure/profile/side_profile.hpp"

using namespace rondure;
using namespace rondure::test;

namespace {

constexpr double kScale_px_mm = 30;

struct Truth {
  Line meridian;
  std::string kinds;
  std::vector<double> diameters_mm, widths_mm,
      radii_mm;  // of cylinders, of cylinders, tapers and arcs, of arcs
};

Truth random_part(std::mt19937& random) {
  const auto between = [&](double lo, double hi) {
    return std::uniform_real_distribution<double>(lo, hi)(random);
  };
  Truth t;
  const int surfaces = 1 + static_cast<int>(random() % 5);
  double z = 0, last = 0;
  t.meridian.emplace_back(0, 0);
  t.kinds = "face ";
  for (int k = 0; k < surfaces; ++k) {
    double r = between(3, 7);
    while (k > 0 && std::abs(r - last) < 0.5) r = between(3, 7);
    const double w = between(1.5, 5);
    const int kind = static_cast<int>(random() % 4);
    if (k > 0) t.kinds += "face ";
    const bool broken = kind == 0 && k == 0 && random() % 2 == 0;
    double w_left = w;
    if (broken) {
      t.meridian.emplace_back(z, r - 0.4), t.meridian.emplace_back(z + 0.4, r);
      t.kinds += "chamfer ", w_left -= 0.4;
    } else {
      t.meridian.emplace_back(z, r);
    }
    t.widths_mm.push_back(w_left);
    double end = r;
    if (kind == 0) {
      t.kinds += "cylinder ", t.diameters_mm.push_back(2 * r);
      t.meridian.emplace_back(z + w, r);
    } else if (kind == 1) {
      end = r + w * between(0.03, 0.2) * (random() % 2 == 0 ? 1 : -1);
      t.kinds += "taper ";
      t.meridian.emplace_back(z + w, end);
    } else {
      const double R = between(1.2, 3.5) * w;
      t.kinds += "arc ", t.radii_mm.push_back(R);
      add_arc(t.meridian, {z + w, r}, kind == 2 ? R : -R);
    }
    z += w, last = end;
  }
  t.meridian.emplace_back(z, 0);
  t.kinds += "face ";
  return t;
}

struct Row {
  double sum2_px = 0;
  int n = 0, held = 0;
  void add(const Estimate& e, double truth_mm) {
    const double d = e.value - truth_mm;
    sum2_px += d * d * kScale_px_mm * kScale_px_mm, ++n, held += std::abs(d) <= 1.96 * e.u;
  }
};

}  // namespace

int main(int argc, char** argv) {
  const int parts = argc > 1 ? std::atoi(argv[1]) : 60;
  int refused = 0, right = 0, wrong_sure = 0, wrong_unsure = 0;
  std::map<std::string, Row> rows;
  for (int part = 1; part <= parts; ++part) {
    std::mt19937 random(static_cast<unsigned>(part));
    const Truth t = random_part(random);
    const auto between = [&](double lo, double hi) {
      return std::uniform_real_distribution<double>(lo, hi)(random);
    };
    double length = 0, radius = 0;
    for (const auto& p : t.meridian) length = std::max(length, p.x()), radius = std::max(radius, p.y());
    const double angle = between(-0.43, 0.43);
    const double wide = length * std::cos(angle) + 2 * radius * std::abs(std::sin(angle)) + 2,
                 high = length * std::abs(std::sin(angle)) + 2 * radius * std::cos(angle) + 2;
    const Eigen::Vector2d middle(0.5 * wide, 0.5 * high),
        half(0.5 * length * std::cos(angle), 0.5 * length * std::sin(angle));
    const Picture picture =
        drawn(placed(closed(t.meridian), angle, middle - half), kScale_px_mm,
              static_cast<int>(wide * kScale_px_mm), static_cast<int>(high * kScale_px_mm), between(0.6, 1.1),
              between(0.004, 0.015), static_cast<unsigned>(part));
    const auto outline =
        find_side_outline(picture, plane_of_scale(picture.width_px, picture.height_px, kScale_px_mm, 0));
    if (!outline) {
      ++refused, fmt::print(stderr, "part {}: {}\n", part, outline.error().message());
      continue;
    }
    std::vector<OutlinePoint> points;
    for (const auto& p : outline->points) points.push_back({p.point.at.vec(), p.outward, p.point.sigma_mm});
    const auto meridian = fold_outline(points, 2 / kScale_px_mm, wrap_axis_rad(angle) * 180 / kPi);
    if (!meridian) {
      ++refused, fmt::print(stderr, "part {}: {}\n", part, meridian.error().message());
      continue;
    }
    ProfileCutOptions options;
    options.blur_mm = outline->blur_px / kScale_px_mm, options.floor_mm = 0.02 / kScale_px_mm;
    const auto profile = cut_profile(*meridian, options);
    if (!profile) {
      ++refused, fmt::print(stderr, "part {}: {}\n", part, profile.error().message());
      continue;
    }
    std::string kinds;
    for (const auto& s : profile->segments) kinds += std::string(segment_word(s.kind)) + " ";
    if (kinds != t.kinds) {
      fmt::print(stderr, "part {}: {}\n   truth {}\n   p {:.2f}\n", part, kinds, t.kinds, profile->p_as_cut);
      ++(profile->p_as_cut < 0.9 ? wrong_unsure : wrong_sure);
      continue;
    }
    ++right;
    std::size_t d = 0, w = 0, r = 0;
    for (const auto& s : profile->segments) {
      if (s.kind == SegmentKind::kCylinder) rows["diameters"].add(*s.diameter_mm, t.diameters_mm[d++]);
      if (s.kind == SegmentKind::kArc) {
        const double R = t.radii_mm[r++];
        Row& row = rows["radii of arcs (relative: 1/1000)"];
        const double off = (s.radius_mm->value - R) / R * 1000;
        row.sum2_px += off * off, ++row.n, row.held += s.radius95_mm && s.radius95_mm->contains(R);
      }
      if (s.kind == SegmentKind::kCylinder || s.kind == SegmentKind::kTaper || s.kind == SegmentKind::kArc)
        rows["widths"].add(*s.width_mm, t.widths_mm[w++]);
    }
    if (profile->length_mm) rows["whole widths"].add(*profile->length_mm, length);
  }
  fmt::print("{} random parts, 30 px/mm, seeds 1 to {}; light and tone curve known, scale exact\n", parts,
             parts);
  fmt::print("kinds and number of pieces right {}, wrong but said to be unsure {}, wrong {}, refused {}\n",
             right, wrong_unsure, wrong_sure, refused);
  fmt::print("{:<36} {:>6} {:>10} {:>16}\n", "size", "sizes", "rms px", "95 % held");
  for (const auto& [name, row] : rows)
    fmt::print("{:<36} {:>6} {:>10.4f} {:>14.1f} %\n", name, row.n, std::sqrt(row.sum2_px / row.n),
               100.0 * row.held / row.n);
}
