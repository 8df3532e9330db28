// Flatbed scans: resolution from the file, two axes with scales of their own, and what a turned reference tells.
#include <catch2/catch.hpp>
#include <cmath>

#include "picture_files.hpp"
#include "render/image_file.hpp"
#include "render/scene.hpp"
#include "rondure/photo/scan.hpp"

using namespace rondure;

namespace {

constexpr double kDpi1200 = 1200 / kMmPerInch;

// A disc as a scanner sees it whose axes are off by m + q and m - q.
Picture scanned(double diameter_mm, double m, double q, double ovality_mm, double axis_deg,
                std::uint64_t seed) {
  render::Scene scene;
  const int size = static_cast<int>(diameter_mm * kDpi1200) + 50;
  scene.camera = render::Camera::square_on(size, size, kDpi1200);
  scene.camera.lens.focal_x_px *= 1 + m + q, scene.camera.lens.focal_y_px *= 1 + m - q;
  scene.ground = render::grey(0.8);
  render::Layer disc;
  disc.name = "disc";
  disc.center = {0.1, -0.05};
  disc.profile.radius_mm = diameter_mm / 2;
  disc.profile.lobes = {{2, ovality_mm / 4, axis_deg}};
  disc.level = render::grey(0.1);
  scene.layers = {disc};
  scene.sensor = {.full_well_e = 9000, .read_noise_e = 6, .seed = seed};
  return render::as_picture(render::take_picture(scene));
}

}  // namespace

TEST_CASE("scan: resolution from words and from files", "[photo][scan]") {
  CHECK(parse_resolution("600dpi")->x_px_per_mm == Approx(600 / 25.4));
  CHECK(parse_resolution("1200 ppi")->y_px_per_mm == Approx(1200 / 25.4));
  CHECK(parse_resolution("23.6px/mm")->x_px_per_mm == Approx(23.6));
  for (const char* text : {"", "600", "dpi", "0dpi", "-5dpi", "10dpi", "1e9dpi", "nandpi", "photo.png"})
    CHECK(parse_resolution(text).error().code == ErrorCode::kBadArgument);
  const auto paint = [](int x, int y) {
    return test::Rgb{static_cast<std::uint16_t>(900 * x), static_cast<std::uint16_t>(700 * y), 0};
  };
  test::FileOptions options;
  options.x_dpi = 600, options.y_dpi = 1200;
  for (const auto& bytes : {png_file(paint, options), jpeg_file(paint, options), tiff_file(paint, options)}) {
    const auto picture = decode_picture(bytes);
    REQUIRE(picture);
    const auto resolution = resolution_of(*picture);
    REQUIRE(resolution);
    CHECK(resolution->x_px_per_mm == Approx(600 / 25.4).epsilon(1e-4));
    CHECK(resolution->y_px_per_mm == Approx(1200 / 25.4).epsilon(1e-4));
  }
  options.exif_orientation = 6;  // stored on its side
  const auto turned = decode_picture(tiff_file(paint, options));
  REQUIRE(turned);
  CHECK(turned->x_px_per_mm == Approx(1200 / 25.4).epsilon(1e-4));
  options = {};
  for (const auto& bytes : {png_file(paint, options), jpeg_file(paint, options), tiff_file(paint, options)})
    CHECK(resolution_of(*decode_picture(bytes)).error().code == ErrorCode::kBadCalibration);
}

TEST_CASE("scan: axes come out of a turned reference exactly, its own ovality does not enter",
          "[photo][scan]") {
  const double m = 0.0007, q = 0.0015, s = 0.0004, d = 20;
  const auto scan = [&](double piece_cos, double piece_sin) {
    return ScannedDisc{{d * (1 + m), 0.0005}, d / 2 * q + piece_cos, d / 4 * s + piece_sin, 1e-5, {}};
  };
  const ScannedDisc scans[] = {scan(0.002, -0.001), scan(-0.002, 0.001)};
  const auto fit = scanner_from_discs({d, 0.002}, scans);
  REQUIRE(fit);
  CHECK(fit->turned);
  CHECK(fit->axes.mean_ratio.value == Approx(m).epsilon(1e-9));
  CHECK(fit->axes.difference_ratio.value == Approx(q).epsilon(1e-9));
  CHECK(fit->axes.skew_rad.value == Approx(s).epsilon(1e-9));
  CHECK(fit->piece_ovality_mm == Approx(4 * std::hypot(0.002, 0.001)));
  CHECK(fit->axes.mean_ratio.u == Approx(std::hypot(0.002, 0.0005) / d));
  // From one scan the piece's ovality is taken for the scanner's, within what its tolerance allows.
  const auto one = scanner_from_discs({d, 0.002}, std::span(scans, 1));
  REQUIRE(one);
  CHECK_FALSE(one->turned);
  CHECK(one->axes.difference_ratio.u > fit->axes.difference_ratio.u);
  CHECK(scanner_from_discs({d, 0.002}, {}).error().code == ErrorCode::kTooFewPoints);
  ScannedDisc wide = scan(0, 0);
  wide.diameter_mm.value += 0.1;
  const ScannedDisc other[] = {scan(0, 0), wide};
  CHECK(scanner_from_discs({d, 0.002}, other).error().code == ErrorCode::kBadCalibration);
  ScannedDisc oval = scan(0.5, 0);
  CHECK(scanner_from_discs({d, 0.002}, std::span(&oval, 1)).error().code == ErrorCode::kBadCalibration);
}

