#include "rondure/photo/overlay.hpp"

#include <png.h>

#include <algorithm>
#include <cmath>
#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

#include "rondure/photo/raw_picture.hpp"

namespace rondure {
namespace {

// The palette of Okabe and Ito (2008), told apart by colour-blind eyes; BGR.
const cv::Scalar kLines[] = {{0, 159, 230}, {233, 180, 86}, {115, 158, 0}, {66, 228, 240}, {167, 121, 204}};
const cv::Scalar kDark(20, 20, 20), kLight(250, 250, 250), kQuiet(110, 110, 110);
constexpr int kShift = 4;  // drawing coordinates in sixteenths of a pixel

class Drawing {
public:
  Drawing(const Picture& picture, int longest_side_px) {
    const int longest = std::max(picture.width_px, picture.height_px);
    scale_ = std::min(4.0, static_cast<double>(longest_side_px) / longest);
    if (scale_ > 1) scale_ = std::max(1.0, std::min(scale_, 900.0 / longest));  // small pictures up to 900 px
    cv::Mat grey(picture.height_px, picture.width_px, CV_8U);
    for (int y = 0; y < picture.height_px; ++y)
      for (int x = 0; x < picture.width_px; ++x)
        grey.at<std::uint8_t>(y, x) =
            static_cast<std::uint8_t>(picture.at(x, y) * 255 / picture.full_scale());
    cv::resize(grey, grey, {}, scale_, scale_, scale_ < 1 ? cv::INTER_AREA : cv::INTER_LINEAR);
    cv::cvtColor(grey, canvas_, cv::COLOR_GRAY2BGR);
    unit_ = std::max(1.0, std::max(canvas_.cols, canvas_.rows) / 1200.0);  // line width on a page
  }

  void draw(const OverlayOutline& o, std::size_t number) {
    if (o.aside) return draw_broken(o.outline);
    const cv::Scalar color = kLines[number % std::size(kLines)];
    for (const auto& stretch : o.left_out) hatch(stretch);
    std::vector<cv::Point> line;
    for (const PixelPoint& p : o.outline) line.push_back(fixed(p));
    cv::polylines(canvas_, line, true, kDark, width(3), cv::LINE_AA, kShift);
    cv::polylines(canvas_, line, true, color, width(1.4), cv::LINE_AA, kShift);
    // As many dots as can be told apart.
    cv::Point2d last(-1e9, -1e9);
    for (const PixelPoint& p : o.points) {
      const cv::Point2d at = placed(p);
      if (std::hypot(at.x - last.x, at.y - last.y) < 9 * unit_) continue;
      last = at;
      cv::circle(canvas_, fixed(p), static_cast<int>(2.4 * unit_ * 16), kDark, cv::FILLED, cv::LINE_AA,
                 kShift);
      cv::circle(canvas_, fixed(p), static_cast<int>(1.5 * unit_ * 16), kLight, cv::FILLED, cv::LINE_AA,
                 kShift);
    }
  }

  // Labels under each other beside the outlines, each with a line to its own.
  void label(const OverlayOutline& o, std::size_t number) {
    if (o.label.empty() || o.outline.empty()) return;
    const double size = 0.55 * unit_;
    const int thick = width(1.2);
    int base = 0;
    const cv::Size box = cv::getTextSize(o.label, cv::FONT_HERSHEY_SIMPLEX, size, thick, &base);
    // The outline's point up and to the right.
    cv::Point2d from = placed(o.outline.front());
    for (const PixelPoint& p : o.outline)
      if (const cv::Point2d q = placed(p); q.x - q.y > from.x - from.y) from = q;
    // The part as a whole, and the nearest free place left, right, above or below it.
    cv::Rect2d part = box_of(o);
    for (const cv::Rect2d& other : parts_)
      if ((other & part).area() > 0) part |= other;
    const auto rect_at = [&](const cv::Point2d& at) {
      return cv::Rect2d(at.x - 4, at.y - box.height - 4, box.width + 8, box.height + base + 8);
    };
    const cv::Rect2d page(0, 0, canvas_.cols, canvas_.rows);
    const double row = box.height + base + 10, gap = 16 * unit_;
    cv::Point2d at(std::clamp(from.x, 6.0, std::max(6.0, canvas_.cols - box.width - 8.0)), box.height + 6.0);
    double nearest = 1e18;
    for (const double x :
         {part.x + part.width + gap, part.x - box.width - gap, part.x + part.width / 2 - box.width / 2.0})
      for (double y = box.height + 6.0; y < canvas_.rows - 8; y += row) {
        const cv::Rect2d place = rect_at({x, y});
        const auto meets = [&](const cv::Rect2d& t) { return (t & place).area() > 0; };
        if ((place & page).area() < place.area() - 1e-6 ||
            std::ranges::any_of(labels_, meets, &Label::rect) || std::ranges::any_of(parts_, meets))
          continue;
        const auto crossed = [&](const Label& other) {
          return meets_line(other.rect, from, nearest_on(place, from)) ||
                 meets_line(place, other.from, other.near);
        };
        const double distance = std::hypot(x + box.width / 2.0 - from.x, y - from.y) +
                                kCrossing_rows * row * double(std::ranges::count_if(labels_, crossed));
        if (distance < nearest) nearest = distance, at = {x, y};
      }
    if (nearest > 2 * std::max(part.width, part.height))
      return label_inside(o);  // crowded: no free place near
    const cv::Rect2d rect = rect_at(at);
    labels_.push_back({o.label, o.aside ? kQuiet : kLines[number % std::size(kLines)], rect, at, from,
                       nearest_on(rect, from)});
  }

