#include "rondure/record/set_json.hpp"

#include "json/text.hpp"
#include "sections.hpp"
#include "shared_fields.hpp"

namespace rondure {
namespace {

using namespace record;

constexpr const char* kSetFormat = "rondure-set";

// Groups of the file that the result holds side by side.
struct SystemShares {
  double metric = 0.5, inch = 0.5;
};
struct CommonShrinkage {
  double mean = 0, likeness = 0;
  std::optional<Interval> interval95;
  std::string material;
};
struct Odd {
  double other_drawing = 0, stranger = 0, worn = 0;
};
struct PartInFile {
  std::string file;
  SetPartResult part;
};
struct Document {
  std::string format = kSetFormat;
  int version = 1;
  std::vector<PartInFile> parts;
  SetResult set;  // but for its parts
};

struct SetFields : SharedFields {
  using SharedFields::list;
  template <class Io>
  static void list(Io& io, SystemShares& v) {
    io.needed("metric", v.metric), io("inch", v.inch);
  }
  template <class Io>
  static void list(Io& io, CommonShrinkage& v) {
    io.needed("mean", v.mean), io("interval95", v.interval95), io("material", v.material);
    io("likeness", v.likeness);
  }
  template <class Io>
  static void list(Io& io, GridUse& v) {
    io.word("system", v.system, system_word, parse_system), io.always("grid", v.grid), io("share", v.share);
  }
  template <class Io>
  static void list(Io& io, BestAnswer& v) {
    io.always("best", v.label), io("size_mm", v.size_mm), io("probability", v.probability);
  }
  template <class Io>
  static void list(Io& io, Odd& v) {
    io("other_drawing", v.other_drawing), io("stranger", v.stranger), io("worn", v.worn);
  }
  template <class Io>
  static void list(Io& io, PartInFile& v) {
    io.always("file", v.file), io.always("name", v.part.name);
    io.section("original", v.part.original, original_to_json, original_from_json);
    io("alone", v.part.alone);
    Odd odd{v.part.p_other_drawing, v.part.p_stranger, v.part.p_worn};
    io("odd", odd);
    if constexpr (Io::kReads) {
      v.part.p_other_drawing = odd.other_drawing, v.part.p_stranger = odd.stranger;
      v.part.p_worn = odd.worn;
      if (v.part.name.empty()) v.part.name = v.file;
    }
  }
  template <class Io>
  static void list(Io& io, OddPart::Change& v) {
    io.always("part", v.part), io.always("feature", v.feature), io("with", v.with), io("without", v.without);
  }
  template <class Io>
  static void list(Io& io, OddPart& v) {
    io.always("name", v.name), io("odds", v.odds), io("other_drawing", v.p_other_drawing);
    io("stranger", v.p_stranger), io("worn", v.p_worn), io.always("changes", v.changes);
  }
  template <class Io>
  static void list(Io& io, Document& v) {
    if constexpr (Io::kReads) v.format.clear();
    io.always("format", v.format), io("version", v.version);
    if (v.format != kSetFormat) io.refuse("format", "\"rondure-set\"");
    SetResult& set = v.set;
    SystemShares system{set.p_metric, 1 - set.p_metric};
    io("unit_system", system);
    CommonShrinkage shrinkage{set.shrinkage_mean, set.likeness, set.shrinkage95, set.material};
    if constexpr (Io::kReads) shrinkage.interval95.reset();
    io("shrinkage", shrinkage);
    io("habits", set.habits), io.always("same_drawing", set.same_drawing);
    io.always("parts", v.parts);
    if (v.parts.empty()) io.refuse("parts", "the parts of the set");
    io.always("odd_parts", set.odd), io("warnings", set.warnings);
    if constexpr (Io::kReads) {
      set.p_metric = system.metric, set.material = shrinkage.material, set.likeness = shrinkage.likeness;
      set.shrinkage_mean = shrinkage.mean;
      set.shrinkage95 = shrinkage.interval95.value_or(Interval{shrinkage.mean, shrinkage.mean});
      set.confidence_ratio = v.parts.front().part.original.confidence_ratio;
    }
  }
};

}  // namespace

std::string set_json(const SetResult& set, const std::vector<std::string>& files) {
  Document document;
  document.set = set;
  document.set.parts.clear();
  for (std::size_t p = 0; p < set.parts.size(); ++p) document.parts.push_back({files[p], set.parts[p]});
  return print_document(Writer<SetFields>::object(document));
}

bool is_set_json(const std::string& text) {
  const Json document = Json::parse(text, nullptr, false);
  return document.is_object() && document.contains("format") && document["format"] == "rondure-set";
}

Result<SetFile> parse_set_json(const std::string& text) try {
  Document document = Reader<SetFields>::read<Document>(Object(read_document(text), ""));
  SetFile file{std::move(document.set), {}};
  for (PartInFile& p : document.parts) {
    file.files.push_back(std::move(p.file));
    file.set.parts.push_back(std::move(p.part));
  }
  return file;
} catch (const TextDamage& damage) {
  return Error{ErrorCode::kFileDamaged, damage.where_and_what};
} catch (const Damage& damage) {
  return Error{ErrorCode::kFileDamaged,
               place_of(text, damage.pointer) + ", " + readable(damage.pointer) + ": " + damage.what};
}

}  // namespace rondure
