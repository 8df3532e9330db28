// The fields of what a part was drawn as.
#include "sections.hpp"
#include "shared_fields.hpp"

namespace rondure::record {
namespace {

// Groups of the file that the result holds side by side.
struct UnitSystemChances {
  double metric = 0, inch = 0;
};
struct ShrinkageFound {
  double mean = 0;
  std::optional<Interval> interval95;
  std::string source;
};

std::string_view shape_word(ShapeHypothesis shape) { return name(shape); }
ShapeHypothesis parse_read_as(std::string_view word) {
  return parse_shape(word).value_or(ShapeHypothesis::kRound);
}

struct OriginalFields : SharedFields {
  using SharedFields::list;
  template <class Io>
  static void list(Io& io, SizeCandidate& v) {
    io.always("label", v.label);
    io.needed("size_mm", v.size_mm), io.needed("probability", v.probability);
    io.word("system", v.system, system_word, parse_system);
  }
  template <class Io>
  static void list(Io& io, ShapeVerdict& v) {
    io.word("read_as", v.shape, shape_word, parse_read_as);
    io("probability", v.probability), io("implied_mm", v.implied_mm), io("at_least", v.at_least);
    io("best_label", v.best_label), io("best_probability", v.best_probability);
  }
  template <class Io>
  static void list(Io& io, OriginalFeature& v) {
    io.always("name", v.name), io.always("candidates", v.candidates), io("undecided", v.undecided);
    io("rest_probability", v.rest_probability);
    io("kind", v.kind);
    if (Io::kReads || v.measured_mm > 0) {
      io("measured_mm", v.measured_mm), io("u_mm", v.u_mm), io("u_made_mm", v.u_made_mm);
      io("share_of_shrinkage", v.share_of_shrinkage);
      io("unshrunk_mm", v.unshrunk_mm.value), io("u_unshrunk_mm", v.unshrunk_mm.u);
    }
    io("ovality_mm", v.ovality_mm), io("hypotheses", v.shapes);
  }
  template <class Io>
  static void list(Io& io, NextMeasurement& v) {
    io.always("what", v.what), io("expected_gain_bits", v.expected_gain_bits);
  }
  template <class Io>
  static void list(Io& io, SizeEvidence& v) {
    io.always("feature", v.feature), io.always("source", v.source);
    io.needed("size_mm", v.size_mm.value), io("u_mm", v.size_mm.u);
    io("chance", v.chance), io.unless("left_out", v.left_out, false);
  }
  template <class Io>
  static void list(Io& io, DriveOutcome& v) {
    io.always("label", v.label);
    io.needed("size_mm", v.size_mm), io("error_ratio", v.error_ratio);
  }
  template <class Io>
  static void list(Io& io, UnitSystemChances& v) {
    io.needed("metric", v.metric), io("inch", v.inch);
  }
  template <class Io>
  static void list(Io& io, ShrinkageFound& v) {
    io.needed("mean", v.mean), io("interval95", v.interval95), io("source", v.source);
  }
  template <class Io>
  static void list(Io& io, OriginalResult& v) {
    UnitSystemChances system{v.p_metric, 1 - v.p_metric};
    ShrinkageFound shrinkage{v.shrinkage_mean, v.shrinkage95, v.shrinkage_source};
    if constexpr (Io::kReads) shrinkage.interval95.reset();
    io("unit_system", system), io("shrinkage", shrinkage);
    if constexpr (Io::kReads) {
      v.p_metric = system.metric;
      v.shrinkage_mean = shrinkage.mean, v.shrinkage_source = shrinkage.source;
      v.shrinkage95 = shrinkage.interval95.value_or(Interval{shrinkage.mean, shrinkage.mean});
    }
    io.always("features", v.features), io.always("measure_next", v.measure_next), io("reasons", v.reasons);
    io("about", v.about), io("confidence", v.confidence_ratio), io("evidence", v.evidence);
    io("drive", v.drive), io("warnings", v.warnings);
  }
};

}  // namespace

Json original_to_json(const OriginalResult& original) { return Writer<OriginalFields>::object(original); }

OriginalResult original_from_json(const Object& object) {
  return Reader<OriginalFields>::read<OriginalResult>(object);
}

}  // namespace rondure::record
