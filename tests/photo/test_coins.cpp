// A real photograph of round things: 24 copper coins of one kind, touching each other (Debian package opencv-doc,
// opencv4/html/water_coins.jpg, Apache-2.0 and BSD-3-Clause), fetched by .ci/fetch-open-photos. No size is published, but all
// are the same coin: sizes relative to each other.
#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>

#include "rondure/interpret/outline.hpp"
#include "rondure/photo/round_edges.hpp"

using namespace rondure;

TEST_CASE("real photographs: coins of one kind measure alike", "[photo][edges][open]") {
  const std::filesystem::path file = std::filesystem::path(RONDURE_SOURCE) /
                                     "build/opencv-doc/usr/share/doc/opencv-doc/opencv4/html/water_coins.jpg";
  if (!std::filesystem::exists(file)) {
    WARN("skipped: the photographs of Debian's opencv-doc are not there (.ci/fetch-open-photos)");
    return;
  }
  const auto picture = load_picture(file);
  REQUIRE(picture);
  const auto edges = find_round_edges(*picture, plane_of_scale(picture->width_px, picture->height_px, 1, 0));
  REQUIRE(edges);
  CHECK(edges->size() == 24);  // counted by eye
  std::vector<double> diameters_px;
  for (const RoundEdge& edge : *edges) {
    OutlineOptions options;
    options.correlated = true;
    const auto feature = measure_outline(edge.points, options);
    REQUIRE(feature);
    diameters_px.push_back(feature->circle->diameter_mm);
  }
  std::sort(diameters_px.begin(), diameters_px.end());
  const double median = diameters_px[diameters_px.size() / 2];
  // Another method (error-function edges and an ellipse, 21 coins usable) gave a median of 48.23 px with 0.25 px between coins.
  CHECK(median == Approx(48.23).margin(0.25));
  const auto quarter = diameters_px.size() / 4;
  CHECK(diameters_px[diameters_px.size() - 1 - quarter] - diameters_px[quarter] <
        0.01 * median);                                               // half of them within 1 %
  CHECK(diameters_px.back() - diameters_px.front() < 0.05 * median);  // all within 5 %
}
