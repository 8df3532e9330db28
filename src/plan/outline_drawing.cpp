// The section as bare geometry: points, DXF and SVG at 1:1.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "rondure/plan/section_drawing.hpp"

namespace rondure::plan {
namespace {

constexpr double kArcStep_rad = 0.5 * kPi / 180;  // chords lie within 1e-5 of the radius off their arc

// Half angle that a crown spans as seen from its centre.
double crown_half_angle(const ProfileStep& s) {
  return std::asin(std::fmin(1.0, s.length_mm / 2 / *s.crown_radius_mm));
}

double end_radius_mm(const ProfileStep& s) {
  if (!s.crown_radius_mm) return s.outside_mm / 2;
  const double phi = crown_half_angle(s);
  return s.outside_mm / 2 - 2 * *s.crown_radius_mm * std::pow(std::sin(phi / 2), 2);
}

struct Straight {
  Eigen::Vector2d from, to;
};
struct Arc {
  Eigen::Vector2d center;
  double radius_mm, from_deg, to_deg;  // counter-clockwise
};

// The half section's pieces, upper half.
struct Pieces {
  std::vector<Straight> lines;
  std::vector<Arc> arcs;
};

Pieces pieces_of(const Profile& profile) {
  Pieces p;
  double z = 0;
  const auto add = [&](Eigen::Vector2d a, Eigen::Vector2d b) {
    if ((a - b).norm() > 1e-9) p.lines.push_back({a, b});
  };
  double last_outer = profile.front().bore_mm / 2, last_inner = last_outer;
  for (const ProfileStep& s : profile) {
    const double inner = s.bore_mm / 2, outer = end_radius_mm(s), next = z + s.length_mm;
    add({z, last_outer}, {z, outer});
    add({z, last_inner}, {z, inner});
    add({z, inner}, {next, inner});
    if (s.crown_radius_mm) {
      const double half_deg = deg(crown_half_angle(s));
      p.arcs.push_back({{(z + next) / 2, s.outside_mm / 2 - *s.crown_radius_mm},
                        *s.crown_radius_mm,
                        90 - half_deg,
                        90 + half_deg});
      last_outer = outer;
    } else {
      last_outer = s.end_outside_mm.value_or(s.outside_mm) / 2;
      add({z, s.outside_mm / 2}, {next, last_outer});
    }
    last_inner = inner;
    z = next;
  }
  add({z, last_inner}, {z, last_outer});
  return p;
}

double length_of(const Profile& profile) {
  double z = 0;
  for (const ProfileStep& s : profile) z += s.length_mm;
  return z;
}

class Dxf {
public:
  void pair(int code, const std::string& value) { text_ += fmt::format("{:>3}\n{}\n", code, value); }
  void pair(int code, double value) { text_ += fmt::format("{:>3}\n{:.6f}\n", code, value); }
  void line(const char* layer, Eigen::Vector2d a, Eigen::Vector2d b) {
    pair(0, "LINE"), pair(8, layer);
    pair(10, a.x()), pair(20, a.y()), pair(30, 0.0), pair(11, b.x()), pair(21, b.y()), pair(31, 0.0);
  }
  void arc(const char* layer, const Arc& a) {
    pair(0, "ARC"), pair(8, layer), pair(10, a.center.x()), pair(20, a.center.y()), pair(30, 0.0),
        pair(40, a.radius_mm);
    pair(50, a.from_deg), pair(51, a.to_deg);
  }
  std::string take() { return std::move(text_); }

private:
  std::string text_;
};

void layer(Dxf& dxf, const char* name, int colour) {
  dxf.pair(0, "LAYER"), dxf.pair(2, name), dxf.pair(70, "0"), dxf.pair(62, std::to_string(colour)),
      dxf.pair(6, "CONTINUOUS");
}

Eigen::Vector2d mirrored(Eigen::Vector2d v) { return {v.x(), -v.y()}; }

void add_point(std::vector<Eigen::Vector2d>& points, double z, double r) {
  if (points.empty() || (points.back() - Eigen::Vector2d(z, r)).norm() > 1e-9) points.emplace_back(z, r);
}

}  // namespace

std::vector<Eigen::Vector2d> outside_line(const Profile& profile) {
  std::vector<Eigen::Vector2d> points;
  const auto add = [&](double z, double r) { add_point(points, z, r); };
  double z = 0;
  for (const ProfileStep& s : profile) {
    if (s.crown_radius_mm) {
      const double phi = crown_half_angle(s);
      const int steps = std::max(2, static_cast<int>(std::ceil(2 * phi / kArcStep_rad)));
      for (int i = 0; i <= steps; ++i) {
        const double a = phi * (2.0 * i / steps - 1);
        add(z + s.length_mm / 2 + *s.crown_radius_mm * std::sin(a),
            s.outside_mm / 2 - 2 * *s.crown_radius_mm * std::pow(std::sin(a / 2), 2));
      }
    } else {
      add(z, s.outside_mm / 2);
      add(z + s.length_mm, s.end_outside_mm.value_or(s.outside_mm) / 2);
    }
    z += s.length_mm;
  }
  return points;
}

std::vector<Eigen::Vector2d> half_section(const Profile& profile) {
  std::vector<Eigen::Vector2d> points = outside_line(profile);
  const auto add = [&](double z, double r) { add_point(points, z, r); };
  double z = 0;
  for (const ProfileStep& s : profile) z += s.length_mm;
  for (auto s = profile.rbegin(); s != profile.rend(); ++s) {  // back along the bore
    add(z, s->bore_mm / 2);
    add(z - s->length_mm, s->bore_mm / 2);
    z -= s->length_mm;
  }
  return points;
}

std::string outline_dxf(const Profile& profile) {
  if (!mass_properties(profile, 1000)) return {};
  Dxf dxf;
  dxf.pair(0, "SECTION"), dxf.pair(2, "HEADER"), dxf.pair(9, "$ACADVER"), dxf.pair(1, "AC1009");
  dxf.pair(0, "ENDSEC"), dxf.pair(0, "SECTION"), dxf.pair(2, "TABLES"), dxf.pair(0, "TABLE"),
      dxf.pair(2, "LAYER");
  dxf.pair(70, "2");
  layer(dxf, "OUTLINE", 7);
  layer(dxf, "AXIS", 1);
  dxf.pair(0, "ENDTAB"), dxf.pair(0, "ENDSEC"), dxf.pair(0, "SECTION"), dxf.pair(2, "ENTITIES");
  const Pieces pieces = pieces_of(profile);
  for (const Straight& s : pieces.lines) {
    dxf.line("OUTLINE", s.from, s.to);
    dxf.line("OUTLINE", mirrored(s.from), mirrored(s.to));
  }
  for (const Arc& a : pieces.arcs) {
    dxf.arc("OUTLINE", a);
    dxf.arc("OUTLINE", {mirrored(a.center), a.radius_mm, 360 - a.to_deg, 360 - a.from_deg});
  }
  const double over = 2;
  dxf.line("AXIS", {-over, 0}, {length_of(profile) + over, 0});
  dxf.pair(0, "ENDSEC"), dxf.pair(0, "EOF");
  return dxf.take();
}

std::string outline_svg(const Profile& profile) {
  if (!mass_properties(profile, 1000)) return {};
  double top = 0;
  for (const ProfileStep& s : profile)
    top = std::max({top, s.outside_mm / 2, s.end_outside_mm.value_or(0) / 2});
  const double margin = 2, width = length_of(profile) + 2 * margin, height = 2 * (top + margin);
  std::string body;
  const auto place = [&](Eigen::Vector2d v) {
    return fmt::format("{:.4f} {:.4f}", v.x() + margin, top + margin - v.y());
  };
  const Pieces pieces = pieces_of(profile);
  for (const double side : {1.0, -1.0}) {
    const auto at = [&](Eigen::Vector2d v) { return place({v.x(), side * v.y()}); };
    for (const Straight& s : pieces.lines) body += fmt::format("M{}L{}", at(s.from), at(s.to));
    for (const Arc& a : pieces.arcs) {
      const auto end = [&](double angle_deg) {
        return at(a.center +
                  a.radius_mm * Eigen::Vector2d(std::cos(rad(angle_deg)), std::sin(rad(angle_deg))));
      };
      body += fmt::format("M{}A{:.4f} {:.4f} 0 0 {} {}", end(a.to_deg), a.radius_mm, a.radius_mm,
                          side > 0 ? 1 : 0, end(a.from_deg));
    }
  }
  return fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0:.4f}mm\" height=\"{1:.4f}mm\" viewBox=\"0 0 "
      "{0:.4f} {1:.4f}\">\n"
      "<title>Section outline, 1:1, mm</title>\n<path d=\"{2}\" fill=\"none\" stroke=\"#000\" "
      "stroke-width=\"0.05\"/>\n"
      "</svg>\n",
      width, height, body);
}

}  // namespace rondure::plan
