// Sets of parts of one machine: do the stated probabilities come true, how far behind somebody who knows the
// law of the draw, and what do equal rollers gain by being asked together?
// Usage: study_original_set [MACHINES] > tests/data/studies/study_original_set.txt
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <random>

#include "interpret/simulated_parts.hpp"
#include "rondure/interpret/original_set.hpp"

using namespace rondure;
using simulated_sizes::draw_size;
using simulated_sizes::Reliability;
using simulated_sizes::sizes_of;
using simulated_sizes::WeightedSizes;

namespace {

struct MachineLaw {
  const char* name;
  SizeGrids grids;
  double likeness;  // below 0: drawn from the built-in ones
  bool one_wrong;   // the last of six was drawn on its own
};

struct Machine {
  std::vector<SetPart> parts;
  std::vector<long> outside;  // 1e-6 mm
  std::size_t system = 0;
};

constexpr double kMean = 0.003, kSd = 0.002, kMade_mm = 0.03, kU_mm = 0.005;

double quantile(double p) {  // of normal(kMean, kSd) cut off at 0
  const auto cdf = [](double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); };
  const double cut = cdf(-kMean / kSd);
  double lo = -kMean / kSd, hi = 10;
  for (int i = 0; i < 60; ++i) {
    const double middle = (lo + hi) / 2;
    ((cdf(middle) - cut) / (1 - cut) < p ? lo : hi) = middle;
  }
  return kMean + kSd * lo;
}

Machine draw(const MachineLaw& law, std::mt19937_64& random) {
  Machine m;
  std::normal_distribution<> normal;
  const auto uniform = [&](double lo, double hi) { return std::uniform_real_distribution<>(lo, hi)(random); };
  const std::array<WeightedSizes, 2> sizes = sizes_of(law.grids);
  m.system = uniform(0, 1) < 0.5 ? 0 : 1;
  const double about = uniform(8, 20);
  const long outside = draw_size(sizes[m.system], about, random);
  const double r =
      law.likeness >= 0 ? law.likeness : kShrinkageLikeness[static_cast<std::size_t>(uniform(0, 4))];
  const double batch = normal(random);
  const int parts = law.one_wrong ? 6 : std::uniform_int_distribution<>(2, 6)(random);
  for (int p = 0; p < parts; ++p) {
    const double z = std::sqrt(r) * batch + std::sqrt(1 - r) * normal(random);
    const double s = quantile(0.5 * std::erfc(-z / std::sqrt(2.0)));
    const auto seen = [&](const char* name, FeatureKind kind, long micro) {
      const double drawn = static_cast<double>(micro) * 1e-6;
      return SizeObservation{
          name, kind, drawn * (1 - s) + kMade_mm * normal(random) + kU_mm * normal(random), kU_mm, kMade_mm,
          {},   0};
    };
    long own = outside;
    if (law.one_wrong && p == parts - 1)
      while (own == outside) own = draw_size(sizes[m.system], static_cast<double>(outside) * 1e-6, random);
    SetPart part{"p" + std::to_string(p), {}, {}};
    part.sizes = {seen("outside", "outside", own),
                  seen("width", "width", draw_size(sizes[m.system], about * uniform(0.4, 0.9), random))};
    part.options.shrinkage = Estimate{kMean, kSd};
    part.options.least_shown = 1e-9;
    part.options.suggest = false;
    m.parts.push_back(std::move(part));
    m.outside.push_back(own);
  }
  return m;
}

double log_score(const SetPartResult& part, long micro, std::size_t system) {
  return std::log(std::max(simulated_sizes::stated_probability(part.original.features[0], micro, system), 1e-12));
}

void print_tenths(const char* title, const Reliability& r) {
  std::printf("  %-18s", title);
  for (std::size_t i = 0; i < 10; ++i)
    if (r.answers[i] >= 100)
      std::printf("  %.2f/%.2f(%d)", r.stated[i] / r.answers[i],
                  static_cast<double>(r.came_true[i]) / r.answers[i], r.answers[i]);
    else
      std::printf("  -(%d)", r.answers[i]);
  std::printf("   worst %.3f\n", r.worst(100));
}

