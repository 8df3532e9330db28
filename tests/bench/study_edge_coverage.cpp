// How often the 95 % intervals hold for a photographed edge whose points share errors with their neighbours, through the
// function that `measure` calls for every edge (robust exclusion, form, ovality, verdict); no pixels here: for these
// study_photo_form. Usage: study_edge_coverage [parts per cell = 200] [seed = 1] [only cells whose name holds these words]
//
// Parts: R 6 to 15 mm; edge errors sigma/R = 0.0005 across the edge, first-order autoregression from point to point.
// Form: round, three or five lobes of 0.1 %, texture (orders 3 to 17, 0.006 to 0.03 % each, phases free). Seen: all round,
// all but 25 degrees, or an arc.
#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <string>
#include <vector>

#include "fit/simulated_part.hpp"
#include "rondure/interpret/outline.hpp"

using namespace rondure;
using simulated::Part;
using simulated::Random;

namespace {

int parts_per_cell = 200;
unsigned long seed = 1;

struct Cell {
  const char* errors;
  int points;  // all round; fewer where less is seen
  double correlation;
  double seen_deg;
  const char* form;
  int order;  // 0: round, -1: texture
};

void add_form(Part& part, const Cell& cell, Random& random) {
  if (cell.order > 0) simulated::add_lobe(part, cell.order, 1e-3, random);
  for (int k = 3; cell.order < 0 && k <= 17; ++k)
    simulated::add_lobe(part, k, 6e-5 * std::pow(5.0, simulated::uniform(random, 0, 1)), random);
}

double median(std::vector<double> v) {
  if (v.empty()) return 0;
  std::nth_element(v.begin(), v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2), v.end());
  return v[v.size() / 2];
}

void row(const Cell& cell, unsigned long salt) {
  Random random(seed * 104729 + salt);
  int parts = 0, held = 0, ovals = 0, oval_held = 0, called_oval = 0, lobed = 0, lost = 0;
  std::vector<double> width, oval_width;
  for (int i = 0; i < parts_per_cell; ++i) {
    Part part = simulated::random_part(random);
    add_form(part, cell, random);
    simulated::Reading how;
    how.points = static_cast<int>(std::lround(cell.points * cell.seen_deg / 360));
    how.arc_deg = cell.seen_deg;
    how.sigma_mm = 5e-4 * part.radius_mm, how.step_mm = 0, how.correlation = cell.correlation;
    std::vector<MeasuredPoint> points;
    for (const PartPoint& p : simulated::read(part, how, random)) points.push_back({p, how.sigma_mm});
    OutlineOptions options;
    options.correlated = true;
    const auto feature = measure_outline(points, options);
    if (!feature || !feature->circle->diameter95_mm) continue;
    ++parts;
    lost += !feature->excluded.empty();
    held += feature->circle->diameter95_mm->contains(2 * part.radius_mm);
    width.push_back(feature->circle->diameter95_mm->width() / 2 / how.sigma_mm);
    lobed += feature->verdict == OutlineForm::kLobed || feature->verdict == OutlineForm::kIrregular;
    if (!feature->ellipse || !feature->ellipse->ovality95_mm) continue;
    ++ovals;
    oval_held += feature->ellipse->ovality95_mm->contains(0);
    oval_width.push_back(feature->ellipse->ovality95_mm->width() / how.sigma_mm);
    called_oval += feature->verdict == OutlineForm::kOval;
  }
  const auto percent = [](int count, int of) {
    return of ? fmt::format("{:.1f}", 100.0 * count / of) : std::string("-");
  };
  fmt::print("{:<9}{:>5}{:>6.0f}  {:<16}{:>6}{:>8}{:>9.2f}{:>9}{:>9}{:>7}{:>8}{:>8}\n", cell.errors,
             cell.points, cell.seen_deg, cell.form, parts, percent(held, parts), median(width),
             percent(oval_held, ovals), ovals ? fmt::format("{:.2f}", median(oval_width)) : "-",
             percent(called_oval, ovals), cell.order == 0 ? percent(lobed, parts) : "", percent(lost, parts));
  std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc > 1) parts_per_cell = std::max(1, std::atoi(argv[1]));
  if (argc > 2) seed = std::strtoul(argv[2], nullptr, 10);
  const std::string only = argc > 3 ? argv[3] : "";
  fmt::print(
      "Edges whose points share errors (autoregression), through measure_outline: {} parts a cell (standard "
      "error {:.1f} "
      "points), seed {}\nheld: 95 % intervals that hold, %; width: median over the standard deviation of a "
      "point (of the "
      "radius; of the ovality); oval: called so, %\n(no part is); lobed: round parts called lobed or "
      "irregular; lost: "
      "parts that lose points as a defect or a slip, % (none has any)\n\n"
      "{:<9}{:>5}{:>6}  {:<16}{:>6}{:>8}{:>9}{:>9}{:>9}{:>7}{:>8}{:>8}\n",
      parts_per_cell, 100 * std::sqrt(0.95 * 0.05 / parts_per_cell), seed, "errors", "n", "deg", "form",
      "parts", "radius", "width", "ovality", "width", "oval", "lobed", "lost");
  unsigned long salt = 0;
  struct Errors {
    const char* name;
    double correlation;
  };
  struct Form {
    const char* name;
    int order;
  };
  for (const Errors& errors : {Errors{"white", 0}, Errors{"AR 0.9", 0.9}})
    for (const int points : {50, 360})
      for (const double seen : {360.0, 335.0, 240.0, 120.0})
        for (const Form& form :
             {Form{"round", 0}, Form{"3 lobes 0.1 %", 3}, Form{"5 lobes 0.1 %", 5}, Form{"texture", -1}}) {
          ++salt;
          const Cell cell{errors.name, points, errors.correlation, seen, form.name, form.order};
          const std::string name =
              fmt::format("{} n {} {:.0f} deg {}", cell.errors, cell.points, cell.seen_deg, cell.form);
          if (name.find(only) != std::string::npos) row(cell, salt);
        }
}
