// Sets of parts of one machine: do the stated probabilities come true, how far behind somebody who knows the
// law of the draw, and what do equal rollers gain by being asked together?
// Usage: study_original_set [MACHINES [ROWS]] > tests/data/studies/study_original_set.txt
#include <cstdio>
#include <cstdlib>

#include "set_laws.hpp"

using namespace set_machines;
using simulated_sizes::Reliability;

namespace {

constexpr int kWorthPrinting = 200;  // answers in a tenth

void print_tenths(const char* title, const Reliability& r) {
  std::printf("  %-16s", title);
  for (std::size_t i = 0; i < 10; ++i)
    if (r.answers[i] >= kWorthPrinting)
      std::printf("  %.2f/%.2f(%d)", r.stated[i] / r.answers[i],
                  static_cast<double>(r.came_true[i]) / r.answers[i], r.answers[i]);
    else
      std::printf("  -(%d)", r.answers[i]);
  std::printf("   worst %.3f\n", r.worst(kWorthPrinting));
}

// What an answer loses to that of somebody who knows the law, on the mean over what could have been drawn given what
// was measured: as the difference of the two log scores, without the chance of the draw.
double expected_loss(const OriginalFeature& knowing, const OriginalFeature& told) {
  double loss = 0;
  for (const SizeCandidate& c : knowing.candidates)
    if (c.probability > 1e-9)
      loss += c.probability * (std::log(c.probability) -
                               log_score(told, std::lround(c.size_mm * 1e6),
                                         c.system == UnitSystem::kMetric ? std::size_t{0} : std::size_t{1}));
  return loss;
}

// Mean with its standard error.
struct Mean {
  double sum = 0, squares = 0;
  int n = 0;
  void add(double x) { sum += x, squares += x * x, ++n; }
  double mean() const { return sum / std::max(1, n); }
  double u() const {
    return std::sqrt(std::max(0.0, squares / std::max(1, n) - mean() * mean()) / std::max(1, n));
  }
};

struct Scores {
  double alone = 0, told = 0, knowing = 0;
  Mean behind, loss, loss_given;  // in nat; loss: expected, with the designer's grids given too
  void print(const char* what) const {
    const double n = std::max(1, behind.n);
    std::printf("  log score of %-9s alone %.3f   together %.3f   knowing the law %.3f (%d answers)\n", what,
                alone / n, told / n, knowing / n, behind.n);
    std::printf(
        "    behind by %.3f +- %.3f nat as drawn, by %.3f +- %.3f as expected; the designer's grids given, "
        "by %.3f\n",
        behind.mean(), behind.u(), loss.mean(), loss.u(), loss_given.mean());
  }
};

struct Decided {
  int asked = 0, together = 0, right = 0, alone = 0, alone_right = 0;
  int likely = 0, likely_right = 0;  // 80 % and more, whether called decided or not
};

Reliability pooled;

constexpr std::size_t kFewParts = 5;

// One machine: the outside once, since all parts have the same, and the width of every part.
void judge(const Machine& m, const MachineLaw& law, std::array<Reliability, 2>& by_parts, Scores& outsides,
           Scores& all, Decided& decided) {
  Reliability& tenths = by_parts[m.parts.size() > kFewParts];
  SetOptions given = as_told();
  given.grids = m.grids;
  given.habits_known = true;
  SetOptions knows = given;
  knows.chance_other_drawing = knows.chance_stranger = knows.chance_worn = 0;
  knows.likeness = law.likeness >= 0
                       ? std::vector{law.likeness}
                       : std::vector<double>(std::begin(kShrinkageLikeness), std::end(kShrinkageLikeness));
  auto fitting = m.parts;
  if (law.one_wrong) fitting.pop_back();
  const auto told_set = infer_set(m.parts, as_told()), given_set = infer_set(m.parts, given),
             known_set = infer_set(fitting, knows);
  if (!told_set || !given_set || !known_set) {
    std::printf("  no answer\n");
    return;
  }
  for (std::size_t p = 0; p < fitting.size(); ++p) {
    const auto single = infer_original(m.parts[p].sizes, m.parts[p].options);
    for (std::size_t i = p == 0 ? 0 : 1; i < 2; ++i) {
      const long truth = m.drawn[p][i];
      const OriginalFeature& f = told_set->parts[p].original.features[i];
      const OriginalFeature& known = known_set->parts[p].original.features[i];
      const OriginalFeature& with_grids = given_set->parts[p].original.features[i];
      const auto add = [&](Scores& s) {
        const double own = log_score(f, truth, m.system), knowing = log_score(known, truth, m.system);
        s.told += own;
        s.knowing += knowing;
        s.alone += log_score(single->features[i], truth, m.system);
        s.behind.add(knowing - own);
        s.loss.add(expected_loss(known, f));
        s.loss_given.add(expected_loss(known, with_grids));
      };
      add(all);
      if (i == 0) add(outsides);
      for (const SizeCandidate& c : f.candidates)
        if (c.probability >= 0.005)
          for (Reliability* r : {&tenths, &pooled}) r->add(c.probability, is_drawn(c, truth, m.system));
      if (i > 0) continue;
      ++decided.asked;
      const SizeCandidate &best = f.candidates.front(), &own = single->features[0].candidates.front();
      decided.likely += best.probability >= 0.8;
      decided.likely_right += best.probability >= 0.8 && is_drawn(best, truth, m.system);
      if (!f.undecided) ++decided.together, decided.right += is_drawn(best, truth, m.system);
      if (own.probability >= 0.8) ++decided.alone, decided.alone_right += is_drawn(own, truth, m.system);
    }
  }
}

Reliability sum(const Reliability& a, const Reliability& b) {
  Reliability both = a;
  for (std::size_t i = 0; i < both.answers.size(); ++i) {
    both.stated[i] += b.stated[i];
    both.came_true[i] += b.came_true[i];
    both.answers[i] += b.answers[i];
  }
  return both;
}

void row(const MachineLaw& law, int machines, unsigned seed) {
  std::mt19937_64 random(seed);
  std::array<Reliability, 2> by_parts;
  Scores outsides, all;
  Decided d;
  for (int i = 0; i < machines; ++i)
    judge(draw_machine(law, law.one_wrong ? 6 : 2, law.one_wrong ? 6 : 12, random), law, by_parts, outsides,
          all, d);
  std::printf("%s; %d machines, seed %u\n", law.name.c_str(), machines, seed);
  std::printf(
      "  outsides decided at 80 %%   alone %.1f %% (right %.1f %%)   together %.1f %% (right %d of %d; of "
      "80 %% and more %d of %d)\n",
      100.0 * d.alone / d.asked, 100.0 * d.alone_right / std::max(1, d.alone), 100.0 * d.together / d.asked,
      d.right, d.together, d.likely_right, d.likely);
  outsides.print("outsides");
  all.print("all sizes");
  print_tenths("stated/came true", sum(by_parts[0], by_parts[1]));
  if (!law.one_wrong) {
    print_tenths("  2 to 5 parts", by_parts[0]);
    print_tenths("  6 to 12 parts", by_parts[1]);
  }
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
      const double mm = 12.5 * (1 - 0.001 * p) + 0.03 * normal(random) + 0.01 * normal(random);
      part.sizes = {{"outside", "outside", mm, 0.01, 0.03, {}, 0}};
      part.options.material = "POM-C";
      if (stated) part.options.shrinkage = Estimate{0.0035, 0.002};
      part.options.suggest = false;
      part.options.least_shown = 1e-9;
      parts.push_back(part);
    }
    const auto set = infer_set(parts, as_told());
    if (!set) continue;
    for (std::size_t p = 0; p < 6; ++p) {
      const OriginalFeature& f = set->parts[p].original.features[0];
      const auto single = infer_original(parts[p].sizes, parts[p].options);
      const auto& own = single->features[0].candidates.front();
      if (!f.undecided) ++decided, right += f.candidates.front().label == "12.5 mm";
      if (own.probability >= 0.8) ++alone_decided, alone_right += own.label == "12.5 mm";
      p_true += simulated_sizes::stated_probability(f, 12500000, 0);
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
  const std::string rows = argc > 2 ? argv[2] : "6ABCDEFGHIJ";
  std::printf(
      "Original sizes of sets (tests/bench/study_original_set.cpp, fixed seeds). A machine: 2 to 12 parts, "
      "each with "
      "an outside of\none drawing (8 to 20 mm) and a width of its own, shrunk by 0.3 +- 0.2 %% (told), made "
      "to 0.03 mm "
      "(told), read to 0.005 mm;\nnothing told of the designer. Answers: the outside once a machine, the "
      "width of every "
      "part. Knowing the law: the same sums,\ntold the designer's grids, how alike the shrinkages are, and "
      "which part "
      "does not belong. Behind as drawn: the difference of the two\nlog scores at the drawn sizes; as "
      "expected: "
      "its mean over what could have been drawn given what was measured,\nas somebody who knows the law "
      "believes; "
      "+- standard error, answers taken as independent. Tenths:\nstated/came true (answers), every candidate "
      "of "
      "0.5 %% and more, where %d answers or more. Of 80 %% and more: those that would be decided but "
      "for\nthe rule on sizes that lie near no steps. Laws H to J were drawn up before anything was seen of "
      "them.\n\n",
      kWorthPrinting);
  const auto asked = [&](char row) { return rows.find(row) != std::string::npos; };
  if (asked('6')) six_rollers(machines, false, 5);
  if (asked('6')) six_rollers(machines, true, 6);
  const unsigned seeds[] = {1, 2, 3, 7, 8};
  const auto laws = fixed_laws();
  for (std::size_t l = 0; l < laws.size(); ++l)
    if (asked(laws[l].name.front())) row(laws[l], machines, seeds[l]);
  if (asked('F'))
    row({"F. every machine another designer: weights by a Dirichlet law of 1/2 a grid; knowing the law: the "
         "designer himself",
         random_designer},
        2 * machines, 9);
  MachineLaw wrong = laws[0];
  wrong.name = "G. designers as the built-in grids say, one wrong part among six, wrongly called equal";
  wrong.one_wrong = true;
  if (asked('G')) row(wrong, machines, 4);
  const unsigned fresh_seeds[] = {31, 32, 33};
  const auto fresh = fresh_laws();
  for (std::size_t l = 0; l < fresh.size(); ++l)
    if (asked(fresh[l].name.front())) row(fresh[l], machines, fresh_seeds[l]);
  std::printf("All rows together\n");
  print_tenths("stated/came true", pooled);
}
