#include <Eigen/Eigenvalues>
#include <Eigen/LU>
#include <cmath>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>

#include "rondure/photo/calibration.hpp"

namespace rondure {
namespace {

using Json = nlohmann::ordered_json;

constexpr const char* kFormat = "rondure-calibration";
constexpr std::uintmax_t kMostBytes = 64u << 20;

// Thrown inside this file only, caught in parse_calibration: a field that is missing or of the wrong kind.
struct BadField {
  Error error;
};
[[noreturn]] void damaged(const std::string& detail) { throw BadField{{ErrorCode::kFileDamaged, detail}}; }

const Json& field(const Json& j, const char* key) {
  const auto it = j.is_object() ? j.find(key) : j.end();
  if (it == j.end()) damaged(std::string("found no '") + key + "'");
  return *it;
}
double number(const Json& j, const char* key, double lo, double hi) {
  const Json& v = field(j, key);
  if (!v.is_number()) damaged(std::string("'") + key + "' is not a number");
  const double x = v.get<double>();
  if (!(x >= lo && x <= hi)) damaged(std::string("'") + key + "' is out of range: " + v.dump());
  return x;
}
double number_or(const Json& j, const char* key, double otherwise, double lo, double hi) {
  return j.is_object() && j.contains(key) ? number(j, key, lo, hi) : otherwise;
}
std::string text_or_empty(const Json& j, const char* key) {
  const auto it = j.is_object() ? j.find(key) : j.end();
  return it != j.end() && it->is_string() ? it->get<std::string>() : std::string();
}

template <class Matrix>
Json rows_of(const Matrix& m) {
  Json rows = Json::array();
  for (Eigen::Index r = 0; r < m.rows(); ++r) {
    Json row = Json::array();
    for (Eigen::Index c = 0; c < m.cols(); ++c) row.push_back(m(r, c));
    rows.push_back(row);
  }
  return rows;
}
Eigen::MatrixXd matrix(const Json& j, const char* key, Eigen::Index size) {
  const Json& rows = field(j, key);
  const auto wrong = [&] {
    damaged(std::string("'") + key + "' is not a " + std::to_string(size) + " x " + std::to_string(size) +
            " matrix of numbers");
  };
  if (!rows.is_array() || rows.size() != static_cast<std::size_t>(size)) wrong();
  Eigen::MatrixXd m(size, size);
  for (Eigen::Index r = 0; r < size; ++r) {
    const Json& row = rows[static_cast<std::size_t>(r)];
    if (!row.is_array() || row.size() != static_cast<std::size_t>(size)) wrong();
    for (Eigen::Index c = 0; c < size; ++c) {
      const Json& v = row[static_cast<std::size_t>(c)];
      if (!v.is_number() || !std::isfinite(v.get<double>())) wrong();
      m(r, c) = v.get<double>();
    }
  }
  return m;
}
Eigen::MatrixXd covariance(const Json& j, Eigen::Index size) {
  const Eigen::MatrixXd c = matrix(j, "covariance", size);
  const Eigen::VectorXd sd = c.diagonal().cwiseMax(0).cwiseSqrt();
  for (Eigen::Index r = 0; r < size; ++r)
    for (Eigen::Index k = 0; k < size; ++k)
      if (c(r, r) < 0 || std::abs(c(r, k) - c(k, r)) > 1e-6 * sd(r) * sd(k) ||
          std::abs(c(r, k)) > (1 + 1e-6) * sd(r) * sd(k))
        damaged("'covariance' is not symmetric and positive");
  return c;
}

Json lens_json(const Lens& lens) {
  const auto& [k1, k2, p1, p2, k3] = lens.distortion;
  return {{"focal_x_px", lens.focal_x_px},
          {"focal_y_px", lens.focal_y_px},
          {"center_x_px", lens.center_x_px},
          {"center_y_px", lens.center_y_px},
          {"k1", k1},
          {"k2", k2},
          {"p1", p1},
          {"p2", p2},
          {"k3", k3}};
}
Lens lens_of(const Json& j) {
  Lens lens;
  lens.focal_x_px = number(j, "focal_x_px", 1, 1e8), lens.focal_y_px = number(j, "focal_y_px", 1, 1e8);
  lens.center_x_px = number(j, "center_x_px", -1e6, 1e6),
  lens.center_y_px = number(j, "center_y_px", -1e6, 1e6);
  static constexpr const char* kNames[] = {"k1", "k2", "p1", "p2", "k3"};
  for (std::size_t i = 0; i < 5; ++i) lens.distortion[i] = number(j, kNames[i], -1e6, 1e6);
  return lens;
}

Json tone_json(const ToneCurve& tone, bool known) {
  Json j = {{"curve", tone.linear ? "linear" : "srgb"}, {"learned", known}};
  if (!tone.linear) j["gamma_shift"] = tone.gamma_shift, j["s_bend"] = tone.s_bend;
  if (!tone.linear && tone.shoulder != 0) j["shoulder"] = tone.shoulder;
  return j;
}
ToneCurve tone_of(const Json& j, bool& known) {
  ToneCurve tone;
  const std::string curve = text_or_empty(j, "curve");
  if (curve != "linear" && curve != "srgb") damaged("'tone' has no 'curve' of linear or srgb");
  tone.linear = curve == "linear";
  tone.gamma_shift = number_or(j, "gamma_shift", 0, -0.9, 2);
  tone.s_bend = number_or(j, "s_bend", 0, -0.9, 0.9);
  tone.shoulder = number_or(j, "shoulder", 0, 0, 100);
  known = j.contains("learned") && j["learned"].is_boolean() && j["learned"].get<bool>();
  return tone;
}

Json view_json(const ViewResult& v) {
  Json j = {{"file", v.name}, {"used", v.used}};
  if (!v.used) {
    j["left_out"] = v.why_not;
    return j;
  }
  j["rms_px"] = v.rms_px, j["sides"] = v.sides, j["sides_used"] = v.sides_used, j["tilt_deg"] = v.tilt_deg;
  j["distance_mm"] = v.distance_mm, j["px_per_mm"] = v.px_per_mm, j["blur_px"] = v.blur_px,
  j["edge_growth_px"] = v.growth_px;
  return j;
}

void put_camera(Json& j, const CameraCalibration& camera) {
  j["lens"] = lens_json(camera.lens);
  j["focal_u_ratio"] = camera.focal_u_ratio();
  j["covariance_of"] = {"focal_x_px", "focal_y_px", "center_x_px", "center_y_px", "k1",
                        "k2",         "p1",         "p2",          "k3"};
  j["covariance"] = rows_of(camera.covariance);
  if (camera.ink_mm) j["ink_growth_mm"] = camera.ink_mm->value, j["u_ink_growth_mm"] = camera.ink_mm->u;
  j["tone"] = tone_json(camera.tone, camera.tone_known);
}

void put_plane(Json& j, const MeasuringPlane& plane) {
  j["description"] = plane.description;
  j["ideal_px_from_part_mm"] = rows_of(plane.ideal_from_board);
  if (plane.lens) j["lens"] = lens_json(*plane.lens);
  if (plane.covariance.size() > 0) {
    j["covariance_of"] = {"h11", "h12", "h13", "h21", "h22", "h23", "h31", "h32"};
    if (plane.lens)
      for (const char* name :
           {"focal_x_px", "focal_y_px", "center_x_px", "center_y_px", "k1", "k2", "p1", "p2", "k3"})
        j["covariance_of"].push_back(name);
    j["covariance"] = rows_of(plane.covariance);
  }
  j["u_scale_ratio"] = plane.u_scale_ratio;
  if (plane.edge_offset_px != 0) j["edge_offset_px"] = plane.edge_offset_px;
  j["u_edge_offset_px"] = plane.u_edge_offset_px;
  j["tone"] = tone_json(plane.tone, plane.tone_known);
  if (plane.board_blur_px > 0) j["board_blur_px"] = plane.board_blur_px;
  for (const PixelPoint& p : plane.outline) j["board_outline_px"].push_back({p.x_px, p.y_px});
  if (plane.bent)
    j["as_bent_lines_ask"] = {{"ideal_px_from_part_mm", rows_of(plane.bent->ideal_from_board)},
                              {"lens", lens_json(*plane.bent->lens)},
                              {"covariance", rows_of(plane.bent->covariance)}};
}

CameraCalibration camera_of(const Json& j) {
  CameraCalibration camera;
  camera.lens = lens_of(field(j, "lens"));
  camera.covariance = covariance(j, 9);
  if (j.contains("ink_growth_mm"))
    camera.ink_mm = Estimate{number(j, "ink_growth_mm", -10, 10), number(j, "u_ink_growth_mm", 0, 10)};
  camera.tone = tone_of(field(j, "tone"), camera.tone_known);
  return camera;
}

// Homography, lens and covariance.
MeasuringPlane map_from(const Json& j) {
  MeasuringPlane plane;
  plane.ideal_from_board = matrix(j, "ideal_px_from_part_mm", 3);
  plane.ideal_from_board /= plane.ideal_from_board(2, 2);  // not finite where that is 0
  const double determinant = plane.ideal_from_board.determinant();
  if (!plane.ideal_from_board.allFinite() || !std::isfinite(determinant) || !(std::abs(determinant) > 1e-12))
    damaged("'ideal_px_from_part_mm' cannot be inverted");
  plane.ideal_from_part = plane.ideal_from_board;
  if (j.contains("lens")) plane.lens = lens_of(j["lens"]);
  if (j.contains("covariance")) plane.covariance = covariance(j, plane.lens ? 17 : 8);
  return plane;
}

MeasuringPlane plane_of(const Json& j) {
  MeasuringPlane plane = map_from(j);
  plane.description = text_or_empty(j, "description");
  if (j.contains("as_bent_lines_ask")) {
    field(j["as_bent_lines_ask"], "lens");
    plane.bent = std::make_shared<const MeasuringPlane>(map_from(j["as_bent_lines_ask"]));
  }
  plane.u_scale_ratio = number(j, "u_scale_ratio", 0, 1);
  plane.edge_offset_px = number_or(j, "edge_offset_px", 0, -100, 100);
  plane.u_edge_offset_px = number(j, "u_edge_offset_px", 0, 100);
  plane.tone = tone_of(field(j, "tone"), plane.tone_known);
  plane.board_blur_px = number_or(j, "board_blur_px", 0, 0, 100);
  if (j.contains("board_outline_px") && j["board_outline_px"].is_array())
    for (const Json& p : j["board_outline_px"]) {
      if (!p.is_array() || p.size() != 2 || !p[0].is_number() || !p[1].is_number())
        damaged("'board_outline_px' is not of points");
      plane.outline.push_back({p[0].get<double>(), p[1].get<double>()});
    }
  return plane;
}

Calibration calibration_of(const Json& j) {
  if (!j.is_object() || text_or_empty(j, "format") != kFormat)
    damaged(std::string("found no '") + kFormat + "'");
  if (number(j, "version", 0, 1e6) != 1)
    damaged("found version " + j["version"].dump() + " of the calibration, needed 1");
  const std::string kind = text_or_empty(j, "kind");
  Calibration out;
  if (kind == "camera")
    out.kind = CalibrationKind::kCamera;
  else if (kind == "plane")
    out.kind = CalibrationKind::kPlane;
  else if (kind == "scale")
    out.kind = CalibrationKind::kScale;
  else
    throw BadField{{ErrorCode::kBadCalibration, "found a calibration of kind '" + kind.substr(0, 40) +
                                                    "', needed camera, plane or scale"}};
  out.when = text_or_empty(j, "when");
  if (const auto made = j.find("made_from"); made != j.end() && made->is_array())
    for (const Json& m : *made)
      out.made_from.push_back({text_or_empty(m, "file"), text_or_empty(m, "sha256")});
  const Json& picture = field(j, "picture");
  const int width = static_cast<int>(number(picture, "width_px", 1, 1e6)),
            height = static_cast<int>(number(picture, "height_px", 1, 1e6));
  out.make = text_or_empty(picture, "make"), out.model = text_or_empty(picture, "model");
  out.orientation = static_cast<int>(number_or(picture, "orientation", 1, 1, 8));
  if (j.contains("board")) {
    const Json& b = j["board"];
    out.board = BoardSize{static_cast<int>(number(b, "columns", 3, 1000)),
                          static_cast<int>(number(b, "rows", 3, 1000)), number(b, "square_mm", 1e-6, 1e6)};
  }
  out.rms_px = number_or(j, "rms_px", 0, 0, 1e6), out.chi = number_or(j, "chi", 0, 0, 1e9);
  if (out.kind == CalibrationKind::kCamera) {
    CameraCalibration camera = camera_of(j);
    camera.width_px = width, camera.height_px = height;
    camera.make = out.make, camera.model = out.model, camera.orientation = out.orientation;
    out.camera = camera;
  } else {
    MeasuringPlane plane = plane_of(j);
    plane.width_px = width, plane.height_px = height;
    out.plane = plane;
  }
  if (const auto warnings = j.find("warnings"); warnings != j.end() && warnings->is_array())
    for (const Json& w : *warnings)
      out.warnings.push_back({WarningCode::from_record(text_or_empty(w, "code")), text_or_empty(w, "text")});
  return out;
}

}  // namespace

std::string_view name(CalibrationKind kind) {
  switch (kind) {
    case CalibrationKind::kCamera:
      return "camera";
    case CalibrationKind::kPlane:
      return "plane";
    case CalibrationKind::kScale:
      return "scale";
  }
  return "";
}

std::string to_json(const Calibration& c) {
  Json j;
  j["format"] = kFormat;
  j["version"] = 1;
  j["kind"] = name(c.kind);
  for (const CalibrationSource& s : c.made_from)
    j["made_from"].push_back({{"file", s.file}, {"sha256", s.sha256}});
  j["when"] = c.when;
  const int width = c.camera ? c.camera->width_px : c.plane->width_px,
            height = c.camera ? c.camera->height_px : c.plane->height_px;
  j["picture"] = {{"width_px", width}, {"height_px", height}};
  const std::string &make = c.camera ? c.camera->make : c.make, &model = c.camera ? c.camera->model : c.model;
  if (!make.empty()) j["picture"]["make"] = make;
  if (!model.empty()) j["picture"]["model"] = model;
  j["picture"]["orientation"] = c.camera ? c.camera->orientation : c.orientation;
  if (c.board)
    j["board"] = {{"columns", c.board->columns}, {"rows", c.board->rows}, {"square_mm", c.board->square_mm}};
  for (const Estimate& pin : c.pins_mm)
    j["pins"].push_back({{"diameter_mm", pin.value}, {"u_diameter_mm", pin.u}});
  if (c.camera) put_camera(j, *c.camera);
  if (c.plane) put_plane(j, *c.plane);
  if (c.rms_px > 0) j["rms_px"] = c.rms_px;
  if (c.chi > 0) j["chi"] = c.chi;
  for (const ViewResult& v : c.views) j["views"].push_back(view_json(v));
  j["warnings"] = Json::array();
  for (const Warning& w : c.warnings) j["warnings"].push_back({{"code", w.code.word()}, {"text", w.text}});
  return j.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

Result<Calibration> parse_calibration(const std::string& json_text) {
  try {
    return calibration_of(Json::parse(json_text));
  } catch (const BadField& bad) {
    return bad.error;
  } catch (const Json::parse_error& e) {
    return Error{ErrorCode::kFileDamaged,
                 "the JSON breaks off or is wrong at byte " + std::to_string(e.byte)};
  } catch (const Json::exception&) {
    return Error{ErrorCode::kFileDamaged, "the JSON holds text or a number that cannot be read"};
  }
}

Result<Calibration> load_calibration(const std::filesystem::path& file) {
  std::error_code ignored;
  if (!std::filesystem::exists(file, ignored)) return Error{ErrorCode::kFileMissing, file.string()};
  if (std::filesystem::is_directory(file, ignored))
    return Error{ErrorCode::kFileUnreadable, file.string() + " is a folder"};
  if (std::filesystem::file_size(file, ignored) > kMostBytes && !ignored)
    return Error{ErrorCode::kFileDamaged, file.string() + " is larger than any calibration"};
  std::ifstream in(file, std::ios::binary);
  const std::string text{std::istreambuf_iterator<char>(in), {}};
  if (!in.good() && !in.eof()) return Error{ErrorCode::kFileUnreadable, file.string()};
  if (!in.is_open()) return Error{ErrorCode::kFileUnreadable, file.string()};
  auto calibration = parse_calibration(text);
  if (!calibration) return Error{calibration.error().code, file.string() + ": " + calibration.error().detail};
  return calibration;
}

Result<MeasuringPlane> plane_for(const Calibration& c, const Picture& picture) {
  if (!c.plane)
    return Error{
        ErrorCode::kBadCalibration,
        "the file holds a camera only; needed a board in the picture too (--board), or a plane file"};
  const auto size = [](int w, int h) { return std::to_string(w) + " x " + std::to_string(h) + " px"; };
  if (picture.width_px != c.plane->width_px || picture.height_px != c.plane->height_px)
    return Error{ErrorCode::kCalibrationMismatch,
                 "the picture is " + size(picture.width_px, picture.height_px) + ", the calibration is for " +
                     size(c.plane->width_px, c.plane->height_px)};
  if (!c.model.empty() && !picture.model.empty() && (c.model != picture.model || c.make != picture.make))
    return Error{ErrorCode::kCalibrationMismatch, "the picture is from " + picture.make + " " +
                                                      picture.model + ", the calibration from " + c.make +
                                                      " " + c.model};
  return *c.plane;
}

}  // namespace rondure