void row(const MachineLaw& law, int machines, unsigned seed) {
  std::mt19937_64 random(seed);
  Reliability every, first;
  double ours = 0, exact = 0, alone = 0;
  int answers = 0, decided = 0, right = 0, alone_decided = 0, alone_right = 0, wrong_named = 0,
      false_named = 0;
  for (int i = 0; i < machines; ++i) {
    const Machine m = draw(law, random);
    SetOptions told;
    told.same_drawing = {"outside"};
    told.each_without = false;
    SetOptions knows = told;
    knows.grids = law.grids;
    knows.chance_other_drawing = knows.chance_stranger = 0;
    if (law.likeness >= 0) knows.likeness = {law.likeness};
    std::vector<SetPart> fitting = m.parts;
    if (law.one_wrong) fitting.pop_back();
    const auto set = infer_set(m.parts, told);
    const auto best = infer_set(fitting, knows);
    if (!set || !best) continue;
    for (std::size_t p = 0; p < m.parts.size(); ++p) {
      const bool named = set->parts[p].p_other_drawing + set->parts[p].p_stranger > 0.5;
      if (law.one_wrong && p + 1 == m.parts.size())
        wrong_named += named;
      else
        false_named += named;
      if (p >= fitting.size()) continue;
      const OriginalFeature& f = set->parts[p].original.features[0];
      const auto hit = [&](double size_mm, UnitSystem system) {
        return std::lround(size_mm * 1e6) == m.outside[p] &&
               (system == UnitSystem::kMetric) == (m.system == 0);
      };
      ++answers;
      ours += log_score(set->parts[p], m.outside[p], m.system);
      exact += log_score(best->parts[p], m.outside[p], m.system);
      for (std::size_t c = 0; c < f.candidates.size(); ++c) {
        const auto& k = f.candidates[c];
        const bool yes = hit(k.size_mm, k.system);
        if (k.probability >= 0.005) every.add(k.probability, yes);
        if (c > 0) continue;
        first.add(k.probability, yes);
        if (k.probability >= 0.8) ++decided, right += yes;
      }
      OriginalOptions own = m.parts[p].options;
      const auto single = infer_original(m.parts[p].sizes, own);
      alone += std::log(
          std::max(simulated_sizes::stated_probability(single->features[0], m.outside[p], m.system), 1e-12));
      const auto& k = single->features[0].candidates.front();
      if (k.probability >= 0.8) ++alone_decided, alone_right += hit(k.size_mm, k.system);
    }
  }
  const double n = answers;
  std::printf("%s\n", law.name);
  std::printf("  machines %d, outsides %d (of one machine alike, so that answers hang together); seed %u\n",
              machines, answers, seed);
  std::printf("  decided at 80 %%   alone %.1f %% (right %.1f %%)   together %.1f %% (right %.1f %%)\n",
              100 * alone_decided / n, 100.0 * alone_right / std::max(1, alone_decided), 100 * decided / n,
              100.0 * right / std::max(1, decided));
  std::printf("  mean log score    alone %.3f   together %.3f   knowing the law %.3f   behind by %.3f nat\n",
              alone / n, ours / n, exact / n, (exact - ours) / n);
  if (law.one_wrong)
    std::printf("  the wrong part named in %d of %d machines; right parts named wrongly: %d of %d\n",
                wrong_named, machines, false_named, answers);
  else
    std::printf("  right parts named wrongly: %d of %d\n", false_named, answers);
  print_tenths("every candidate", every);
  print_tenths("first candidate", first);
  std::printf("\n");
  std::fflush(stdout);
}

