// Fits a circle to twelve points of a 10 mm pin and prints its diameter.
#include <cmath>
#include <cstdio>
#include <vector>

#include <rondure/fit/circle_fit.hpp>

int main() {
  std::vector<rondure::PartPoint> points;
  for (int i = 0; i < 12; ++i) points.push_back({3 + 5 * std::cos(i * 0.5236), 4 + 5 * std::sin(i * 0.5236)});
  const auto fit = rondure::fit_circle(points);
  if (!fit) return std::puts(fit.error().message().c_str()), 1;
  std::printf("diameter %.4f mm\n", fit->circle.diameter_mm());
  return std::fabs(fit->circle.diameter_mm() - 10) < 1e-9 ? 0 : 1;
}
