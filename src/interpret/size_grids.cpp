#include "rondure/interpret/size_grids.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <numeric>

#include "rondure/core/builtin_data.hpp"
#include "rondure/core/csv_table.hpp"
#include "rondure/core/geometry.hpp"

namespace rondure {
namespace {

void scale_to_one(std::vector<SizeGrid>& grids) {
  double sum = 0;
  for (const SizeGrid& g : grids) sum += g.weight;
  for (SizeGrid& g : grids) g.weight /= sum;
  if (!(sum > 0)) grids.clear();
}

std::string without_trailing_zeros(std::string text, std::size_t keep_decimals) {
  const auto point = text.find('.');
  while (text.size() > point + 1 + keep_decimals && text.back() == '0') text.pop_back();
  if (text.back() == '.') text.pop_back();
  return text;
}

std::string fixed(double value, int decimals) {
  char buffer[48];
  std::snprintf(buffer, sizeof buffer, "%.*f", decimals, value);
  return buffer;
}

// "31/64", "1 1/8", "2"; empty when the size is no multiple of 1/64 inch.
std::string inch_fraction(double inch) {
  const double sixty_fourths = inch * 64;
  const double nearest = std::round(sixty_fourths);
  if (std::abs(sixty_fourths - nearest) > 64 * kSameSize_mm / kMmPerInch || nearest < 1 || nearest > 1e9)
    return {};
  const long n = static_cast<long>(nearest), whole = n / 64, rest = n % 64;
  if (rest == 0) return std::to_string(whole);
  const long divisor = std::gcd(rest, 64L);
  const std::string fraction = std::to_string(rest / divisor) + "/" + std::to_string(64 / divisor);
  return whole == 0 ? fraction : std::to_string(whole) + " " + fraction;
}

}  // namespace

std::string_view name(UnitSystem system) { return system == UnitSystem::kMetric ? "metric" : "inch"; }

const SizeGrids& builtin_size_grids() {
  static const SizeGrids grids = parse_size_grids(builtin_data("size_grid_prior.csv")).value();
  return grids;
}

Result<SizeGrids> parse_size_grids(std::string_view text) {
  const CsvTable table(text);
  for (const char* column : {"system", "grid", "step_mm", "weight"})
    if (!table.has(column))
      return Error{ErrorCode::kBadLine, std::string("found no column '") + column +
                                            "', needed the header system,grid,step_mm,weight"};
  SizeGrids grids;
  for (std::size_t i = 0; i < table.rows(); ++i) {
    const auto bad = [&](const std::string& needed) {
      return Error{ErrorCode::kBadLine, "line " + std::to_string(table.line(i)) + ": needed " + needed};
    };
    const std::string system = folded(table.text(i, "system"));
    if (system != "metric" && system != "inch") return bad("the system metric or inch");
    const auto step = table.number(i, "step_mm");
    if (!step || *step < kFinestStep_mm || *step > 1000) return bad("a step of 0.001 to 1000 mm");
    const auto weight = table.number(i, "weight");
    if (!weight || *weight < 0 || *weight > 1e6) return bad("a weight of 0 or more");
    (system == "metric" ? grids.metric : grids.inch)
        .push_back({std::string(table.text(i, "grid")), *step, *weight});
  }
  scale_to_one(grids.metric);
  scale_to_one(grids.inch);
  if (grids.metric.empty() && grids.inch.empty())
    return Error{ErrorCode::kNoAnswer, "found no size grid with a weight above 0"};
  return grids;
}

std::vector<GridSize> sizes_between(const std::vector<SizeGrid>& grids, double lo_mm, double hi_mm) {
  std::vector<GridSize> all;
  for (const SizeGrid& g : grids) {
    const double first = std::max(1.0, std::ceil(lo_mm / g.step_mm - 1e-9));
    for (double n = first; n * g.step_mm <= hi_mm + 1e-9 * g.step_mm; ++n)
      all.push_back({n * g.step_mm, g.weight * g.step_mm});
  }
  std::sort(all.begin(), all.end(),
            [](const GridSize& a, const GridSize& b) { return a.size_mm < b.size_mm; });
  std::vector<GridSize> merged;
  for (const GridSize& s : all) {
    if (!merged.empty() && s.size_mm - merged.back().size_mm < kSameSize_mm) {
      merged.back().prior_weight += s.prior_weight;
    } else {
      merged.push_back(s);
    }
  }
  return merged;
}

std::string size_label(double size_mm, UnitSystem system) {
  if (system == UnitSystem::kMetric) return without_trailing_zeros(fixed(size_mm, 4), 0) + " mm";
  const double inch = size_mm / kMmPerInch;
  const std::string fraction = inch_fraction(inch);
  return (fraction.empty() ? without_trailing_zeros(fixed(inch, 5), 3) : fraction) + " in";
}

}  // namespace rondure
