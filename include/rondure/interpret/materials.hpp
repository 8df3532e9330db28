// What a material says before anything is measured: how far its mouldings shrink with age, and how closely
// they were made.
//
// AGEING SHRINKAGE ONLY. ISO 294-4 keeps apart the moulding shrinkage S_M (mould to part, about 2 % for
// acetal) and the post-moulding shrinkage S_P (part to aged part, a few tenths of a percent). The mould was
// cut large for S_M, so the new part had its drawing size: undoing S_M as well is the standard mistake. Only
// S_P stands between an old part and its drawing.
//
// Law of s (a ratio): a mixture of normal laws, each cut off at floor and ceiling and scaled to 1 there. From
// a published or remembered range [lo, hi] (post_min, post_max of plastic_shrinkage.csv):
//   0.7 of normal((lo + hi)/2, (hi - lo)/4)  and  0.3 of a broad half normal law of 0.6 %
// The broad part stands for a wrong name or an unusual part. Materials that also swell, or that may lose much
// plasticiser, have their own mixture in ageing_materials.csv. An unknown material: 0.6 half normal 0.4 %,
// 0.4 half normal 1.2 %.
#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "rondure/core/geometry.hpp"
#include "rondure/core/result.hpp"

namespace rondure {

struct ShrinkageLaw {
  struct Part {
    double weight = 1, mean = 0,
           sd = 0;  // ratios; sd 0 is allowed only as the single part: s is then exactly `mean`
  };
  std::vector<Part> parts;
  double floor = 0, ceiling = 1;  // s in [floor, ceiling]
  bool exact() const { return parts.size() == 1 && parts.front().sd == 0; }
  double density(double s_ratio) const;  // 0 outside; undefined when exact()
  double mean() const;
  double sd() const;
};

// normal(mean, u) cut off at 0 (u = 0: exactly the mean). Errors: kBadArgument (negative or above 50 %).
Result<ShrinkageLaw> stated_shrinkage(Estimate shrinkage_ratio);

// How the making scattered: one level of care with its chance, for the whole part.
struct MakingLevel {
  std::string name;
  double chance = 1;
  std::string series_column;  // of din16742_group_choice.csv; empty = not moulded plastic
  int tg_shift = 0;
  std::string rubber_class;
};

enum class MakingFamily { kMoulded, kRubber, kMetal };

struct AgeingMaterial {
  std::string name;    // abbreviation; empty when the user named none
  bool known = false;  // false: the broad law
  bool metal = false;  // does not shrink
  ShrinkageLaw law;
  Interval ageing_percent;    // the range behind the law, for the page (empty width: none)
  Interval moulding_percent;  // S_M: NOT to be undone
  std::string note, source;   // source: "from memory", ...
  double poisson_ratio = 0.38;
  MakingFamily family = MakingFamily::kMoulded;
  std::string din16742_letter;  // of a moulded plastic: its row of DIN 16742's choice of groups
  std::vector<MakingLevel> levels;
};

// By abbreviation or usual word, case and outer spaces do not matter. Never fails: an unknown or empty name
// gives the broad law with known = false.
AgeingMaterial find_ageing_material(std::string_view name);
std::vector<std::string> ageing_material_names();

// Standard deviation of the making of a size of the plastic (mm). Limits +-T read as +-2 sd: DIN 16742 column
// W (formed in one half of the mould) for diameters, NW (across the parting line) for widths; below 1 mm the
// first row, above 30 mm the last row scaled by the ISO 286 tolerance unit 0.45 D^(1/3) + 0.001 D. Rubber:
// ISO 3302-1, columns F and C.
double moulding_sd_mm(const AgeingMaterial& material, const MakingLevel& level, double size_mm,
                      bool across_parting);
// Standard deviation of a turned or drawn metal part (a shaft): half of IT9 (ISO 286-1), judgement.
double metal_sd_mm(double size_mm);

}  // namespace rondure
