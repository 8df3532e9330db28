// Do the stated probabilities of the original sizes come true? 5,000 simulated parts a row, told only what a
// user would tell; beside it the exact Bayesian answer of somebody who knows the law of the draw.
// Usage: original_study [PARTS [ROWS [SEED]]] > tests/data/studies/original_calibration.txt     (ROWS such as
// ABF; SEED is added to each row's own)
#include <cstdio>
#include <cstdlib>

#include "interpret/simulated_parts.hpp"

using namespace rondure;
using namespace simulated_sizes;

namespace {

std::string asked_rows;
unsigned more_seed = 0;

SizeGrids grids(const char* text) {
  return parse_size_grids(std::string("system,grid,step_mm,weight\n") + text).value();
}

// Preferred sizes: ISO 497 rounded R40 in metric (from the built-in table), 1/32 and 1/64 in in inch.
std::array<WeightedSizes, 2> preferred_numbers() {
  std::array<WeightedSizes, 2> out = sizes_of(grids("inch,1/32,0.79375,0.7\ninch,1/64,0.396875,0.3\n"));
  for (const double decade : {0.1, 1.0, 10.0})
    for (const double r : {1.0, 1.05, 1.1, 1.2, 1.25, 1.3, 1.4, 1.5, 1.6, 1.7, 1.8, 1.9, 2.0, 2.1,
                           2.2, 2.4,  2.5, 2.6, 2.8,  3.0, 3.2, 3.4, 3.6, 3.8, 4.0, 4.2, 4.5, 4.8,
                           5.0, 5.3,  5.6, 6.0, 6.3,  6.7, 7.1, 7.5, 8.0, 8.5, 9.0, 9.5})
      out[0][std::lround(r * decade * 1e6)] =
          0.06 * r * decade;  // steps of about 6 %: the same mean density per mm
  return out;
}

void print_tenths(const char* title, const Reliability& r) {
  std::printf("  %-30s", title);
  for (std::size_t i = 0; i < 10; ++i)
    if (r.answers[i] >= 200)
      std::printf("  %.2f/%.2f(%d)", r.stated[i] / r.answers[i],
                  static_cast<double>(r.came_true[i]) / r.answers[i], r.answers[i]);
    else
      std::printf("  -(%d)", r.answers[i]);
  std::printf("   worst %.3f\n", r.worst(200));
}

void row(const Law& law, const OriginalOptions& options, bool told_making, int parts, unsigned seed) {
  if (!asked_rows.empty() && asked_rows.find(law.name[0]) == std::string::npos) return;
  const Outcome o = judge(law, options, told_making, parts, seed + more_seed);
  std::printf("%s\n", law.name.c_str());
  std::printf(
      "  parts %d, sizes %d; decided %.0f %% of the sizes (%.0f %% of the outsides), of these right %.1f "
      "%%\n",
      o.parts, o.features, 100 * o.decided, 100 * o.outside_decided, 100 * o.decided_right);
  std::printf("  mean log score, all sizes      ours %.4f  exact %.4f  behind by %.4f nat\n", o.log_score,
              o.exact_log_score, o.exact_log_score - o.log_score);
  std::printf("  mean log score, outside alone  ours %.4f  exact %.4f  behind by %.4f nat\n",
              o.outside_log_score, o.outside_exact, o.outside_exact - o.outside_log_score);
  std::printf(
      "  stated/came true (answers) by tenths of the stated probability, where 200 answers or more:\n");
  print_tenths("every candidate of 0.5 % up", o.all_candidates);
  print_tenths("first candidate", o.best_answers);
  std::printf("\n");
  std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
  const int parts = argc > 1 ? std::atoi(argv[1]) : 5000;
  if (argc > 2) asked_rows = argv[2];
  if (argc > 3) more_seed = static_cast<unsigned>(std::atoi(argv[3]));
  std::printf(
      "Original sizes: do the stated probabilities come true? (tests/bench/original_study.cpp, fixed seeds)\n"
      "Each part: outside (8 to 25 mm) held by its shaft, bore on the shaft, width, free recess; every third "
      "part also a\n"
      "metal pin. Read with u = 0.005 mm. The exact answer knows the law of the draw, not "
      "the draw.\n\n");
  OriginalOptions given;
  given.shrinkage = Estimate{0.003, 0.002};
  given.material = "POM-C";
  OriginalOptions named;
  named.material = "POM-C";

  Law law{"A  prior given: built-in grids, shrinkage 0.3 +- 0.2 % and making scatter 0.03 mm told",
          sizes_of(builtin_size_grids())};
  law.level = -2;
  row(law, given, true, parts, 1);
  law.name = "B  material named only; built-in grids, shrinkage 0.3 +- 0.1 %, level of care at random";
  law.sd_shrinkage = 0.001;
  law.level = -1;
  row(law, named, false, parts, 2);
  law.name = "C  as B, other weights: rounder sizes, 80 % metric";
  law.p_metric = 0.8;
  law.sizes = sizes_of(grids(
      "metric,1,1,0.5\nmetric,0.5,0.5,0.3\nmetric,0.2,0.2,0.05\nmetric,0.1,0.1,0.13\nmetric,0.05,0.05,0.02\n"
      "inch,1/8,3.175,0.3\ninch,1/16,1.5875,0.35\ninch,1/32,0.79375,0.2\ninch,1/64,0.396875,0.1\n"
      "inch,0.005,0.127,0.05\n"));
  row(law, named, false, parts, 3);
  law.name = "D  as B, other weights: finer sizes, 30 % metric";
  law.p_metric = 0.3;
  law.sizes = sizes_of(grids(
      "metric,1,1,0.12\nmetric,0.5,0.5,0.25\nmetric,0.25,0.25,0.05\nmetric,0.2,0.2,0.1\nmetric,0.1,0.1,0.33\n"
      "metric,0.05,0.05,0.1\nmetric,0.01,0.01,0.05\ninch,1/8,3.175,0.05\ninch,1/16,1.5875,0.15\n"
      "inch,1/32,0.79375,0.25\ninch,1/64,0.396875,0.25\ninch,0.010,0.254,0.05\ninch,0.005,0.127,0.15\n"
      "inch,0.001,0.0254,0.1\n"));
  row(law, named, false, parts, 4);
  law.name = "E  as B, other weights: a half-millimetre and sixteenth house";
  law.p_metric = 0.5;
  law.sizes =
      sizes_of(grids("metric,1,1,0.15\nmetric,0.5,0.5,0.6\nmetric,0.1,0.1,0.2\nmetric,0.05,0.05,0.05\n"
                     "inch,1/16,1.5875,0.6\ninch,1/64,0.396875,0.2\ninch,0.005,0.127,0.2\n"));
  row(law, named, false, parts, 5);
  law.name = "F  wrong material: drawn as B from a homopolymer (0.45 +- 0.175 %), named ABS (0 to 0.1 %)";
  law.sizes = sizes_of(builtin_size_grids());
  law.mean_shrinkage = 0.0045;
  law.sd_shrinkage = 0.00175;
  OriginalOptions wrong;
  wrong.material = "ABS";
  row(law, wrong, false, parts, 6);
  law.name = "G  material not named: drawn as B";
  law.mean_shrinkage = 0.003;
  law.sd_shrinkage = 0.001;
  row(law, {}, false, parts, 7);
  law.name =
      "H  as B, all moulded closely (two groups better than the accurate series), which the exact answer "
      "knows";
  law.level = 2;
  row(law, named, false, parts, 8);
  law.name =
      "I  as B, drawn in preferred numbers only (R40 rounded by ISO 497; 1/32 70 %, 1/64 30 %), which the "
      "exact "
      "answer knows";
  law.level = -1;
  law.sizes = preferred_numbers();
  row(law, named, false, parts, 9);
}
