#include <cmath>

#include "photo/plane/calibration_envelope.hpp"
#include "rondure/photo/scan.hpp"

namespace rondure {
namespace {

constexpr double kMostRatio = 0.05;  // scales further off than this are another resolution
constexpr double kMostSize_mm = 1e4, kMostEdge_mm = 10;
constexpr std::size_t kToneWays = 3;

Json estimate_json(const Estimate& e) { return {{"value", e.value}, {"u", e.u}}; }

std::optional<Estimate> estimate_in(const Json& object, const char* key) {
  if (!object.is_object() || !object.contains(key)) return {};
  const auto value = number_in(object[key], "value", -kMostRatio, kMostRatio),
             u = number_in(object[key], "u", 0, kMostRatio);
  if (!value || !u) return {};
  return Estimate{*value, *u};
}

Json reference_json(const ReferenceReading& r) {
  return {{"diameter_mm", estimate_json(r.piece.diameter_mm)},
          {"read_mm", r.reading.diameter_mm},
          {"u_noise_mm", r.reading.u_alone_mm},
          {"u_edge_mm", r.reading.u_own_edge_mm},
          {"tone_mm", r.reading.tone_mm}};
}

std::optional<ReferenceReading> reference_in(const Json& object) {
  if (!object.is_object()) return {};
  const Json size = object.value("diameter_mm", Json::object()),
             tone = object.value("tone_mm", Json::array());
  const auto value = number_in(size, "value", 1e-3, kMostSize_mm), u = number_in(size, "u", 0, kMostEdge_mm),
             read = number_in(object, "read_mm", 1e-3, kMostSize_mm),
             noise = number_in(object, "u_noise_mm", 0, kMostEdge_mm),
             edge = number_in(object, "u_edge_mm", 0, kMostEdge_mm);
  if (!value || !u || !read || !noise || !edge || !tone.is_array() || tone.size() != kToneWays) return {};
  ReferenceReading out{{{*value, *u}, {}, {}}, {}, {}};
  out.reading.diameter_mm = *read, out.reading.u_alone_mm = *noise, out.reading.u_own_edge_mm = *edge;
  for (const Json& one : tone) {
    if (!one.is_number() || !(std::abs(one.get<double>()) < kMostEdge_mm)) return {};
    out.reading.tone_mm.push_back(one.get<double>());
  }
  return out;
}

}  // namespace

std::string to_json(const ScannerFile& scanner) {
  Json j = calibration_envelope("scanner", scanner.made_from, scanner.when);
  j["resolution_px_per_mm"] = {{"x", scanner.resolution.x_px_per_mm}, {"y", scanner.resolution.y_px_per_mm}};
  j["scale_ratio"] = estimate_json(scanner.axes.mean_ratio);
  j["axes_half_difference_ratio"] = estimate_json(scanner.axes.difference_ratio);
  j["skew_rad"] = estimate_json(scanner.axes.skew_rad);
  if (scanner.reference) j["reference"] = reference_json(*scanner.reference);
  return calibration_text(j);
}

Result<ScannerFile> parse_scanner(const std::string& json_text) {
  const auto j = open_calibration(json_text, "scanner", "calibrate scanner");
  if (!j) return j.error();
  const Json resolution = j->value("resolution_px_per_mm", Json::object());
  const auto x = number_in(resolution, "x", 0.1, 1e4), y = number_in(resolution, "y", 0.1, 1e4);
  const auto mean = estimate_in(*j, "scale_ratio"),
             difference = estimate_in(*j, "axes_half_difference_ratio"), skew = estimate_in(*j, "skew_rad");
  if (!x || !y || !mean || !difference || !skew)
    return Error{
        ErrorCode::kFileDamaged,
        "a scanner's file needs resolution_px_per_mm, scale_ratio, axes_half_difference_ratio and skew_rad "
        "within their ranges"};
  ScannerFile out{{*x, *y}, {*mean, *difference, *skew}, sources_of(*j), text_in(*j, "when"), {}};
  if (j->contains("reference")) {
    out.reference = reference_in((*j)["reference"]);
    if (!out.reference)
      return Error{ErrorCode::kFileDamaged,
                   "a scanner's reference needs diameter_mm, read_mm, u_noise_mm, u_edge_mm and "
                   "three tone_mm within their ranges"};
  }
  return out;
}

Result<ScannerFile> load_scanner(const std::filesystem::path& file) {
  const auto text = calibration_bytes(file);
  if (!text) return text.error();
  auto scanner = parse_scanner(*text);
  if (!scanner) return Error{scanner.error().code, file.string() + ": " + scanner.error().detail};
  return scanner;
}

}  // namespace rondure
