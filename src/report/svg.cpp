#include "svg.hpp"

namespace rondure {

void Svg::line(double x1, double y1, double x2, double y2, std::string_view css) {
  body_ += fmt::format("<line x1=\"{:.2f}\" y1=\"{:.2f}\" x2=\"{:.2f}\" y2=\"{:.2f}\" class=\"{}\"/>", x1, y1,
                       x2, y2, css);
}
void Svg::circle(double x, double y, double r, std::string_view css) {
  body_ += fmt::format("<circle cx=\"{:.2f}\" cy=\"{:.2f}\" r=\"{:.2f}\" class=\"{}\"/>", x, y, r, css);
}
void Svg::rect(double x, double y, double w, double h, std::string_view css) {
  body_ += fmt::format("<rect x=\"{:.2f}\" y=\"{:.2f}\" width=\"{:.2f}\" height=\"{:.2f}\" class=\"{}\"/>", x,
                       y, w, h, css);
}
void Svg::path(const std::vector<std::pair<double, double>>& points, std::string_view css, bool closed) {
  if (points.empty()) return;
  std::string d;
  for (const auto& [x, y] : points) d += fmt::format("{}{:.2f} {:.2f}", d.empty() ? "M" : "L", x, y);
  raw_path(closed ? d + "Z" : d, css);
}
void Svg::raw_path(const std::string& d, std::string_view css) {
  body_ += fmt::format("<path d=\"{}\" class=\"{}\"/>", d, css);
}
void Svg::text(double x, double y, std::string_view words, std::string_view css, std::string_view anchor) {
  body_ += fmt::format("<text x=\"{:.2f}\" y=\"{:.2f}\" class=\"{}\" text-anchor=\"{}\">{}</text>", x, y, css,
                       anchor, escape_markup(words));
}
std::string Svg::finish(std::string_view label) const {
  return fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {:.0f} {:.0f}\" role=\"img\" "
      "aria-label=\"{}\">{}</svg>",
      width_, height_, escape_markup(label), body_);
}

}  // namespace rondure
