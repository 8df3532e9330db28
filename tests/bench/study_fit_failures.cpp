// Cases from the public issue trackers of general-purpose libraries (points and sources: tests/data/fits),
// with what the OpenCV of this machine answers today and what we give. Usage: study_fit_failures     (table
// on standard output)
#include <fmt/format.h>

#include <cmath>
#include <opencv2/imgproc.hpp>
#include <vector>

#include "fit/reference_sets.hpp"
#include "rondure/fit/circle_fit.hpp"
#include "rondure/fit/ellipse_fit.hpp"
#include "rondure/fit/reference_circles.hpp"

using namespace rondure;

namespace {

std::vector<cv::Point2f> pixels(const std::vector<PartPoint>& points) {
  std::vector<cv::Point2f> out;
  for (const PartPoint& p : points) out.emplace_back(float(p.x_mm), float(p.y_mm));
  return out;
}

std::string opencv_ellipse(const std::vector<PartPoint>& points) {
  try {
    const cv::RotatedRect r = cv::fitEllipse(pixels(points));
    return fmt::format("({:.6g}, {:.6g}) a {:.6g} b {:.6g}", r.center.x, r.center.y,
                       std::max(r.size.width, r.size.height) / 2, std::min(r.size.width, r.size.height) / 2);
  } catch (const cv::Exception&) {
    return "throws";
  }
}
std::string our_ellipse(const std::vector<PartPoint>& points) {
  const auto fit = fit_ellipse(points);
  if (!fit) return "refused: " + std::string(sentence(fit.error().code));
  const Ellipse& e = fit->ellipse;
  return fmt::format("({:.6g}, {:.6g}) a {:.6g} b {:.6g}", e.center.x_mm, e.center.y_mm, e.semi_major_mm,
                     e.semi_minor_mm);
}
std::string opencv_circle(const std::vector<PartPoint>& points) {
  cv::Point2f c;
  float r = 0;
  cv::minEnclosingCircle(pixels(points), c, r);
  return fmt::format("({:.8g}, {:.8g}) r {:.8g}", c.x, c.y, r);
}
std::string our_circle(const std::vector<PartPoint>& points) {
  const auto mcc = minimum_circumscribed(points);
  if (!mcc) return "refused: " + mcc.error().message();
  return fmt::format("({:.8g}, {:.8g}) r {:.8g}", mcc->circle.center.x_mm, mcc->circle.center.y_mm,
                     mcc->circle.radius_mm);
}

struct Case {
  const char *set, *report;
};
constexpr Case kEllipses[] = {
    {"opencv_4515", "OpenCV 4515: bad ellipse of a hook-shaped contour"},
    {"opencv_6544", "OpenCV 6544: fit concave against the data; no ellipse exists"},
    {"opencv_10270", "OpenCV 10270: 4 of 5 points collinear, answered (0, 21.46) 36.3 x 203.5"},
    {"opencv_26078", "OpenCV 26078: very far ellipse; the best conic is none"},
    {"opencv_28748_n100", "OpenCV 28627: near-circular, silent fall-back; truth 17, 16.5"},
    {"opencv_28748_n360", "OpenCV 28627: the same with 360 points"},
    {"opencv_java5", "OpenCV JavaCase: a square and its centre; no ellipse exists"},
    {"opencv_ams_horizontal_line", "OpenCV: seven collinear points, answered by an ellipse"},
    {"lsqellipse_21", "lsq-ellipse 21: centre (-78086, -4783) for nine points of a hook"},
    {"skimage_2379", "scikit-image 2379: not stable; no ellipse exists"},
    {"skimage_far_shifted", "scikit-image 6699: refused 1e6 away; truth a 0.5, b 0.1"},
    {"skimage_6699_good1_first41", "scikit-image 6699: fails when the spread is small against the offset"},
    {"skimage_7497", "scikit-image 7497: three points must be refused"},
    {"stress_near_circle_exact", "own: a - b = 1e-4 of the radius; truth 10.0005, 9.9995"},
    {"stress_all_identical", "own: six identical points"},
    {"stress_collinear_exact", "own: eight collinear points"},
    {"stress_five_points_hyperbola", "own: five points of a hyperbola"}};
constexpr Case kEnclosing[] = {
    {"opencv_6438_mcc", "OpenCV 6438: right is (0.5, 0) r 0.5, answered r 12.505"},
    {"emgucv_65_mcc", "Emgu CV 65: right is (1.5, 0) r 0.5"},
    {"opencv_9797_mcc", "OpenCV 9797: three points differ from the same with a fourth"},
    {"opencv_16051_mcc", "OpenCV 16051: NaN for a duplicate; right is r 2.1023796"},
    {"opencv_27891_mcc", "OpenCV 27891: a point left outside"}};

}  // namespace

int main() {
  fmt::print("OpenCV {} as installed, in float; ours in double.\n\n", CV_VERSION);
  fmt::print("Ellipses\n");
  for (const Case& c : kEllipses) {
    const auto points = test::set_points(c.set);
    fmt::print("{:<28} {}\n{:>28} {}\n{:>28} {}\n", c.set, c.report, "OpenCV fitEllipse",
               points.size() < 5 ? "throws" : opencv_ellipse(points), "ours", our_ellipse(points));
  }
  fmt::print("\nMinimum circumscribed circles\n");
  for (const Case& c : kEnclosing) {
    const auto points = test::set_points(c.set);
    fmt::print("{:<28} {}\n{:>28} {}\n{:>28} {}\n", c.set, c.report, "OpenCV", opencv_circle(points), "ours",
               our_circle(points));
  }
  fmt::print(
      "\nSum of squared distances of published and usual algebraic ellipses over ours (certified.json; 1 = "
      "as small).\n");
  fmt::print(
      "Fitzgibbon: OpenCV fitEllipseDirect, scikit-image EllipseModel. Taubin: OpenCV fitEllipseAMS. Printed "
      "answers of OpenCV's own\n");
  fmt::print("tests agree with these (sets opencv_ams_*).\n\n{:<28} {:>12} {:>12} {:>12} {:>12}\n", "set",
             "Fitzgibbon", "Taubin", "Bookstein", "trace");
  for (const auto& [name, set] : test::certified()["sets"].items()) {
    const auto& e = set["ellipse"];
    if (!e.contains("geometric") || !e["geometric"].contains("a") ||
        e["geometric"]["ssq"].get<double>() < 1e-9)
      continue;
    const auto ours = fit_ellipse(test::set_points(name));
    if (!ours) continue;
    fmt::print("{:<28}", name);
    for (const char* method : {"fitzgibbon", "taubin_conic", "bookstein", "trace"})
      fmt::print(" {:>12}", e.contains(method) && e[method].contains("ssq")
                                ? fmt::format("{:.4f}", e[method]["ssq"].get<double>() / ours->ssq)
                                : std::string("no ellipse"));
    fmt::print("\n");
  }
}
