// Statistical claims at fixed seeds, on fewer parts than the study in tests/bench (tests/data/studies).
#include <catch2/catch.hpp>

#include "simulated_parts.hpp"

using namespace rondure;
using namespace simulated_sizes;

TEST_CASE("original: with the prior given, the log score is the exact answer's (300 parts)",
          "[interpret][original][study]") {
  Law law{"given", sizes_of(builtin_size_grids())};
  law.level = -2;
  OriginalOptions options;
  options.material = "POM-C";
  options.shrinkage = Estimate{0.003, 0.002};
  const Outcome o = judge(law, options, true, 300, 11);
  CHECK(o.parts == 300);
  CHECK(o.exact_log_score - o.log_score < 0.02);
  CHECK(o.log_score - o.exact_log_score < 0.02);
  CHECK(o.worst_feature_gap < 0.05);  // of any single size; k is taken from the measured sizes
}

TEST_CASE("original: stated probabilities come true (1000 parts)", "[interpret][original][study][repeats]") {
  Law law{"named", sizes_of(builtin_size_grids())};
  law.sd_shrinkage = 0.001;
  OriginalOptions options;
  options.material = "POM-C";
  const Outcome o = judge(law, options, false, 1000, 12);
  CHECK(o.parts == 1000);
  CHECK(o.all_candidates.worst(400) < 0.05);  // 2 standard deviations of 400 answers at 0.5
  CHECK(o.exact_log_score - o.log_score < 0.15);
}
