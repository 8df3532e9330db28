// The stage's calibration file.
#include <cmath>

#include "json/calibration_frame.hpp"
#include "json/field_list.hpp"
#include "rondure/readings/stage.hpp"

namespace rondure {
namespace {

constexpr double kMost = 1e6;  // of a number of mm or a count: more is no stage

// A file is read by people too.
double rounded(double value, double step) { return std::round(value / step) * step; }

bool symmetric_and_positive(const Eigen::Matrix3d& c) {
  return (c - c.transpose()).cwiseAbs().maxCoeff() <= 1e-9 * c.cwiseAbs().maxCoeff() &&
         c.diagonal().minCoeff() >= 0;
}

struct Source {
  StageCalibration& stage;
};
struct Pin {
  StageCalibration& stage;
};

struct StageFields {
  template <class Io>
  static void list(Io& io, Source& v) {
    io.always("file", v.stage.made_from);
    io.always("sha256", v.stage.sha256);
  }
  template <class Io>
  static void list(Io& io, Pin& v) {
    StageCalibration& s = v.stage;
    io("diameter_mm", s.pin_diameter_mm.value, -kMost, kMost);
    io("u_diameter_mm", s.pin_diameter_mm.u, 0, kMost);
    io("roundness_mm", s.pin_roundness_mm, 0, kMost);
    if (io.holds("ovality_mm", s.part_ovality_mm.has_value())) {
      if constexpr (Io::kReads) s.part_ovality_mm.emplace();
      io.needed("ovality_mm", s.part_ovality_mm->value, -kMost, kMost);
      io.needed("u_ovality_mm", s.part_ovality_mm->u, 0, kMost);
    }
    if (io.holds("ovality_axis_deg", s.part_ovality_axis_deg.has_value())) {
      if constexpr (Io::kReads) s.part_ovality_axis_deg.emplace();
      io.needed("ovality_axis_deg", *s.part_ovality_axis_deg, -180, 180);
    }
  }
  template <class Io>
  static void list(Io& io, StageResidual& v) {
    StageResidual r = v;
    if constexpr (!Io::kReads) r.angle_deg = rounded(r.angle_deg, 1e-3);
    if constexpr (!Io::kReads) r.deviation_mm = rounded(r.deviation_mm, 1e-7);
    io.needed("line", r.line, 0, kMostReadings * 10);
    io.needed("angle_deg", r.angle_deg, -360, 360);
    io.needed("deviation_mm", r.deviation_mm, -kMost, kMost);
    if constexpr (Io::kReads) v = r;
  }
  // What follows from the covariance stands beside it for people; it is not read.
  template <class Io>
  static void list(Io& io, StageCalibration& v) {
    Source source{v};
    Pin pin{v};
    double squareness_deg = deg(v.squareness_rad), coverage_deg = rounded(v.coverage_deg, 1e-3);
    io("made_from", source);
    io.always("when", v.when);
    io.needed("scale_x_ratio", v.scale_x_ratio);
    io.needed("scale_y_ratio", v.scale_y_ratio);
    io.needed("squareness_deg", squareness_deg);
    if constexpr (!Io::kReads) {
      io("u_scale_x_ratio", std::sqrt(v.covariance(0, 0)));
      io("u_scale_y_ratio", std::sqrt(v.covariance(1, 1)));
      io("u_squareness_deg", deg(std::sqrt(v.covariance(2, 2))));
      io("covariance_of", std::vector<std::string>{"scale_x_ratio", "scale_y_ratio", "squareness_rad"});
    }
    io.matrix("covariance", v.covariance, 3);
    io("mean_scale_known", v.absolute);
    io("pin", pin);
    io("readings", v.readings, 0, kMostReadings);
    io("orientations", v.orientations, 0, kMostReadings);
    io("coverage_deg", coverage_deg, 0, 360);
    io("rms_mm", v.rms_mm, 0, kMost);
    io.always("residuals", v.residuals);
    if constexpr (Io::kReads) {
      v.squareness_rad = rad(squareness_deg);
      v.coverage_deg = coverage_deg;
      if (!symmetric_and_positive(v.covariance))
        io.refuse("covariance", "a symmetric matrix, positive on its diagonal");
    }
  }
};

}  // namespace

std::string to_json(const StageCalibration& stage) {
  return json::calibration_text("stage", json::Writer<StageFields>::object(stage));
}

Result<StageCalibration> parse_stage_calibration(const std::string& json_text) {
  auto stage = json::read_calibration(json_text, {"stage"}, "'stage'", [](const json::Object& object) {
    return json::Reader<StageFields>::read<StageCalibration>(object);
  });
  if (!stage) return stage;
  for (const double error : {stage->scale_x_ratio, stage->scale_y_ratio, stage->squareness_rad})
    if (std::abs(error) > kLargestScaleError)
      return Error{ErrorCode::kBadCalibration,
                   "a stage off by more than " + std::to_string(int(100 * kLargestScaleError)) +
                       " % in scale or squareness is a wrong unit or a wrong pin"};
  if (stage->covariance.cwiseAbs().maxCoeff() > 1)
    return Error{ErrorCode::kBadCalibration, "a 'covariance' of more than 1 cannot be"};
  return stage;
}

}  // namespace rondure
