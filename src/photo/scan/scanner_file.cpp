#include "json/calibration_frame.hpp"
#include "json/field_list.hpp"
#include "rondure/photo/scan.hpp"

namespace rondure {
namespace {

constexpr double kMostRatio = 0.05;  // scales further off than this are another resolution
constexpr double kMostSize_mm = 1e4, kMostEdge_mm = 10;  // larger numbers in the file are damage
constexpr std::size_t kToneWays = 3;                     // as reference_scale.cpp writes them
constexpr std::uintmax_t kMostBytes = 1u << 20;

struct Ratio {
  Estimate& estimate;
};
struct Size {
  Estimate& estimate;
};

struct ScannerFields : json::FrameFields {
  using FrameFields::list;
  template <class Io>
  static void list(Io& io, Ratio& v) {
    io.needed("value", v.estimate.value, -kMostRatio, kMostRatio);
    io.needed("u", v.estimate.u, 0, kMostRatio);
  }
  template <class Io>
  static void list(Io& io, Size& v) {
    io.needed("value", v.estimate.value, 1e-3, kMostSize_mm);
    io.needed("u", v.estimate.u, 0, kMostEdge_mm);
  }
  template <class Io>
  static void list(Io& io, Resolution& v) {
    io.needed("x", v.x_px_per_mm, 0.1, 1e4);
    io.needed("y", v.y_px_per_mm, 0.1, 1e4);
  }
  template <class Io>
  static void list(Io& io, ReferenceReading& v) {
    Size size{v.piece.diameter_mm};
    std::array<double, kToneWays> tone_mm{};
    if constexpr (!Io::kReads)
      for (std::size_t i = 0; i < kToneWays && i < v.reading.tone_mm.size(); ++i)
        tone_mm[i] = v.reading.tone_mm[i];
    io.needed("diameter_mm", size);
    io.needed("read_mm", v.reading.diameter_mm, 1e-3, kMostSize_mm);
    io.needed("u_noise_mm", v.reading.u_alone_mm, 0, kMostEdge_mm);
    io.needed("u_edge_mm", v.reading.u_own_edge_mm, 0, kMostEdge_mm);
    if constexpr (Io::kReads)
      if (!io.holds("tone_mm", true)) io.refuse("tone_mm", "three numbers 'tone_mm'");
    io("tone_mm", tone_mm);
    if constexpr (Io::kReads) {
      for (const double mm : tone_mm)
        if (std::abs(mm) >= kMostEdge_mm) io.refuse("tone_mm", "numbers below 10");
      v.reading.tone_mm.assign(tone_mm.begin(), tone_mm.end());
    }
  }
  template <class Io>
  static void list(Io& io, ScannerFile& v) {
    Ratio mean{v.axes.mean_ratio}, difference{v.axes.difference_ratio}, skew{v.axes.skew_rad};
    io("made_from", v.made_from);
    io.always("when", v.when);
    io.needed("resolution_px_per_mm", v.resolution);
    io.needed("scale_ratio", mean);
    io.needed("axes_half_difference_ratio", difference);
    io.needed("skew_rad", skew);
    io("reference", v.reference);
  }
};

}  // namespace

std::string to_json(const ScannerFile& scanner) {
  return json::calibration_text("scanner", json::Writer<ScannerFields>::object(scanner));
}

Result<ScannerFile> parse_scanner(const std::string& json_text) {
  return json::read_calibration(
      json_text, {"scanner"}, "scanner (rondure calibrate scanner)",
      [](const json::Object& object) { return json::Reader<ScannerFields>::read<ScannerFile>(object); });
}

Result<ScannerFile> load_scanner(const std::filesystem::path& file) {
  return json::load_calibration_file(file, kMostBytes, parse_scanner);
}

}  // namespace rondure
