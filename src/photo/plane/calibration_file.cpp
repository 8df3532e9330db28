#include <Eigen/LU>
#include <array>
#include <cmath>
#include <memory>

#include "json/calibration_frame.hpp"
#include "json/field_list.hpp"
#include "rondure/photo/calibration.hpp"

namespace rondure {
namespace {

constexpr std::uintmax_t kMostBytes = 64u << 20;  // no such file comes near; bounds the memory
constexpr std::array kLensNames = {"focal_x_px", "focal_y_px", "center_x_px", "center_y_px", "k1",
                                   "k2",         "p1",         "p2",          "k3"};
constexpr std::array kMapNames = {"h11", "h12", "h13", "h21", "h22", "h23", "h31", "h32"};

bool symmetric_and_positive(const Eigen::MatrixXd& c) {
  const Eigen::VectorXd sd = c.diagonal().cwiseMax(0).cwiseSqrt();
  for (Eigen::Index r = 0; r < c.rows(); ++r)
    for (Eigen::Index k = 0; k < c.cols(); ++k)
      if (c(r, r) < 0 || std::abs(c(r, k) - c(k, r)) > 1e-6 * sd(r) * sd(k) ||
          std::abs(c(r, k)) > (1 + 1e-6) * sd(r) * sd(k))
        return false;
  return true;
}

template <class Io, class Matrix>
void covariance(Io& io, Matrix& v, Eigen::Index size) {
  io.matrix("covariance", v, size);
  if constexpr (Io::kReads)
    if (!symmetric_and_positive(v)) io.refuse("covariance", "a symmetric and positive matrix");
}

std::optional<bool> linear_of(const std::string& word) {
  if (word != "linear" && word != "srgb") return std::nullopt;
  return word == "linear";
}

std::optional<CalibrationKind> kind_of(const std::string& word) {
  for (const auto kind : {CalibrationKind::kCamera, CalibrationKind::kPlane, CalibrationKind::kScale})
    if (word == name(kind)) return kind;
  return std::nullopt;
}

// Views of a type as they stand together in the file.
struct Tone {
  ToneCurve& curve;
  bool& known;
};
struct Map {  // homography, lens and covariance
  MeasuringPlane& plane;
  bool named;  // what the covariance is of is written beside it
};
struct Pin {
  Estimate size_mm;
};
struct PictureOf {
  int width_px = 0, height_px = 0;
  std::string make, model;
  int orientation = 1;
};

PictureOf picture_of(const Calibration& c) {
  if (c.camera)
    return {c.camera->width_px, c.camera->height_px, c.camera->make, c.camera->model, c.camera->orientation};
  return {c.plane ? c.plane->width_px : 0, c.plane ? c.plane->height_px : 0, c.make, c.model, c.orientation};
}

void set_picture(Calibration& c, const PictureOf& picture) {
  c.make = picture.make, c.model = picture.model, c.orientation = picture.orientation;
  if (c.camera) {
    c.camera->width_px = picture.width_px, c.camera->height_px = picture.height_px;
    c.camera->make = c.make, c.camera->model = c.model, c.camera->orientation = c.orientation;
  }
  if (c.plane) c.plane->width_px = picture.width_px, c.plane->height_px = picture.height_px;
}

struct Fields : json::FrameFields {
  using FrameFields::list;

  template <class Io>
  static void list(Io& io, Lens& v) {
    io.needed("focal_x_px", v.focal_x_px, 1, 1e8);
    io.needed("focal_y_px", v.focal_y_px, 1, 1e8);
    io.needed("center_x_px", v.center_x_px, -1e6, 1e6);
    io.needed("center_y_px", v.center_y_px, -1e6, 1e6);
    for (std::size_t i = 0; i < v.distortion.size(); ++i)
      io.needed(kLensNames[4 + i], v.distortion[i], -1e6, 1e6);
  }

  template <class Io>
  static void list(Io& io, Tone& v) {
    io.needed_word(
        "curve", v.curve.linear, [](bool linear) { return linear ? "linear" : "srgb"; }, linear_of,
        "a curve linear or srgb");
    io("learned", v.known);
    if (v.curve.linear) return;
    io("gamma_shift", v.curve.gamma_shift, -0.9, 2);
    io("s_bend", v.curve.s_bend, -0.9, 0.9);
    io.unless("shoulder", v.curve.shoulder, 0, 0, 100);
  }

  template <class Io>
  static void list(Io& io, BoardSize& v) {
    io.needed("columns", v.columns, 3, 1000);
    io.needed("rows", v.rows, 3, 1000);
    io.needed("square_mm", v.square_mm, 1e-6, 1e6);
  }

  template <class Io>
  static void list(Io& io, PictureOf& v) {
    io.needed("width_px", v.width_px, 1, 1'000'000);
    io.needed("height_px", v.height_px, 1, 1'000'000);
    io("make", v.make);
    io("model", v.model);
    io("orientation", v.orientation, 1, 8);
  }

  template <class Io>
  static void list(Io& io, Pin& v) {
    io.needed("diameter_mm", v.size_mm.value, 0, 1e6);
    io.needed("u_diameter_mm", v.size_mm.u, 0, 1e6);
  }

