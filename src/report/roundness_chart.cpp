#include <algorithm>
#include <cmath>

#include "charts.hpp"
#include "rondure/core/length.hpp"
#include "svg.hpp"

namespace rondure {
namespace {

// The drawing's own px: as wide as a small phone shows without scaling.
constexpr double kSize = 360, kCentre = kSize / 2;
constexpr double kBase = 104;  // drawn radius of the reference circle
constexpr double kBand = 40;   // drawn deviation of one full scale
constexpr double kRim = kBase + kBand + 4;

struct Polar {
  double mm_full_scale;
  std::pair<double, double> at(double angle_deg, double deviation_mm) const {
    const double limited = std::clamp(deviation_mm / mm_full_scale, -1.6, 1.05);
    return at_radius(angle_deg, kBase + kBand * limited);
  }
  static std::pair<double, double> at_radius(double angle_deg, double r) {
    return {kCentre + r * std::cos(rad(angle_deg)), kCentre - r * std::sin(rad(angle_deg))};
  }
};

std::string sector_path(double from_deg, double to_deg) {
  if (to_deg < from_deg) to_deg += 360;
  std::string d;
  const auto add = [&](double angle, double r) {
    const auto [x, y] = Polar::at_radius(angle, r);
    d += fmt::format("{}{:.2f} {:.2f}", d.empty() ? "M" : "L", x, y);
  };
  const double width = std::max(to_deg - from_deg, 2.0);
  const double start = (from_deg + to_deg - width) / 2;
  const int steps = 2 + static_cast<int>(width / 3);
  for (int i = 0; i <= steps; ++i) add(start + width * i / steps, kRim);
  for (int i = steps; i >= 0; --i) add(start + width * i / steps, kBase - kBand);
  return d + "Z";
}

void draw_grid(Svg& svg, double step_mm, const Polar& polar) {
  for (const int level : {-1, 0, 1})
    svg.circle(kCentre, kCentre, kBase + kBand * level * step_mm / polar.mm_full_scale,
               level ? "grid" : "reference");
  for (int angle = 0; angle < 360; angle += 30) {
    const auto [x0, y0] = Polar::at_radius(angle, kBase - kBand);
    const auto [x1, y1] = Polar::at_radius(angle, kRim);
    svg.line(x0, y0, x1, y1, "grid");
    const auto [tx, ty] = Polar::at_radius(angle, kRim + 13);
    svg.text(tx, ty + 4, fmt::format("{}\u00b0", angle), "tick", "middle");
  }
}

// The measured outline in runs: a gap of more than 12 degrees is left open.
void draw_profile(Svg& svg, const std::vector<ProfilePoint>& profile, const Polar& polar) {
  std::vector<std::pair<double, double>> run;
  const auto flush = [&] {
    svg.path(run, "outline");
    run.clear();
  };
  const bool few = profile.size() <= 60;
  double last_angle = -1e9;
  for (const auto& p : profile) {
    if (!p.used || p.angle_deg - last_angle > (few ? 60 : 12)) flush();
    if (p.used) run.push_back(polar.at(p.angle_deg, p.deviation_mm));
    last_angle = p.angle_deg;
    const auto [x, y] = polar.at(p.angle_deg, p.deviation_mm);
    if (!p.used)
      svg.circle(x, y, 1.6, "left-out-point");
    else if (few)
      svg.circle(x, y, 2.2, "point");
  }
  if (!profile.empty() && profile.front().used && profile.back().used && !run.empty() &&
      profile.front().angle_deg + 360 - profile.back().angle_deg <= (few ? 60 : 12))
    run.push_back(polar.at(profile.front().angle_deg, profile.front().deviation_mm));
  flush();
}

void draw_ellipse(Svg& svg, const EllipseResult& e, const Polar& polar) {
  if (!e.major_angle_deg) return;
  std::vector<std::pair<double, double>> curve;
  const double half = (e.major_diameter_mm - e.minor_diameter_mm) / 4;
  for (int a = 0; a < 360; a += 2)
    curve.push_back(polar.at(a, half * std::cos(2 * rad(a - *e.major_angle_deg))));
  svg.path(curve, "ellipse", true);
}

}  // namespace

std::string place_letter(std::size_t index) {
  std::string letter(1, static_cast<char>('A' + index % 26));
  return index < 26 ? letter : letter + std::to_string(index / 26 + 1);
}

double round_step_mm(double mm) {
  if (!(mm > 0)) return 1e-3;
  const double decade = std::pow(10, std::floor(std::log10(mm)));
  for (const double factor : {1.0, 2.0, 5.0})
    if (factor * decade >= mm * (1 - 1e-9)) return factor * decade;
  return 10 * decade;
}

RoundnessChart roundness_chart(const Feature& feature, const LengthWords& words) {
  if (!feature.circle || feature.profile.size() < 3) return {};
  double largest = 0;
  for (const auto& p : feature.profile)
    if (p.used) largest = std::max(largest, std::abs(p.deviation_mm));
  const DeviationUnit unit = deviation_unit(words);
  const double step = round_step_mm(std::max(largest * 0.6, 1e-5) / unit.mm), step_mm = step * unit.mm;
  const Polar polar{std::max(step_mm, largest)};
  auto profile = feature.profile;
  std::sort(profile.begin(), profile.end(),
            [](const auto& a, const auto& b) { return a.angle_deg < b.angle_deg; });

  Svg svg(kSize, kSize);
  if (feature.roundness && feature.roundness->noise_floor_mm.value_or(0) > 0)
    svg.raw(fmt::format(
        "<circle cx=\"{0}\" cy=\"{0}\" r=\"{1}\" class=\"noise-ring\" stroke-width=\"{2:.2f}\"/>", kCentre,
        kBase, std::min(2 * kBand, kBand * *feature.roundness->noise_floor_mm / polar.mm_full_scale)));
  for (std::size_t i = 0; i < feature.excluded.size(); ++i) {
    const auto& s = feature.excluded[i];
    svg.raw_path(sector_path(s.from_deg, s.to_deg), "left-out");
    const double to = s.to_deg < s.from_deg ? s.to_deg + 360 : s.to_deg;
    const auto [x, y] = Polar::at_radius((s.from_deg + to) / 2, kBase - kBand - 9);
    svg.text(x, y + 4, place_letter(i), "mark", "middle");
  }
  draw_grid(svg, step_mm, polar);
  if (feature.ellipse) draw_ellipse(svg, *feature.ellipse, polar);
  draw_profile(svg, profile, polar);
  const std::string ring = fmt::format("{:g} {}", step, unit.symbol);
  svg.text(kCentre, kCentre - 8, "one ring = " + ring, "tick", "middle");
  svg.text(kCentre, kCentre + 8,
           words.inch_first() ? fmt::format("({:.3g} mm)", step_mm)
                              : fmt::format("({:.3g} thou)", step_mm / kMmPerInch * 1000),
           "tick", "middle");
  const double magnification = (kBand / polar.mm_full_scale) / (kBase / (feature.circle->diameter_mm / 2));
  return {svg.finish(
              fmt::format("Roundness chart of {}: deviations from the least-squares circle, one ring is {}",
                          feature.name, ring)),
          magnification};
}

}  // namespace rondure
