// The stage's calibration file.
#include <cmath>
#include <nlohmann/json.hpp>

#include "rondure/readings/stage.hpp"

namespace rondure {
namespace {

using Json = nlohmann::json;
using Ordered = nlohmann::ordered_json;

Error damaged(const std::string& what) { return {ErrorCode::kFileDamaged, what}; }

Result<double> number(const Json& from, const char* key, double largest) {
  const auto it = from.find(key);
  if (it == from.end() || !it->is_number())
    return damaged(std::string("stage calibration without the number '") + key + "'");
  const double value = it->get<double>();
  if (!std::isfinite(value) || std::abs(value) > largest)
    return Error{ErrorCode::kBadCalibration, std::string("'") + key + "' of " + it->dump() + " cannot be"};
  return value;
}

std::string text(const Json& from, const char* key) {
  const auto it = from.find(key);
  return it != from.end() && it->is_string() ? it->get<std::string>() : std::string();
}

// Six decimals of a mm or of a degree, nine of a ratio: a file is read by people too.
double rounded(double value, double step) { return std::round(value / step) * step; }

Result<Eigen::Matrix3d> covariance(const Json& from) {
  const auto it = from.find("covariance");
  if (it == from.end() || !it->is_array() || it->size() != 3)
    return damaged("stage calibration without a 3 x 3 'covariance'");
  Eigen::Matrix3d c;
  for (std::size_t i = 0; i < 3; ++i) {
    const Json& row = (*it)[i];
    if (!row.is_array() || row.size() != 3) return damaged("stage calibration without a 3 x 3 'covariance'");
    for (std::size_t j = 0; j < 3; ++j) {
      if (!row[j].is_number() || !std::isfinite(row[j].get<double>()))
        return damaged("a 'covariance' that is not of numbers");
      c(Eigen::Index(i), Eigen::Index(j)) = row[j].get<double>();
    }
  }
  if (c.cwiseAbs().maxCoeff() > 1)
    return Error{ErrorCode::kBadCalibration, "a 'covariance' of more than 1 cannot be"};
  if ((c - c.transpose()).cwiseAbs().maxCoeff() > 1e-9 * c.cwiseAbs().maxCoeff() ||
      c.diagonal().minCoeff() < 0)
    return Error{ErrorCode::kBadCalibration, "a 'covariance' that is not symmetric and positive"};
  return c;
}

}  // namespace

std::string to_json(const StageCalibration& stage) {
  Ordered j;
  j["format"] = "rondure-calibration";
  j["version"] = 1;
  j["kind"] = "stage";
  j["made_from"] = {{"file", stage.made_from}, {"sha256", stage.sha256}};
  j["when"] = stage.when;
  j["scale_x_ratio"] = stage.scale_x_ratio;
  j["scale_y_ratio"] = stage.scale_y_ratio;
  j["squareness_deg"] = deg(stage.squareness_rad);
  j["u_scale_x_ratio"] = std::sqrt(stage.covariance(0, 0));
  j["u_scale_y_ratio"] = std::sqrt(stage.covariance(1, 1));
  j["u_squareness_deg"] = deg(std::sqrt(stage.covariance(2, 2)));
  j["covariance_of"] = {"scale_x_ratio", "scale_y_ratio", "squareness_rad"};
  for (int r = 0; r < 3; ++r)
    j["covariance"].push_back({stage.covariance(r, 0), stage.covariance(r, 1), stage.covariance(r, 2)});
  j["mean_scale_known"] = stage.absolute;
  j["pin"] = {{"diameter_mm", stage.pin_diameter_mm.value},
              {"u_diameter_mm", stage.pin_diameter_mm.u},
              {"roundness_mm", stage.pin_roundness_mm}};
  if (stage.part_ovality_mm) {
    j["pin"]["ovality_mm"] = stage.part_ovality_mm->value;
    j["pin"]["u_ovality_mm"] = stage.part_ovality_mm->u;
  }
  if (stage.part_ovality_axis_deg) j["pin"]["ovality_axis_deg"] = *stage.part_ovality_axis_deg;
  j["readings"] = stage.readings;
  j["orientations"] = stage.orientations;
  j["coverage_deg"] = rounded(stage.coverage_deg, 1e-3);
  j["rms_mm"] = stage.rms_mm;
  j["residuals"] = Ordered::array();
  for (const auto& r : stage.residuals)
    j["residuals"].push_back({{"line", r.line},
                              {"angle_deg", rounded(r.angle_deg, 1e-3)},
                              {"deviation_mm", rounded(r.deviation_mm, 1e-7)}});
  return j.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

Result<StageCalibration> parse_stage_calibration(const std::string& json_text) {
  Json j;
  try {
    j = Json::parse(json_text);
  } catch (const Json::parse_error& e) {
    return damaged("the JSON breaks off or is wrong at byte " + std::to_string(e.byte));
  } catch (const Json::exception&) {
    return damaged("the JSON holds text or a number that cannot be read");
  }
  if (!j.is_object() || text(j, "format") != "rondure-calibration")
    return damaged("found no 'rondure-calibration'");
  const auto version = number(j, "version", 1e6);
  if (!version) return version.error();
  if (*version != 1) return damaged("found version " + j["version"].dump() + " of the calibration, needed 1");
  if (text(j, "kind") != "stage")
    return Error{ErrorCode::kBadCalibration,
                 "found a calibration of kind " + quoted_for_message(text(j, "kind")) + ", needed 'stage'"};
  StageCalibration stage;
  for (const auto& [key, value, largest] :
       {std::tuple{"scale_x_ratio", &stage.scale_x_ratio, kLargestScaleError},
        std::tuple{"scale_y_ratio", &stage.scale_y_ratio, kLargestScaleError},
        std::tuple{"squareness_deg", &stage.squareness_rad, deg(kLargestScaleError)}}) {
    const auto v = number(j, key, largest);
    if (!v) return v.error();
    *value = *v;
  }
  stage.squareness_rad = rad(stage.squareness_rad);
  const auto c = covariance(j);
  if (!c) return c.error();
  stage.covariance = *c;
  if (const auto it = j.find("mean_scale_known"); it != j.end() && it->is_boolean())
    stage.absolute = it->get<bool>();
  if (const auto pin = j.find("pin"); pin != j.end() && pin->is_object()) {
    if (const auto d = number(*pin, "diameter_mm", 1e6)) stage.pin_diameter_mm.value = *d;
    if (const auto u = number(*pin, "u_diameter_mm", 1e6)) stage.pin_diameter_mm.u = *u;
    if (const auto r = number(*pin, "roundness_mm", 1e6)) stage.pin_roundness_mm = *r;
    const auto ovality = number(*pin, "ovality_mm", 1e6), u_ovality = number(*pin, "u_ovality_mm", 1e6);
    if (ovality && u_ovality) stage.part_ovality_mm = Estimate{*ovality, *u_ovality};
    if (const auto axis = number(*pin, "ovality_axis_deg", 180)) stage.part_ovality_axis_deg = *axis;
  }
  if (const auto n = number(j, "readings", kMostReadings)) stage.readings = int(*n);
  if (const auto n = number(j, "orientations", kMostReadings)) stage.orientations = int(*n);
  if (const auto v = number(j, "coverage_deg", 360)) stage.coverage_deg = *v;
  if (const auto v = number(j, "rms_mm", 1e6)) stage.rms_mm = *v;
  if (const auto it = j.find("residuals"); it != j.end() && it->is_array())
    for (const Json& r : *it) {
      if (!r.is_object()) continue;
      const auto line = number(r, "line", 1e9), angle = number(r, "angle_deg", 360),
                 deviation = number(r, "deviation_mm", 1e6);
      if (line && angle && deviation) stage.residuals.push_back({*angle, *deviation, int(*line)});
    }
  if (const auto from = j.find("made_from"); from != j.end() && from->is_object()) {
    stage.made_from = text(*from, "file");
    stage.sha256 = text(*from, "sha256");
  }
  stage.when = text(j, "when");
  return stage;
}

}  // namespace rondure
