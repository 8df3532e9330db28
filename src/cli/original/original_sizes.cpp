// Sizes typed by hand, and the record that is made of them.
#include <algorithm>
#include <cmath>

#include "cli/original/original_arguments.hpp"
#include "cli/terminal/text_words.hpp"
#include "rondure/core/normal_law.hpp"
#include "rondure/readings/sizes_file.hpp"

namespace rondure::cli {
namespace {

SizeObservation from_line(const SizeLine& line) {
  SizeObservation o{line.name, line.kind, line.size_mm, line.u_mm, line.u_made_mm, {}, 0};
  if (line.minor_mm && *line.minor_mm < line.size_mm) {
    o.size_mm = (line.size_mm + *line.minor_mm) / 2;
    o.ovality_mm = line.size_mm - *line.minor_mm;
    o.u_ovality_mm = std::sqrt(2.0) * line.u_mm;
  }
  return o;
}

constexpr double kOvalBelow_p_round = 0.05;  // as record_sizes.cpp reads it back

// The largest and the smallest diameter of an oval feature, as typed.
void add_typed_oval(Feature& f, const SizeObservation& o) {
  EllipseResult e;
  e.major_diameter_mm = o.size_mm + *o.ovality_mm / 2;
  e.minor_diameter_mm = o.size_mm - *o.ovality_mm / 2;
  e.ovality_mm = *o.ovality_mm;
  e.u_ovality_mm = o.u_ovality_mm;
  e.p_round = o.u_ovality_mm > 0 ? std::erfc(e.ovality_mm / (o.u_ovality_mm * std::sqrt(2.0))) : 0.0;
  f.verdict = *e.p_round < kOvalBelow_p_round ? OutlineForm::kOval : OutlineForm::kUndecided;
  if (f.verdict == OutlineForm::kOval) f.verdict_upr = 2;
  f.points.count = f.points.used = 2;
  f.ellipse = e;
}

}  // namespace

Result<std::vector<SizeObservation>> sizes_from_file(const std::string& file, LengthUnit bare) {
  const auto text = read_file_or_input(file);
  if (!text) return text.error();
  const auto lines = parse_sizes(*text, bare);
  if (!lines) return Error{lines.error().code, file + ": " + lines.error().detail};
  std::vector<SizeObservation> sizes;
  for (const SizeLine& line : *lines) sizes.push_back(from_line(line));
  return sizes;
}

Result<void> put_on_metal(std::vector<SizeObservation>& sizes, const std::vector<std::string>& names) {
  for (const std::string& name : names) {
    bool found = false;
    for (SizeObservation& o : sizes)
      if (o.name == name && o.kind.is_bore()) o.kind = FeatureKind::kBoreOnMetal, found = true;
    if (!found)
      return Error{ErrorCode::kBadArgument, "--on-metal: found '" + name + "', needed the name of a bore"};
  }
  return {};
}

PartRecord record_of(const std::vector<SizeObservation>& sizes, const std::string& file) {
  PartRecord record;
  for (const SizeObservation& o : sizes) {
    Feature f;
    f.name = o.name;
    f.kind = o.kind;
    f.source = {SourceType::kTwoPoint, file, {}, {}, {}};
    const double share = 1 / o.kind.drawn_share();
    const double d = share * o.size_mm, u = share * o.u_mm;
    f.circle = CircleResult{d, u, {}, 0, Interval{d - kNormal95 * u, d + kNormal95 * u}};
    f.points.count = f.points.used = 1;
    if (o.ovality_mm) add_typed_oval(f, o);
    record.features.push_back(std::move(f));
  }
  return record;
}

Result<void> add_to_record(const std::string& file, const PartRecord& made, bool& replaced) {
  return update_part_record(file, [&](PartRecord& there) -> Result<void> {
    replaced = there.original.has_value();
    for (const Feature& f : made.features) {
      const auto same = std::ranges::find(there.features, f.name, &Feature::name);
      if (same == there.features.end())
        there.features.push_back(f);
      else if (same->source.file == f.source.file)
        *same = f;
      else
        return Error{ErrorCode::kBadArgument,
                     "'" + file + "' already holds '" + f.name + "', from " +
                         (same->source.file.empty() ? "another measurement" : same->source.file) +
                         "; nothing was written. Needed another name for it in the sizes, or another record"};
    }
    if (!made.material.empty()) there.material = made.material;
    there.original = made.original;
    if (const PartFacts facts = facts_of(made); facts.said()) put_facts(there, facts);
    return {};
  });
}

Result<void> save_unless_changed(const std::string& file, const PartRecord& record,
                                 const std::string& as_read) {
  return update_part_record(file, [&](PartRecord& there) -> Result<void> {
    const std::string& now = there.preserved_json;
    if (!as_read.empty() && !now.empty() && now != as_read)
      return Error{ErrorCode::kFileLocked, "'" + file + "' changed while it was in use; nothing was written"};
    there = record;
    return {};
  });
}

}  // namespace rondure::cli
