#include "rondure/interpret/materials.hpp"

#include <algorithm>
#include <cmath>
#include <sstream>

#include "rondure/core/csv_table.hpp"
#include "rondure/core/normal_law.hpp"

namespace rondure {
namespace {

constexpr double kPercent = 0.01;
// A named material: its range, taken for two standard deviations either side; or a half normal law over all
// plastics, as the name may be wrong or the part unusual. The latter's weight was raised from 0.15 so that a
// wrong name costs less: tests/bench/original_study, table B with the right material, F with a wrong one. Its
// width is judgement.
constexpr double kRangeWeight = 0.7, kBroadWeight = 0.3, kBroadSd = 0.6 * kPercent;
constexpr double kUsualCeiling = 5 * kPercent;  // far beyond both: only bounds the integral

// Mass of the uncut part that lies within the law's limits.
double mass_inside(const ShrinkageLaw::Part& p, double floor, double ceiling) {
  return normal_cdf((ceiling - p.mean) / p.sd) - normal_cdf((floor - p.mean) / p.sd);
}

// Mean and second moment of a part cut off at both ends.
std::pair<double, double> moments(const ShrinkageLaw::Part& p, double floor, double ceiling) {
  if (p.sd == 0) return {p.mean, p.mean * p.mean};
  const double a = (floor - p.mean) / p.sd, b = (ceiling - p.mean) / p.sd;
  const double mass = mass_inside(p, floor, ceiling);
  const double shift = (normal_density(a) - normal_density(b)) / mass;
  const double spread = (a * normal_density(a) - b * normal_density(b)) / mass;
  const double mean = p.mean + p.sd * shift;
  const double variance = p.sd * p.sd * (1 + spread - shift * shift);
  return {mean, variance + mean * mean};
}

ShrinkageLaw broad_law() { return {{{0.6, 0, 0.4 * kPercent}, {0.4, 0, 1.2 * kPercent}}, 0, 8 * kPercent}; }

ShrinkageLaw law_of_range(double lo, double hi) {
  return {{{kRangeWeight, (lo + hi) / 2, (hi - lo) / 4}, {kBroadWeight, 0, kBroadSd}}, 0, kUsualCeiling};
}

// "0.85:0.30:0.10; 0.15:0:0.6", in percent.
std::vector<ShrinkageLaw::Part> parse_parts(std::string_view text) {
  std::vector<ShrinkageLaw::Part> parts;
  std::istringstream in{std::string(text)};
  for (std::string one; std::getline(in, one, ';');) {
    std::replace(one.begin(), one.end(), ':', ' ');
    std::istringstream numbers(one);
    ShrinkageLaw::Part p;
    if (numbers >> p.weight >> p.mean >> p.sd)
      parts.push_back({p.weight, p.mean * kPercent, p.sd * kPercent});
  }
  return parts;
}

// The words of ageing_materials.csv and making_levels.csv; any other is a letter of DIN 16742.
constexpr std::string_view kMetal = "metal", kRubber = "rubber", kMoulded = "moulded";

std::vector<MakingLevel> levels_of(MakingFamily making) {
  if (making == MakingFamily::kMetal) return {};
  const std::string_view family = making == MakingFamily::kRubber ? kRubber : kMoulded;
  const CsvTable& table = CsvTable::builtin("making_levels.csv");
  std::vector<MakingLevel> levels;
  for (std::size_t i = 0; i < table.rows(); ++i)
    if (table.text(i, "family") == family)
      levels.push_back({std::string(table.text(i, "level")), table.number(i, "chance").value_or(0),
                        std::string(table.text(i, "series")),
                        static_cast<int>(table.number(i, "tg_shift").value_or(0)),
                        std::string(table.text(i, "rubber_class"))});
  return levels;
}

bool has_word(std::string_view words, const std::string& wanted) {
  std::istringstream in{std::string(words)};
  for (std::string word; std::getline(in, word, '|');)
    if (folded(word) == wanted) return true;
  return false;
}

AgeingMaterial read_material(std::size_t row) {
  const CsvTable& table = CsvTable::builtin("ageing_materials.csv");
  AgeingMaterial m;
  m.name = table.text(row, "abbrev");
  m.known = true;
  const std::string_view making = table.text(row, "making");
  m.family = making == kMetal    ? MakingFamily::kMetal
             : making == kRubber ? MakingFamily::kRubber
                                 : MakingFamily::kMoulded;
  m.metal = m.family == MakingFamily::kMetal;
  if (m.family == MakingFamily::kMoulded) m.din16742_letter = making;
  m.note = table.text(row, "note");
  m.levels = levels_of(m.family);
  const CsvTable& properties = CsvTable::builtin("material_properties.csv");
  if (const auto i = properties.find("material", table.text(row, "properties")))
    m.poisson_ratio = properties.number(*i, "nu").value_or(m.poisson_ratio);
  if (m.metal) {
    m.law = {{{1, 0, 0}}, 0, 0};
    return m;
  }
  const CsvTable& shrinkage = CsvTable::builtin("plastic_shrinkage.csv");
  if (const auto i = shrinkage.find("abbrev", m.name)) {
    m.ageing_percent = {shrinkage.number(*i, "post_min_pct").value_or(0),
                        shrinkage.number(*i, "post_max_pct").value_or(0)};
    m.moulding_percent = {shrinkage.number(*i, "mould_min_pct").value_or(0),
                          shrinkage.number(*i, "mould_max_pct").value_or(0)};
    m.source = shrinkage.text(*i, "post_status");
    m.law = law_of_range(m.ageing_percent.lo * kPercent, m.ageing_percent.hi * kPercent);
  }
  if (auto parts = parse_parts(table.text(row, "law")); !parts.empty())
    m.law = {std::move(parts), table.number(row, "floor_pct").value_or(0) * kPercent,
             table.number(row, "ceiling_pct").value_or(5) * kPercent};
  return m;
}

// The row of a table of size steps that holds the size; the first or last row when it lies outside.
template <class Matches>
std::optional<std::size_t> size_step(const CsvTable& table, double size_mm, Matches matches) {
  std::optional<std::size_t> best;
  for (std::size_t i = 0; i < table.rows(); ++i)
    if (matches(i) && (!best || table.number(i, "over_mm").value_or(0) < size_mm)) best = i;
  return best;
}

double tolerance_unit(double size_mm) { return 0.45 * std::cbrt(size_mm) + 0.001 * size_mm; }
double beyond_table(double size_mm, double last_mm) {
  return size_mm > last_mm ? tolerance_unit(size_mm) / tolerance_unit(last_mm) : 1;
}

double din_limit_mm(const AgeingMaterial& material, const MakingLevel& level, double size_mm,
                    bool across_parting) {
  const CsvTable& choice = CsvTable::builtin("din16742_group_choice.csv");
  int group = 6;
  for (std::size_t i = 0; i < choice.rows(); ++i)
    // Letter B stands for two classes with the same groups.
    if (choice.text(i, "letter") == material.din16742_letter)
      group = static_cast<int>(choice.number(i, level.series_column).value_or(6));
  group = std::clamp(group + level.tg_shift, 1, std::max(group, 8));
  const CsvTable& limits = CsvTable::builtin("din16742_tolerances.csv");
  const auto row = size_step(limits, size_mm, [&](std::size_t i) { return limits.number(i, "tg") == group; });
  const double limit = limits.number(*row, across_parting ? "NW_pm_mm" : "W_pm_mm").value_or(0.2);
  return limit * beyond_table(size_mm, 30);
}

double rubber_limit_mm(const MakingLevel& level, double size_mm, bool across_parting) {
  const CsvTable& limits = CsvTable::builtin("iso3302_1_rubber_moulding.csv");
  const auto row = size_step(limits, size_mm, [](std::size_t) { return true; });
  const double limit = limits.number(*row, level.rubber_class + (across_parting ? "_C" : "_F")).value_or(0.3);
  return limit * beyond_table(size_mm, 40);
}

}  // namespace

double ShrinkageLaw::density(double s) const {
  if (s < floor || s > ceiling) return 0;
  double sum = 0;
  for (const Part& p : parts)
    sum += p.weight * normal_density((s - p.mean) / p.sd) / (p.sd * mass_inside(p, floor, ceiling));
  return sum;
}

double ShrinkageLaw::mean() const {
  double sum = 0;
  for (const Part& p : parts) sum += p.weight * moments(p, floor, ceiling).first;
  return sum;
}

double ShrinkageLaw::sd() const {
  double second = 0;
  for (const Part& p : parts) second += p.weight * moments(p, floor, ceiling).second;
  return std::sqrt(std::max(0.0, second - mean() * mean()));
}

Result<ShrinkageLaw> stated_shrinkage(Estimate shrinkage) {
  if (!(shrinkage.value >= 0 && shrinkage.value <= 0.5 && shrinkage.u >= 0 && shrinkage.u <= 0.5))
    return Error{ErrorCode::kBadArgument,
                 "found a shrinkage outside 0 to 50 %, needed one such as '0.3%+-0.2%'"};
  if (shrinkage.u == 0) return ShrinkageLaw{{{1, shrinkage.value, 0}}, 0, 1};
  return ShrinkageLaw{
      {{1, shrinkage.value, shrinkage.u}}, 0, std::min(0.9, shrinkage.value + 10 * shrinkage.u)};
}

AgeingMaterial find_ageing_material(std::string_view name) {
  const std::string wanted = folded(name);
  const CsvTable& table = CsvTable::builtin("ageing_materials.csv");
  for (std::size_t i = 0; i < table.rows(); ++i)
    if (!wanted.empty() &&
        (folded(table.text(i, "abbrev")) == wanted || has_word(table.text(i, "words"), wanted)))
      return read_material(i);
  AgeingMaterial unknown;
  unknown.name = name.substr(0, 40);
  unknown.law = broad_law();
  unknown.din16742_letter = "C";  // between amorphous and acetal
  unknown.levels = levels_of(unknown.family);
  return unknown;
}

std::vector<std::string> ageing_material_names() {
  const CsvTable& table = CsvTable::builtin("ageing_materials.csv");
  std::vector<std::string> names;
  for (std::size_t i = 0; i < table.rows(); ++i) names.emplace_back(table.text(i, "abbrev"));
  return names;
}

double moulding_sd_mm(const AgeingMaterial& material, const MakingLevel& level, double size_mm,
                      bool across_parting) {
  if (material.metal) return metal_sd_mm(size_mm);
  const double limit = level.rubber_class.empty() ? din_limit_mm(material, level, size_mm, across_parting)
                                                  : rubber_limit_mm(level, size_mm, across_parting);
  return limit / 2;
}

double metal_sd_mm(double size_mm) {
  const CsvTable& table = CsvTable::builtin("iso286_it.csv");
  const auto row = size_step(table, size_mm, [](std::size_t) { return true; });
  const double last = table.number(table.rows() - 1, "upto_mm").value_or(30);
  return table.number(*row, "IT9").value_or(40) * 1e-3 / 2 * beyond_table(size_mm, last);
}

}  // namespace rondure
