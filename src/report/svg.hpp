// A small SVG drawing in user units, y down as SVG has it. Strings are escaped here.
#pragma once
#include <fmt/format.h>

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "rondure/core/quoting.hpp"

namespace rondure {

class Svg {
public:
  Svg(double width, double height) : width_(width), height_(height) {}

  // `css` is a class list of src/data/page.css.
  void line(double x1, double y1, double x2, double y2, std::string_view css);
  void circle(double x, double y, double r, std::string_view css);
  void rect(double x, double y, double w, double h, std::string_view css);
  // Open or closed; an empty list draws nothing.
  void path(const std::vector<std::pair<double, double>>& points, std::string_view css, bool closed = false);
  void raw_path(const std::string& d, std::string_view css);
  // anchor: start | middle | end
  void text(double x, double y, std::string_view words, std::string_view css,
            std::string_view anchor = "start");
  void raw(const std::string& markup) { body_ += markup; }
  // The finished element; `label` is what a screen reader says.
  std::string finish(std::string_view label) const;

private:
  double width_, height_;
  std::string body_;
};

}  // namespace rondure
