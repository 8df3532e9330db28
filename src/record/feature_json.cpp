// The fields of a measured feature.
#include "rondure/interpret/part_name.hpp"
#include "sections.hpp"
#include "shared_fields.hpp"

namespace rondure::record {
namespace {

std::string_view type_word(SourceType type) { return name(type); }
std::string_view form_word(OutlineForm form) { return name(form); }

struct FeatureFields : SharedFields {
  using SharedFields::list;
  template <class Io>
  static void list(Io& io, FeatureSource& v) {
    io.word("type", v.type, type_word, parse_source_type);
    io("file", v.file), io("sha256", v.sha256), io("calibration", v.calibration), io("time", v.time);
    io("calibration_sha256", v.calibration_sha256);
  }
  template <class Io>
  static void list(Io& io, PointsSummary& v) {
    io("count", v.count);
    io.when(v.count > 0);
    if constexpr (Io::kReads) v.used = v.count;
    io("used", v.used), io("coverage_deg", v.coverage_deg);
  }
  template <class Io>
  static void list(Io& io, CircleResult& v) {
    io.needed("diameter_mm", v.diameter_mm);
    io("u_diameter_mm", v.u_diameter_mm), io("center_mm", v.center), io("rms_mm", v.rms_mm);
    io("interval95_mm", v.diameter95_mm);
  }
  template <class Io>
  static void list(Io& io, EllipseResult& v) {
    io.needed("major_diameter_mm", v.major_diameter_mm), io.needed("minor_diameter_mm", v.minor_diameter_mm);
    if constexpr (Io::kReads) v.ovality_mm = v.major_diameter_mm - v.minor_diameter_mm;
    io("major_angle_deg", v.major_angle_deg), io("center_mm", v.center), io("ovality_mm", v.ovality_mm);
    io("u_ovality_mm", v.u_ovality_mm), io("ovality_interval95_mm", v.ovality95_mm), io("p_round", v.p_round);
  }
  template <class Io>
  static void list(Io& io, ReferenceCircleResult& v) {
    io.needed("RONt_mm", v.ront_mm);
    io("diameter_mm", v.diameter_mm), io("center_mm", v.center);
  }
  template <class Io>
  static void list(Io& io, FilteredRoundness& v) {
    io("cutoff_upr", v.cutoff_upr), io.needed("RONt_mm", v.ront_mm);
  }
  template <class Io>
  static void list(Io& io, RoundnessResult& v) {
    io("LSCI", v.lsci), io("MZCI", v.mzci), io("MCCI", v.mcci), io("MICI", v.mici);
    io("noise_floor_mm", v.noise_floor_mm), io("filtered", v.filtered);
  }
  template <class Io>
  static void list(Io& io, SizesResult& v) {
    io("GG_mm", v.gg), io("GN_mm", v.gn), io("GX_mm", v.gx), io("CC_mm", v.cc), io("CA_mm", v.ca);
    io("LP_SX_mm", v.lp_max), io("LP_SN_mm", v.lp_min), io("LP_SR_mm", v.lp_range);
  }
  template <class Io>
  static void list(Io& io, HarmonicResult& v) {
    io.whole("upr", v.upr, 1);
    io.needed("amplitude_mm", v.amplitude_mm), io.needed("phase_deg", v.phase_deg);
    io("u_amplitude_mm", v.u_amplitude_mm);
  }
  template <class Io>
  static void list(Io& io, ExcludedSector& v) {
    io("from_deg", v.from_deg), io("to_deg", v.to_deg), io("height_mm", v.height_mm), io("points", v.points);
    io("lines", v.lines);
  }
  template <class Io>
  static void list(Io& io, CombinedReading& v) {
    io.always("source", v.source);
    io("radius_mm", v.radius_mm);
    io.unless("u_radius_mm", v.u_radius_mm, 0, 0, 1e9);  // 0: not told with the reading
    io("weight", v.weight);
  }
  // One array of three columns would be shorter; objects stay readable and can grow.
  template <class Io>
  static void list(Io& io, ProfilePoint& v) {
    io.needed("angle_deg", v.angle_deg), io.needed("deviation_mm", v.deviation_mm);
    io.unless("used", v.used, true);
  }
  template <class Io>
  static void list(Io& io, Feature& v) {
    io("name", v.name);
    io("kind", v.kind);
    io("source", v.source), io("points", v.points), io("circle", v.circle), io("ellipse", v.ellipse);
    io("roundness", v.roundness), io("sizes", v.sizes), io("harmonics", v.harmonics),
        io("excluded", v.excluded);
    io("budget", v.budget), io("combination", v.combination), io("p_readings_agree", v.p_readings_agree);
    io.word("verdict", v.verdict, form_word, parse_outline_form);
    io("verdict_upr", v.verdict_upr), io("warnings", v.warnings);
    io("pixel_from_part", v.pixel_from_part), io("profile", v.profile);
    io("height_mm", v.height_mm), io("u_height_mm", v.u_height_mm);
    std::optional<int> part_number;  // read back with the name
    if (const int part = part_number_of(v.name); part > 0) part_number = part;
    io("part_number", part_number);
  }
};

}  // namespace

Json warnings_to_json(const std::vector<Warning>& warnings) {
  return Writer<SharedFields>::objects(warnings);
}

std::vector<Warning> warnings_from_json(const Object& parent) {
  std::vector<Warning> warnings;
  parent.each("warnings",
              [&](const Object& o) { warnings.push_back(Reader<SharedFields>::read<Warning>(o)); });
  return warnings;
}

Json feature_to_json(const Feature& feature) { return Writer<FeatureFields>::object(feature); }

Feature feature_from_json(const Object& object) { return Reader<FeatureFields>::read<Feature>(object); }

}  // namespace rondure::record
