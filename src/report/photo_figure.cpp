#include "photo_figure.hpp"

// jpeglib.h needs stdio before it
#include <jpeglib.h>

#include <cmath>
#include <csetjmp>
#include <cstdio>
#include <cstdlib>

#include "charts.hpp"
#include "rondure/core/geometry.hpp"
#include "svg.hpp"

namespace rondure {
namespace {

// The drawing's own px: as wide as a small phone shows without scaling.
constexpr double kWidth = 360;

// From the part plane to the drawing, through the picture.
class DrawingFromPart {
public:
  DrawingFromPart(const std::array<double, 6>& pixel_from_part, const PagePicture& picture)
      : a_(pixel_from_part), picture_(picture), units_(kWidth / picture.width_px) {}
  std::pair<double, double> at(double x_mm, double y_mm) const {
    const double x_px = a_[0] * x_mm + a_[1] * y_mm + a_[2], y_px = a_[3] * x_mm + a_[4] * y_mm + a_[5];
    return {((x_px - picture_.origin_x_px) / picture_.scale + 0.5) * units_,
            ((y_px - picture_.origin_y_px) / picture_.scale + 0.5) * units_};
  }
  std::pair<double, double> polar(const PartPoint& c, double radius_mm, double angle_deg) const {
    return at(c.x_mm + radius_mm * std::cos(rad(angle_deg)), c.y_mm + radius_mm * std::sin(rad(angle_deg)));
  }

private:
  std::array<double, 6> a_;
  const PagePicture& picture_;
  double units_;
};

void draw_curve(Svg& svg, const DrawingFromPart& map, const PartPoint& c, double a_mm, double b_mm,
                double axis_deg, std::string_view css) {
  std::vector<std::pair<double, double>> curve;
  const double cosine = std::cos(rad(axis_deg)), sine = std::sin(rad(axis_deg));
  for (int t = 0; t < 360; t += 3) {
    const double u = a_mm * std::cos(rad(t)), v = b_mm * std::sin(rad(t));
    curve.push_back(map.at(c.x_mm + u * cosine - v * sine, c.y_mm + u * sine + v * cosine));
  }
  svg.path(curve, css, true);
}

// Where the edge was found, thinned to what the eye can part.
void draw_points(Svg& svg, const DrawingFromPart& map, const Feature& f) {
  const double r = f.circle->diameter_mm / 2;
  double last_deg = -1e9;
  for (const ProfilePoint& p : f.profile) {
    if (p.used && p.angle_deg - last_deg < 4) continue;
    const auto [x, y] = map.polar(f.circle->center, r + p.deviation_mm, p.angle_deg);
    svg.circle(x, y, 1.5, p.used ? "photo-point" : "photo-point-out");
    if (p.used) last_deg = p.angle_deg;
  }
}

void draw_excluded(Svg& svg, const DrawingFromPart& map, const Feature& f) {
  const double r = f.circle->diameter_mm / 2;
  for (std::size_t i = 0; i < f.excluded.size(); ++i) {
    const auto& s = f.excluded[i];
    const double to = s.to_deg < s.from_deg ? s.to_deg + 360 : s.to_deg;
    const int steps = 2 + static_cast<int>((to - s.from_deg) / 4);
    std::vector<std::pair<double, double>> curve;
    for (int k = 0; k <= steps; ++k)
      curve.push_back(map.polar(f.circle->center, r * 1.05, s.from_deg + (to - s.from_deg) * k / steps));
    svg.path(curve, "photo-mark-halo");
    svg.path(curve, "photo-mark");
    const auto [x, y] = map.polar(f.circle->center, r * 1.38, (s.from_deg + to) / 2);
    svg.text(x, y + 5, place_letter(i), "photo-letter", "middle");
  }
}

extern "C" void leave_on_error(j_common_ptr info) {
  std::longjmp(*static_cast<std::jmp_buf*>(info->client_data), 1);
}

}  // namespace

std::string base64(const std::string& bytes) {
  static constexpr char kAlphabet[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string out;
  out.reserve((bytes.size() + 2) / 3 * 4);
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    unsigned triple = 0;
    const std::size_t have = std::min<std::size_t>(3, bytes.size() - i);
    for (std::size_t k = 0; k < 3; ++k)
      triple = triple << 8 | (k < have ? static_cast<unsigned char>(bytes[i + k]) : 0u);
    for (std::size_t k = 0; k < 4; ++k) out += k <= have ? kAlphabet[triple >> (18 - 6 * k) & 63] : '=';
  }
  return out;
}

std::string grey_jpeg(const std::vector<std::uint8_t>& grey, int width_px, int height_px, int quality) {
  jpeg_compress_struct info{};
  jpeg_error_mgr errors{};
  std::jmp_buf back;
  unsigned char* buffer = nullptr;
  unsigned long size = 0;
  info.err = jpeg_std_error(&errors);
  errors.error_exit = leave_on_error;
  info.client_data = &back;
  if (setjmp(back)) {
    jpeg_destroy_compress(&info);
    std::free(buffer);
    return {};
  }
  jpeg_create_compress(&info);
  jpeg_mem_dest(&info, &buffer, &size);
  info.image_width = static_cast<JDIMENSION>(width_px);
  info.image_height = static_cast<JDIMENSION>(height_px);
  info.input_components = 1;
  info.in_color_space = JCS_GRAYSCALE;
  jpeg_set_defaults(&info);
  jpeg_set_quality(&info, quality, TRUE);
  jpeg_start_compress(&info, TRUE);
  while (info.next_scanline < info.image_height) {
    auto* row = const_cast<JSAMPLE*>(grey.data() + static_cast<std::size_t>(info.next_scanline) *
                                                       static_cast<std::size_t>(width_px));
    jpeg_write_scanlines(&info, &row, 1);
  }
  jpeg_finish_compress(&info);
  std::string bytes(reinterpret_cast<char*>(buffer), size);
  jpeg_destroy_compress(&info);
  std::free(buffer);
  return bytes;
}

std::string photo_figure(const Feature& f, const PagePicture& picture) {
  if (!f.pixel_from_part || !f.circle || picture.width_px <= 0) return {};
  const std::string jpeg = grey_jpeg(picture.grey, picture.width_px, picture.height_px, 80);
  if (jpeg.empty()) return {};
  const double height = kWidth * picture.height_px / picture.width_px;
  Svg svg(kWidth, height);
  svg.raw(fmt::format("<image width=\"{:.0f}\" height=\"{:.2f}\" href=\"data:image/jpeg;base64,{}\"/>",
                      kWidth, height, base64(jpeg)));
  const DrawingFromPart map(*f.pixel_from_part, picture);
  const double r = f.circle->diameter_mm / 2;
  draw_curve(svg, map, f.circle->center, r, r, 0, "photo-halo");
  draw_curve(svg, map, f.circle->center, r, r, 0, "photo-circle");
  if (f.ellipse && f.ellipse->major_angle_deg)
    draw_curve(svg, map, f.ellipse->center, f.ellipse->major_diameter_mm / 2,
               f.ellipse->minor_diameter_mm / 2, *f.ellipse->major_angle_deg, "photo-ellipse");
  draw_points(svg, map, f);
  for (int angle = 0; angle < 360; angle += 30) {
    const auto [x0, y0] = map.polar(f.circle->center, r * 1.07, angle);
    const auto [x1, y1] = map.polar(f.circle->center, r * 1.13, angle);
    svg.line(x0, y0, x1, y1, "photo-halo");
    svg.line(x0, y0, x1, y1, "photo-tick");
    const auto [x, y] = map.polar(f.circle->center, r * 1.24, angle);
    svg.text(x, y + 4, fmt::format("{}\u00b0", angle), "photo-degree", "middle");
  }
  draw_excluded(svg, map, f);
  return svg.finish("Photograph of " + f.name +
                    " with the fitted circle, chart angles and the places left out");
}

}  // namespace rondure