  // All lines first: none runs over another's words.
  void draw_labels() {
    for (const Label& l : labels_) {
      cv::line(canvas_, l.from, l.near, kDark, width(2.6), cv::LINE_AA);
      cv::line(canvas_, l.from, l.near, l.color, width(1.2), cv::LINE_AA);
    }
    for (const Label& l : labels_) {
      cv::rectangle(canvas_, l.rect, kLight, cv::FILLED);
      cv::rectangle(canvas_, l.rect, l.color, width(1.2), cv::LINE_AA);
      cv::putText(canvas_, l.text, l.at, cv::FONT_HERSHEY_SIMPLEX, 0.55 * unit_, kDark, width(1.2),
                  cv::LINE_AA);
    }
  }

  // The label within its own outline, as small as that needs.
  void label_inside(const OverlayOutline& o) {
    const cv::Rect2d box = box_of(o);
    int base = 0;
    double size = 0.55 * unit_;
    const cv::Size full = cv::getTextSize(o.label, cv::FONT_HERSHEY_SIMPLEX, size, 1, &base);
    size *= std::min(1.0, 0.8 * box.width / full.width);
    const cv::Size text = cv::getTextSize(o.label, cv::FONT_HERSHEY_SIMPLEX, size, 1, &base);
    const cv::Point at(static_cast<int>(box.x + (box.width - text.width) / 2),
                       static_cast<int>(box.y + (box.height + text.height) / 2));
    cv::rectangle(canvas_, {at.x - 3, at.y - text.height - 3}, {at.x + text.width + 3, at.y + base + 2},
                  kLight, cv::FILLED);
    cv::putText(canvas_, o.label, at, cv::FONT_HERSHEY_SIMPLEX, size, kDark, 1, cv::LINE_AA);
  }

  // Labels keep clear of these.
  void keep_clear(const OverlayOutline& o) {
    if (!o.outline.empty()) parts_.push_back(box_of(o));
  }

  const cv::Mat& canvas() const { return canvas_; }

private:
  struct Label {
    std::string text;
    cv::Scalar color;
    cv::Rect2d rect;
    cv::Point2d at, from, near;  // of the words; of the line, at the outline and at the rectangle
  };
  static constexpr double kCrossing_rows = 4;  // so many rows farther away rather than over another's line

  static cv::Point2d nearest_on(const cv::Rect2d& rect, const cv::Point2d& from) {
    return {std::clamp(from.x, rect.x, rect.x + rect.width),
            std::clamp(from.y, rect.y, rect.y + rect.height)};
  }
  static bool meets_line(const cv::Rect& rect, cv::Point a, cv::Point b) { return cv::clipLine(rect, a, b); }

  cv::Point2d placed(const PixelPoint& p) const {
    return {(p.x_px + 0.5) * scale_ - 0.5, (p.y_px + 0.5) * scale_ - 0.5};
  }
  cv::Rect2d box_of(const OverlayOutline& o) const {
    cv::Point2d low = placed(o.outline.front()), high = low;
    for (const PixelPoint& p : o.outline) {
      const cv::Point2d q = placed(p);
      low = {std::min(low.x, q.x), std::min(low.y, q.y)},
      high = {std::max(high.x, q.x), std::max(high.y, q.y)};
    }
    return {low, high};
  }
  cv::Point fixed(const PixelPoint& p) const {
    const cv::Point2d at = placed(p);
    return {static_cast<int>(std::lround(at.x * (1 << kShift))),
            static_cast<int>(std::lround(at.y * (1 << kShift)))};
  }
  int width(double w) const { return std::max(1, static_cast<int>(std::lround(w * unit_))); }

