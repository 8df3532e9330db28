#include "svg_sheet.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "rondure/core/quoting.hpp"

namespace rondure::plan {
namespace {

constexpr double kThinWidth = 0.18;  // thick 0.5, thin 0.18 mm: near the ISO 128 pair
constexpr double kArrow = 2.4;       // mm long, a third as wide
constexpr double kFrameHeight = 5;   // mm, of a tolerance frame: twice its letters

std::string_view stroke(SvgSheet::Line kind) {
  switch (kind) {
    case SvgSheet::Line::kThick:
      return "stroke-width=\"0.5\"";
    case SvgSheet::Line::kThin:
      return "stroke-width=\"0.18\"";
    case SvgSheet::Line::kCentre:
      return "stroke-width=\"0.18\" stroke-dasharray=\"6 1 0.6 1\"";
  }
  return "";
}

// Width of a line of text in the sheet's font, near enough for boxes.
double text_width(std::string_view words, double size) {
  double width = 0;
  for (const char c : words) {
    if ((static_cast<unsigned char>(c) & 0xC0) == 0x80) continue;  // not the first byte of a letter
    width += std::string_view("iljtf.,:'|()[] ").find(c) != std::string_view::npos ? 0.33 : 0.58;
  }
  return width * size;
}

}  // namespace

void SvgSheet::line(At from, At to, Line kind) {
  body_ += fmt::format("<line x1=\"{:.3f}\" y1=\"{:.3f}\" x2=\"{:.3f}\" y2=\"{:.3f}\" {}/>\n", from.x, from.y,
                       to.x, to.y, stroke(kind));
}

void SvgSheet::path(const std::string& d, Line kind) {
  body_ += fmt::format("<path d=\"{}\" fill=\"none\" {}/>\n", d, stroke(kind));
}

void SvgSheet::closed(const std::vector<At>& points, Line kind) {
  std::string d;
  for (const At& p : points) d += fmt::format("{}{:.3f} {:.3f}", d.empty() ? "M" : "L", p.x, p.y);
  path(d + "Z", kind);
}

void SvgSheet::arrow_head(At tip, At from) {
  const double length = std::hypot(tip.x - from.x, tip.y - from.y);
  if (length < 1e-9) return;
  const double ux = (tip.x - from.x) / length, uy = (tip.y - from.y) / length, half = kArrow / 6;
  body_ +=
      fmt::format("<path d=\"M{:.3f} {:.3f}L{:.3f} {:.3f}L{:.3f} {:.3f}Z\" fill=\"#000\" stroke=\"none\"/>\n",
                  tip.x, tip.y, tip.x - ux * kArrow - uy * half, tip.y - uy * kArrow + ux * half,
                  tip.x - ux * kArrow + uy * half, tip.y - uy * kArrow - ux * half);
}

void SvgSheet::text(At at, std::string_view words, double size, std::string_view anchor, bool upright,
                    bool bold) {
  // a white rim keeps figures legible where a line passes under them
  const std::string turn = upright ? "" : fmt::format(" transform=\"rotate(-90 {:.3f} {:.3f})\"", at.x, at.y);
  labels_ += fmt::format(
      "<text x=\"{:.3f}\" y=\"{:.3f}\" font-size=\"{:g}\" text-anchor=\"{}\"{}{} stroke=\"#fff\" "
      "stroke-width=\"0.9\" "
      "paint-order=\"stroke\" stroke-linejoin=\"round\" fill=\"#000\">{}</text>\n",
      at.x, at.y, size, anchor, turn, bold ? " font-weight=\"bold\"" : "", escape_markup(words));
}

void SvgSheet::hatch(const std::vector<At>& polygon, double spacing) {
  // lines x + y = c; the polygon's crossings along each, in pairs
  double lo = 1e9, hi = -1e9;
  for (const At& p : polygon) lo = std::min(lo, p.x + p.y), hi = std::max(hi, p.x + p.y);
  const double step = spacing * std::sqrt(2.0);
  std::string d;
  for (double c = std::ceil(lo / step) * step + step / 2; c < hi; c += step) {
    std::vector<double> crossings;  // x
    for (std::size_t i = 0; i < polygon.size(); ++i) {
      const At &a = polygon[i], &b = polygon[(i + 1) % polygon.size()];
      const double sa = a.x + a.y - c, sb = b.x + b.y - c;
      if ((sa < 0) != (sb < 0)) crossings.push_back(a.x + (b.x - a.x) * sa / (sa - sb));
    }
    std::sort(crossings.begin(), crossings.end());
    for (std::size_t i = 0; i + 1 < crossings.size(); i += 2)
      d += fmt::format("M{:.3f} {:.3f}L{:.3f} {:.3f}", crossings[i], c - crossings[i], crossings[i + 1],
                       c - crossings[i + 1]);
  }
  if (!d.empty()) path(d, Line::kThin);
}

void SvgSheet::vertical_dimension(double x, At a, At b, const std::string& first, const std::string& second) {
  const double top = std::min(a.y, b.y), bottom = std::max(a.y, b.y), over = x > a.x ? 1.5 : -1.5;
  for (const At& p : {a, b}) line({p.x + over * 0.5, p.y}, {x + over, p.y});
  line({x, top}, {x, bottom});
  const bool inside = bottom - top > 3 * kArrow;
  arrow_head({x, top}, {x, inside ? bottom : top - 1});
  arrow_head({x, bottom}, {x, inside ? top : bottom + 1});
  if (!inside) line({x, top - 2 * kArrow}, {x, top}), line({x, bottom}, {x, bottom + 2 * kArrow});
  const double length = std::max(text_width(first, 2.8), text_width(second, 2.2));
  double middle = (top + bottom) / 2;
  if (length + 1 > bottom - top) {
    middle = top - 2 * kArrow - length / 2 - 1;
    line({x, middle - length / 2}, {x, top});
  }
  text({x - 1.0, middle}, first, 2.8, "middle", false);
  if (!second.empty()) text({x + 3.0, middle}, second, 2.2, "middle", false);
}

bool SvgSheet::fits_between(double distance, const std::string& first, const std::string& second) {
  return std::max({text_width(first, 2.8), text_width(second, 2.2), 3 * kArrow}) < distance;
}

void SvgSheet::horizontal_dimension(double y, At a, At b, const std::string& first, const std::string& second,
                                    bool beside_left) {
  const double left = std::min(a.x, b.x), right = std::max(a.x, b.x);
  for (const At& p : {a, b}) line({p.x, p.y + 0.75}, {p.x, y + 1.5});
  const bool inside = fits_between(right - left, first, second);
  line({inside ? left : left - 2 * kArrow, y}, {inside ? right : right + 2 * kArrow, y});
  arrow_head({left, y}, {inside ? right : left - 1, y});
  arrow_head({right, y}, {inside ? left : right + 1, y});
  const double at = inside        ? (left + right) / 2
                    : beside_left ? left - 2 * kArrow - 1
                                  : right + 2 * kArrow + 1;
  const char* anchor = inside ? "middle" : beside_left ? "end" : "start";
  text({at, y - (inside ? 1.0 : 0.2)}, first, 2.8, anchor);
  if (!second.empty()) text({at, y + (inside ? 3.0 : 2.8)}, second, 2.2, anchor);
}

double SvgSheet::frame_boxes(At at, const std::vector<std::string>& cells) {
  double x = at.x;
  for (const std::string& cell : cells) {
    const double width = std::max(kFrameHeight, text_width(cell, 2.6) + 2);
    body_ += fmt::format(
        "<rect x=\"{:.3f}\" y=\"{:.3f}\" width=\"{:.3f}\" height=\"{:g}\" fill=\"#fff\" "
        "stroke-width=\"{:g}\"/>\n",
        x, at.y - kFrameHeight / 2, width, kFrameHeight, kThinWidth * 1.5);
    if (!cell.empty()) text({x + width / 2, at.y + 0.95}, cell, 2.6, "middle");
    x += width;
  }
  return x - at.x;
}

double SvgSheet::roundness_frame(At at, const std::string& value) {
  const double width = frame_boxes(at, {"", value});
  body_ += fmt::format("<circle cx=\"{:.3f}\" cy=\"{:.3f}\" r=\"1.5\" fill=\"none\" stroke-width=\"0.3\"/>\n",
                       at.x + kFrameHeight / 2, at.y);
  return width;
}

double SvgSheet::run_out_frame(At at, const std::string& value, const std::string& datum) {
  const double width = frame_boxes(at, {"", value, datum});
  const At from{at.x + 1.2, at.y + 1.6}, tip{at.x + 3.9, at.y - 1.7};
  line(from, tip, Line::kThin);
  arrow_head(tip, from);
  return width;
}

void SvgSheet::datum(At foot, const std::string& letter) {
  body_ +=
      fmt::format("<path d=\"M{:.3f} {:.3f}L{:.3f} {:.3f}L{:.3f} {:.3f}Z\" fill=\"#000\" stroke=\"none\"/>\n",
                  foot.x, foot.y + 2.2, foot.x - 1.3, foot.y, foot.x + 1.3, foot.y);
  line({foot.x, foot.y + 2.2}, {foot.x, foot.y + 5});
  frame_boxes({foot.x - kFrameHeight / 2, foot.y + 5 + kFrameHeight / 2}, {letter});
}

void SvgSheet::view(std::string_view name, At corner, double width, double height) {
  body_ += fmt::format("<view id=\"{}\" viewBox=\"{:.3f} {:.3f} {:.3f} {:.3f}\"/>\n", name, corner.x,
                       corner.y, width, height);
}

std::string SvgSheet::document(double width, double height, std::string_view title,
                               std::string_view description) const {
  return fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0:g}mm\" height=\"{1:g}mm\" viewBox=\"0 0 {0:g} "
      "{1:g}\" "
      "role=\"img\" font-family=\"Arial, Helvetica, 'Liberation Sans', sans-serif\" stroke=\"#000\" "
      "stroke-linecap=\"round\" fill=\"none\">\n<title>{2}</title>\n<desc>{3}</desc>\n"
      "<rect width=\"{0:g}\" height=\"{1:g}\" fill=\"#fff\" stroke=\"none\"/>\n{4}</svg>\n",
      width, height, escape_markup(title), escape_markup(description), body_ + labels_);
}

}  // namespace rondure::plan