  template <class Io>
  static void list(Io& io, ViewResult& v) {
    io.always("file", v.name);
    io("used", v.used);
    io("left_out", v.why_not);
    if (!v.used) return;
    io("rms_px", v.rms_px);
    io("sides", v.sides);
    io("sides_used", v.sides_used);
    io("tilt_deg", v.tilt_deg);
    io("distance_mm", v.distance_mm);
    io("px_per_mm", v.px_per_mm);
    io("blur_px", v.blur_px);
    io("edge_growth_px", v.growth_px);
  }

  template <class Io>
  static void list(Io& io, CameraCalibration& v) {
    Tone tone{v.tone, v.tone_known};
    io.needed("lens", v.lens);
    if constexpr (!Io::kReads) {
      io("focal_u_ratio", v.focal_u_ratio());
      io("covariance_of", std::vector<std::string>(kLensNames.begin(), kLensNames.end()));
    }
    covariance(io, v.covariance, 9);
    if (io.holds("ink_growth_mm", v.ink_mm.has_value())) {
      if constexpr (Io::kReads) v.ink_mm.emplace();
      io.needed("ink_growth_mm", v.ink_mm->value, -10, 10);
      io.needed("u_ink_growth_mm", v.ink_mm->u, 0, 10);
    }
    io.needed("tone", tone);
  }

  template <class Io>
  static void list(Io& io, Map& v) {
    MeasuringPlane& plane = v.plane;
    io.matrix("ideal_px_from_part_mm", plane.ideal_from_board, 3);
    if constexpr (Io::kReads) {
      plane.ideal_from_board /= plane.ideal_from_board(2, 2);  // not finite where that is 0
      const double determinant = plane.ideal_from_board.determinant();
      if (!plane.ideal_from_board.allFinite() || !std::isfinite(determinant) ||
          !(std::abs(determinant) > 1e-12))
        io.refuse("ideal_px_from_part_mm", "a matrix that can be inverted");
      plane.ideal_from_part = plane.ideal_from_board;
    }
    io("lens", plane.lens);
    if (!io.holds("covariance", plane.covariance.size() > 0)) return;
    if constexpr (!Io::kReads) {
      std::vector<std::string> names(kMapNames.begin(), kMapNames.end());
      if (plane.lens) names.insert(names.end(), kLensNames.begin(), kLensNames.end());
      if (v.named) io("covariance_of", names);
    }
    covariance(io, plane.covariance, plane.lens ? 17 : 8);
  }

  template <class Io>
  static void list(Io& io, MeasuringPlane& v) {
    Tone tone{v.tone, v.tone_known};
    Map map{v, true};
    io.always("description", v.description);
    list(io, map);
    io.needed("u_scale_ratio", v.u_scale_ratio, 0, 1);
    io.unless("edge_offset_px", v.edge_offset_px, 0, -100, 100);
    io.needed("u_edge_offset_px", v.u_edge_offset_px, 0, 100);
    io.needed("tone", tone);
    io.unless("board_blur_px", v.board_blur_px, 0, 0, 100);
    std::vector<Eigen::Vector2d> outline;
    for (const PixelPoint& p : v.outline) outline.emplace_back(p.x_px, p.y_px);
    if (io.holds("board_outline_px", !outline.empty()))
      io.pairs("board_outline_px", outline, "a point [x, y]");
    if constexpr (Io::kReads)
      for (const auto& p : outline) v.outline.push_back({p.x(), p.y()});
    if (!io.holds("as_bent_lines_ask", bool(v.bent))) return;
    MeasuringPlane bent = v.bent ? *v.bent : MeasuringPlane();
    Map inside{bent, false};
    io("as_bent_lines_ask", inside);
    if constexpr (Io::kReads) {
      if (!bent.lens) io.refuse("as_bent_lines_ask", "a lens in it");
      v.bent = std::make_shared<const MeasuringPlane>(std::move(bent));
    }
  }

  template <class Io>
  static void list(Io& io, Calibration& v) {
    if constexpr (Io::kReads) {
      io.needed_word("kind", v.kind, name, kind_of, "camera, plane or scale");
      if (v.kind == CalibrationKind::kCamera)
        v.camera.emplace();
      else
        v.plane.emplace();
    }
    io("made_from", v.made_from);
    io.always("when", v.when);
    PictureOf picture = picture_of(v);
    io.needed("picture", picture);
    io("board", v.board);
    std::vector<Pin> pins;
    for (const Estimate& pin : v.pins_mm) pins.push_back({pin});
    io("pins", pins);
    if (v.camera) list(io, *v.camera);
    if (v.plane) list(io, *v.plane);
    io.unless("rms_px", v.rms_px, 0, 0, 1e6);
    io.unless("chi", v.chi, 0, 0, 1e9);
    io("views", v.views);
    io.always("warnings", v.warnings);
    if constexpr (Io::kReads) {
      v.pins_mm.clear();
      for (const Pin& pin : pins) v.pins_mm.push_back(pin.size_mm);
      set_picture(v, picture);
    }
  }
};

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
  return json::calibration_text(name(c.kind), json::Writer<Fields>::object(c));
}

Result<Calibration> parse_calibration(const std::string& json_text) {
  return json::read_calibration(
      json_text, {"camera", "plane", "scale"}, "camera, plane or scale",
      [](const json::Object& object) { return json::Reader<Fields>::read<Calibration>(object); });
}

Result<Calibration> load_calibration(const std::filesystem::path& file) {
  return json::load_calibration_file(file, kMostBytes, parse_calibration);
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