  // Every other stretch of the outline, thin, light on dark.
  void draw_broken(const std::vector<PixelPoint>& outline) {
    const double dash = 7 * unit_;
    double along = 0;
    for (std::size_t i = 0; i + 1 < outline.size(); ++i) {
      const cv::Point2d a = placed(outline[i]), b = placed(outline[i + 1]);
      along += std::hypot(b.x - a.x, b.y - a.y);
      if (static_cast<int>(along / dash) % 2) continue;
      cv::line(canvas_, fixed(outline[i]), fixed(outline[i + 1]), kQuiet, width(1.8), cv::LINE_AA, kShift);
      cv::line(canvas_, fixed(outline[i]), fixed(outline[i + 1]), kLight, width(1), cv::LINE_AA, kShift);
    }
  }

  // Short strokes across the outline between two end strokes.
  void hatch(const std::vector<PixelPoint>& stretch) {
    if (stretch.size() < 2) return;
    const double half = 9 * unit_;
    double since = 1e9;
    for (std::size_t i = 0; i + 1 < stretch.size(); ++i) {
      const cv::Point2d a = placed(stretch[i]), b = placed(stretch[i + 1]);
      const double length = std::hypot(b.x - a.x, b.y - a.y);
      if (length < 1e-9) continue;
      const bool end = i == 0 || i + 2 == stretch.size();
      since += length;
      if (since < 6 * unit_ && !end) continue;
      since = 0;
      const cv::Point2d across((a.y - b.y) / length, (b.x - a.x) / length),
          lean = end ? across : across + 0.7 * (b - a) / length;
      const double reach = end ? 1.4 * half : half;
      cv::line(canvas_, a - reach * lean, a + reach * lean, kLight, width(end ? 4 : 3), cv::LINE_AA);
      cv::line(canvas_, a - reach * lean, a + reach * lean, kDark, width(end ? 2 : 1.2), cv::LINE_AA);
    }
  }

  cv::Mat canvas_;
  double scale_ = 1, unit_ = 1;
  std::vector<Label> labels_;
  std::vector<cv::Rect2d> parts_;
};

void append(png_structp png, png_bytep data, png_size_t length) {
  auto& bytes = *static_cast<std::vector<std::uint8_t>*>(png_get_io_ptr(png));
  bytes.insert(bytes.end(), data, data + length);
}

// libpng reports errors by longjmp: nothing with a destructor lives in here.
bool encode(const cv::Mat& bgr, std::vector<std::uint8_t>& bytes) {
  png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, nullptr, nullptr, nullptr);
  if (!png) return false;
  png_infop info = png_create_info_struct(png);
  if (!info || setjmp(png_jmpbuf(png))) {
    png_destroy_write_struct(&png, &info);
    return false;
  }
  png_set_write_fn(png, &bytes, append, nullptr);
  png_set_compression_level(png, 3);
  png_set_IHDR(png, info, static_cast<png_uint_32>(bgr.cols), static_cast<png_uint_32>(bgr.rows), 8,
               PNG_COLOR_TYPE_RGB, PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
  // so that it is told from a photograph before it is written over
  char key[] = "Software", text[] = "rondure overlay";
  png_text made_by{};
  made_by.compression = PNG_TEXT_COMPRESSION_NONE;
  made_by.key = key, made_by.text = text, made_by.text_length = sizeof text - 1;
  png_set_text(png, info, &made_by, 1);
  png_set_bgr(png);
  png_write_info(png, info);
  for (int y = 0; y < bgr.rows; ++y) png_write_row(png, bgr.ptr<std::uint8_t>(y));
  png_write_end(png, nullptr);
  png_destroy_write_struct(&png, &info);
  return true;
}

}  // namespace

std::vector<std::uint8_t> overlay_png(const Picture& picture, const std::vector<OverlayOutline>& outlines,
                                      int longest_side_px) {
  if (picture.linear_light) return overlay_png(seen_on_screen(picture), outlines, longest_side_px);
  Drawing drawing(picture, longest_side_px);
  for (std::size_t i = 0; i < outlines.size(); ++i) drawing.draw(outlines[i], i);
  for (const OverlayOutline& outline : outlines) drawing.keep_clear(outline);
  for (std::size_t i = 0; i < outlines.size(); ++i) drawing.label(outlines[i], i);
  drawing.draw_labels();
  std::vector<std::uint8_t> bytes;
  if (!encode(drawing.canvas(), bytes)) bytes.clear();
  return bytes;
}

}  // namespace rondure