// Six rollers drawn as 12.5 mm, shrunk by 0.1 to 0.6 %, made to 0.03 mm, read to 0.01 mm.
void six_rollers(int machines, bool stated, unsigned seed) {
  std::mt19937_64 random(seed);
  std::normal_distribution<> normal;
  int decided = 0, right = 0, alone_decided = 0, alone_right = 0;
  double p_true = 0, alone_true = 0;
  for (int i = 0; i < machines; ++i) {
    std::vector<SetPart> parts;
    for (int p = 1; p <= 6; ++p) {
      SetPart part{"r" + std::to_string(p), {}, {}};
      part.sizes = {{"outside",
                     "outside",
                     12.5 * (1 - 0.001 * p) + 0.03 * normal(random) + 0.01 * normal(random),
                     0.01,
                     0.03,
                     {},
                     0}};
      part.options.material = "POM-C";
      if (stated) part.options.shrinkage = Estimate{0.0035, 0.002};
      part.options.suggest = false;
      part.options.least_shown = 1e-9;
      parts.push_back(part);
    }
    SetOptions told;
    told.same_drawing = {"outside"};
    told.each_without = false;
    const auto set = infer_set(parts, told);
    if (!set) continue;
    for (std::size_t p = 0; p < 6; ++p) {
      const auto& best = set->parts[p].original.features[0].candidates.front();
      const auto single = infer_original(parts[p].sizes, parts[p].options);
      const auto& own = single->features[0].candidates.front();
      if (best.probability >= 0.8) ++decided, right += best.label == "12.5 mm";
      if (own.probability >= 0.8) ++alone_decided, alone_right += own.label == "12.5 mm";
      p_true += simulated_sizes::stated_probability(set->parts[p].original.features[0], 12500000, 0);
      alone_true += simulated_sizes::stated_probability(single->features[0], 12500000, 0);
    }
  }
  const double n = 6.0 * machines;
  std::printf(
      "Six equal rollers of 12.5 mm, shrunk by 0.1 0.2 0.3 0.4 0.5 0.6 %%, made to 0.03 mm (told), read to "
      "0.01 mm, %s; %d machines, seed %u\n",
      stated ? "shrinkage told as 0.35 +- 0.2 %" : "told POM-C", machines, seed);
  std::printf(
      "  decided rightly at 80 %%   alone %.1f %%   together %.1f %%;   decided wrongly   alone %.1f %%   "
      "together %.1f %%\n  mean probability of 12.5 mm   alone %.2f   together %.2f\n\n",
      100 * alone_right / n, 100 * right / n, 100 * (alone_decided - alone_right) / n,
      100 * (decided - right) / n, alone_true / n, p_true / n);
  std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
  const int machines = argc > 1 ? std::atoi(argv[1]) : 150;
  std::printf(
      "Original sizes of sets (tests/bench/study_original_set.cpp, fixed seeds). A machine: 2 to 6 parts "
      "with an outside of\n"
      "one drawing (8 to 20 mm) and a width of their own, shrunk by 0.3 +- 0.2 %% (told), made to 0.03 mm "
      "(told),\n"
      "read to 0.005 mm. Knowing the law: the same sums, told the grids, how alike the shrinkages are, and "
      "which part\n"
      "does not belong. Tenths: stated/came true (answers), where 100 answers or more.\n\n");
  six_rollers(machines, false, 5);
  six_rollers(machines, true, 6);
  row({"A. the built-in law", builtin_size_grids(), -1, false}, machines, 1);
  SizeGrids coarse =
      parse_size_grids(
          "system,grid,step_mm,weight\nmetric,1,1,0.5\nmetric,0.5,0.5,0.4\nmetric,0.1,0.1,0.1\n"
          "inch,1/16,1.5875,0.5\ninch,1/32,0.79375,0.4\ninch,1/64,0.396875,0.1\n")
          .value();
  row({"B. another law: rounder sizes, all parts shrunk very much alike (0.98)", coarse, 0.98, false},
      machines, 2);
  SizeGrids fine =
      parse_size_grids(
          "system,grid,step_mm,weight\nmetric,0.5,0.5,0.2\nmetric,0.1,0.1,0.4\nmetric,0.05,0.05,0.4\n"
          "inch,1/64,0.396875,0.4\ninch,0.005,0.127,0.6\n")
          .value();
  row({"C. another law: finer sizes, shrinkages not alike", fine, 0, false}, machines, 3);
  row({"D. the built-in law, one wrong part among six, wrongly called equal", builtin_size_grids(), -1, true},
      machines, 4);
}
