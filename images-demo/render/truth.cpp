// The truth of a scene as JSON: what a perfect measurement would have to find.
#include <cmath>
#include <nlohmann/json.hpp>

#include "render/scene.hpp"

namespace rondure::render {

std::string truth_json(const Scene& scene, const std::string& picture_name) {
  using Json = nlohmann::ordered_json;
  Json truth;
  truth["picture"] = picture_name;
  const Camera& camera = scene.camera;
  const Lens& lens = camera.lens;
  truth["camera"] = {{"width_px", camera.width_px},     {"height_px", camera.height_px},
                     {"focal_x_px", lens.focal_x_px},   {"focal_y_px", lens.focal_y_px},
                     {"center_x_px", lens.center_x_px}, {"center_y_px", lens.center_y_px},
                     {"distortion", lens.distortion},   {"blur_px", scene.optics.blur_px}};
  Json rotation = Json::array();
  for (int r = 0; r < 3; ++r)
    for (int c = 0; c < 3; ++c) rotation.push_back(camera.rotation(r, c));
  truth["camera"]["rotation_from_board"] = rotation;
  truth["camera"]["translation_mm"] = {camera.translation_mm.x(), camera.translation_mm.y(),
                                       camera.translation_mm.z()};
  if (scene.board)
    truth["board"] = {{"columns", scene.board->columns},
                      {"rows", scene.board->rows},
                      {"square_mm", scene.board->square_mm},
                      {"ink_mm", scene.board->ink_mm}};
  truth["features"] = Json::array();
  for (const Layer& layer : scene.layers) {
    if (layer.name.empty()) continue;
    double a = 0, b = 0;  // second harmonic
    for (const Lobe& lobe : layer.profile.lobes)
      if (lobe.upr == 2) {
        a += lobe.amplitude_mm * std::cos(2 * rad(lobe.phase_deg));
        b += lobe.amplitude_mm * std::sin(2 * rad(lobe.phase_deg));
      }
    const PixelPoint px = camera.project({layer.center.x(), layer.center.y(), layer.z_high_mm});
    Json feature = {{"name", layer.name},
                    {"diameter_mm", 2 * layer.profile.radius_mm},
                    {"ovality_mm", 4 * std::hypot(a, b)},
                    {"center_mm", {layer.center.x(), layer.center.y()}},
                    {"center_px", {px.x_px, px.y_px}},
                    {"z_low_mm", layer.z_low_mm},
                    {"z_high_mm", layer.z_high_mm}};
    if (std::hypot(a, b) > 0) feature["major_angle_deg"] = deg(wrap_axis_rad(0.5 * std::atan2(b, a)));
    for (const Lobe& lobe : layer.profile.lobes)
      feature["lobes"].push_back(
          {{"upr", lobe.upr}, {"amplitude_mm", lobe.amplitude_mm}, {"phase_deg", lobe.phase_deg}});
    for (const Bump& bump : layer.profile.bumps)
      feature["bumps"].push_back(
          {{"at_deg", bump.at_deg}, {"width_mm", bump.width_mm}, {"height_mm", bump.height_mm}});
    truth["features"].push_back(feature);
  }
  return truth.dump(1) + "\n";
}

}  // namespace rondure::render