TEST_CASE("scan: the plane takes the axes off, and doubts them where nothing told them", "[photo][scan]") {
  Picture picture;
  picture.width_px = 400, picture.height_px = 300;
  const ScannerAxes axes{{0.001, 0.0002}, {0.002, 0.0001}, {0.0005, 0.0001}};
  const MeasuringPlane plane = plane_of_scan(picture, {20, 40}, axes);
  const auto px = pixel_from_part(plane, {10, 3});
  CHECK(px->x_px == Approx(20 * (1.003 * 10 + 0.0005 * 3)));
  CHECK(px->y_px == Approx(299 - 40 * 0.999 * 3));
  const PlaneUncertainty u = u_from_plane(plane, {{5, 3}, 2});
  CHECK(u.u_scale_mm == Approx(0.0002 * 4));
  CHECK(u.u_pose_mm < 1e-6);  // a whole circle's mean does not hang on their difference
  CHECK(std::sqrt(u.second_harmonic_mm2(0, 0)) == Approx(2 * 0.0001).epsilon(0.01));
  CHECK(std::sqrt(u.second_harmonic_mm2(1, 1)) == Approx(2 * 0.0001 / 2).epsilon(0.01));
}

TEST_CASE(
    "scan: a drawn reference, turned once, tells axes 0.3 % apart, a part scanned then is right and round",
    "[photo][scan]") {
  const double m = -0.0006, q = 0.0015;
  const Resolution resolution{kDpi1200, kDpi1200};
  std::vector<ScannedDisc> scans;
  for (const double turned_deg : {20.0, 110.0}) {
    const auto disc = read_scanned_disc(
        scanned(8.0005, m, q, 0.002, turned_deg, static_cast<std::uint64_t>(turned_deg)), resolution, 8);
    REQUIRE(disc);
    scans.push_back(*disc);
  }
  const auto fit = scanner_from_discs({8, 0.001}, scans);
  REQUIRE(fit);
  CHECK(fit->axes.difference_ratio.value == Approx(q).margin(2 * fit->axes.difference_ratio.u));
  CHECK(fit->axes.difference_ratio.u < 1e-4);
  CHECK(fit->piece_ovality_mm == Approx(0.002).margin(0.0003));
  // A part of the reference's own size and light has its edges' error: what is left is the reference's uncertainty.
  const auto scale = ReferenceScale::from({fit->reference}, 1);
  REQUIRE(scale);
  CHECK_FALSE(scale->in_picture());
  CircleReading same = fit->reference.reading;
  CHECK(scale->apply_to(same).shift_mm == Approx(0).margin(1e-9));
  CHECK(scale->apply_to(same).u_mm() < 0.0018);
  CHECK(scale->apply_to(same).u_edge_mm <
        0.6 * std::hypot(same.tone_mm[0], same.tone_mm[1], same.tone_mm[2]));
  // A round part of 6 mm: read with the scanner's own axes.
  const Picture part = scanned(6, m, q, 0, 0, 5);
  const auto edges = find_round_edges(part, plane_of_scan(part, resolution, fit->axes), {});
  REQUIRE(edges);
  double mean = 0, cos2 = 0, sin2 = 0;
  Eigen::Vector2d middle = Eigen::Vector2d::Zero();
  const double count = static_cast<double>(edges->front().points.size());
  for (const MeasuredPoint& p : edges->front().points) middle += p.at.vec() / count;
  for (const MeasuredPoint& p : edges->front().points) {
    const Eigen::Vector2d d = p.at.vec() - middle;
    const double t = std::atan2(d.y(), d.x());
    mean += d.norm() / count, cos2 += 2 * d.norm() * std::cos(2 * t) / count,
        sin2 += 2 * d.norm() * std::sin(2 * t) / count;
  }
  CHECK(2 * mean == Approx(6).margin(0.003));
  CHECK(4 * std::hypot(cos2, sin2) < 0.001);
  // Nothing there, or another size.
  CHECK(read_scanned_disc(part, resolution, 9).error().code == ErrorCode::kBadCalibration);
}

TEST_CASE("scan: the scanner's file", "[photo][scan]") {
  ScannerFile scanner{{23.6, 23.6},
                      {{0.001, 0.0002}, {-0.0015, 0.0001}, {0.0004, 0.0001}},
                      {{"a.png", "00"}},
                      "now",
                      std::nullopt};
  REQUIRE_FALSE(parse_scanner(to_json(scanner))->reference);
  scanner.reference =
      ReferenceReading{{{20, 0.002}, {}, {}}, {20, 0.0003, {0.001, -0.0011, 0.0004}, 0.0002, 0, 0, {}}, {}};
  const std::string json = to_json(scanner);
  const auto back = parse_scanner(json);
  REQUIRE(back);
  CHECK(to_json(*back) == json);
  for (std::size_t cut = 0; cut + 2 < json.size(); ++cut) CHECK_FALSE(parse_scanner(json.substr(0, cut)));
  std::string wild = json;
  wild.replace(wild.find("-0.0011"), 7, "1e300");
  CHECK(parse_scanner(wild).error().code == ErrorCode::kFileDamaged);
  CHECK(parse_scanner(R"({"format":"rondure-calibration","version":1,"kind":"plane"})").error().code ==
        ErrorCode::kBadCalibration);
  CHECK(parse_scanner(R"({"format":"rondure-calibration","version":1,"kind":"scanner","made_from":[1,"x"]})")
            .error()
            .code == ErrorCode::kFileDamaged);
}
