// What no answer can do better: a program that is not told the designer cannot be near all laws at once, because what is
// measured does not tell them apart. Lower bounds of the loss that any program must take, whatever its prior.
// Usage: study_original_set_bound [MACHINES [OF_KINDS]] > tests/data/studies/study_original_set_bound.txt
//
// For weights w over the laws the mixture of their answers has the least mean loss (it is the posterior mean), so every
// program loses at least as much on the mean over w; one that loses no more than `cap` on the first law loses on some
// other law at least
//   max over w of (sum of w_i loss_i(mixture by w) - w_1 cap) / (1 - w_1).
// All answers know how alike the shrinkages are drawn; a program that does not can only lose more.
// Loss: mean over machines of the relative entropy of the program's answer for the outside to that of somebody who knows
// the law; it is the mean difference of log scores.
#include <cstdio>
#include <cstdlib>
#include <map>

#include "set_laws.hpp"

using namespace set_machines;

namespace {

// The outside's candidates under one law, and how likely the law makes everything measured.
struct Answer {
  double log_evidence = -INFINITY;                 // no size of these grids comes near
  std::map<std::pair<int, long>, double> outside;  // by system and size in 1e-6 mm
};

Answer answer(const Machine& m, const SizeGrids& designer, double likeness) {
  SetOptions o = as_told();
  o.grids = designer;
  o.habits_known = true;
  o.chance_other_drawing = o.chance_stranger = o.chance_worn = 0;
  if (likeness >= 0) o.likeness = {likeness};
  Answer a;
  const auto set = infer_set(m.parts, o);
  if (!set) return a;
  a.log_evidence = set->log_evidence;
  for (const SizeCandidate& c : set->parts[0].original.features[0].candidates)
    a.outside[{c.system == UnitSystem::kMetric ? 0 : 1, std::lround(c.size_mm * 1e6)}] += c.probability;
  return a;
}

// By the program, told nothing of the designer.
Answer answer_untold(const Machine& m) {
  Answer a;
  const auto set = infer_set(m.parts, as_told());
  if (!set) return a;
  a.log_evidence = set->log_evidence;
  for (const SizeCandidate& c : set->parts[0].original.features[0].candidates)
    a.outside[{c.system == UnitSystem::kMetric ? 0 : 1, std::lround(c.size_mm * 1e6)}] += c.probability;
  return a;
}

using Machines = std::vector<std::vector<Answer>>;  // [machine][law]

// Of the mixture by w to the law `own`.
double loss(const Machines& machines, std::size_t own, const std::vector<double>& w) {
  double sum = 0;
  for (const auto& of_law : machines) {
    double best = -INFINITY, total = 0;
    for (const Answer& a : of_law) best = std::max(best, a.log_evidence);
    std::vector<double> share;
    for (std::size_t l = 0; l < w.size(); ++l) {
      share.push_back(w[l] * std::exp(of_law[l].log_evidence - best));
      total += share.back();
    }
    for (const auto& [size, p] : of_law[own].outside) {
      double mixed = 0;
      for (std::size_t l = 0; l < w.size(); ++l)
        if (const auto at = of_law[l].outside.find(size); at != of_law[l].outside.end())
          mixed += share[l] / total * at->second;
      if (p > 1e-12) sum += p * std::log(p / std::max(mixed, 1e-12));
    }
  }
  return sum / static_cast<double>(machines.size());
}

void bound(const std::vector<Machines>& drawn_by, const std::vector<std::size_t>& laws, double cap,
           const std::vector<MachineLaw>& names) {
  std::vector<double> w(names.size(), 0), best_loss(names.size(), 0), best_w(names.size(), 0);
  for (const std::size_t l : laws) w[l] = 1 / static_cast<double>(laws.size());
  double best = 0;
  for (int i = 0; i < 60; ++i) {
    std::vector<double> own(names.size(), 0);
    double mean = 0;
    for (const std::size_t l : laws) mean += w[l] * (own[l] = loss(drawn_by[l], l, w));
    const double first = laws.front() == 0 ? w[0] : 0;
    const double others = (mean - first * cap) / (1 - first);
    if (others > best) best = others, best_loss = own, best_w = w;
    double sum = 0;
    for (const std::size_t l : laws)
      sum += w[l] *= std::exp(2 * (own[l] - (l == 0 && laws.front() == 0 ? cap : others)));
    for (double& each : w) each /= sum;
  }
  std::printf("  ");
  for (const std::size_t l : laws) std::printf("%c ", names[l].name[0]);
  if (laws.front() == 0) std::printf("with no more than %.2f nat lost on A", cap);
  std::printf(": the worst of the others at least %.3f nat (mixture of just these laws:", best);
  for (const std::size_t l : laws)
    std::printf(" %c %.3f by a chance of %.2f", names[l].name[0], best_loss[l], best_w[l]);
  std::printf(")\n");
  std::fflush(stdout);
}

// Of machines drawn by law A, or by any designer of one kind: the least that a program loses on the mean over the kind which
// loses no more than kCap on A and knows of nothing but the two. A program that is told of a kind, and not which of it,
// cannot be nearer to all its designers.
constexpr double kCap = 0.02;
constexpr int kStandingForAll = 100;  // of a kind without end: 300 came nearer, 0.15 nat (40 machines)

struct OfKind {
  Machines by_a, by_kind;  // answers: [0] who knows the designer, [1] law A, then all designers of the kind
};

double least_beside_a(const OfKind& k, std::size_t designers) {
  double best = 0;
  for (double of_kind = 0.005; of_kind < 1; of_kind += of_kind < 0.1 ? 0.005 : 0.02) {
    std::vector<double> w(designers + 2, of_kind / static_cast<double>(designers));
    w[0] = 0, w[1] = 1 - of_kind;
    const double a = loss(k.by_a, 0, w), kind = loss(k.by_kind, 0, w);
    best = std::max(best, kind + (1 - of_kind) / of_kind * (a - kCap));
  }
  return best;
}

// Every machine another designer of one kind: what somebody loses who knows the kind but not the designer; and what the
// program loses, which knows neither. No program can lose less on the mean over the kind, so on the worst of it neither.
void unknown_designer(const MachineLaw& kind, const std::vector<SizeGrids>& all, int machines,
                      unsigned seed) {
  std::mt19937_64 random(seed);
  std::vector<double> knows_kind(all.size() + 2, 1.0 / static_cast<double>(all.size())),
      as_program(all.size() + 2, 0);
  knows_kind[0] = knows_kind[1] = 0;
  as_program[1] = 1;
  double sum = 0, squares = 0, program = 0;
  OfKind beside_a;
  const MachineLaw built_in = fixed_laws()[0];
  for (int i = 0; i < machines; ++i) {
    const Machine by_a = draw_machine(built_in, 2, 12, random);
    std::vector<Answer> of_a = {answer(by_a, by_a.grids, built_in.likeness)};
    of_a.push_back(of_a[0]);
    for (const SizeGrids& other : all) of_a.push_back(answer(by_a, other, built_in.likeness));
    beside_a.by_a.push_back(std::move(of_a));
  }
  for (int i = 0; i < machines; ++i) {
    const Machine m = draw_machine(kind, 2, 12, random);
    std::vector<Answer> answers = {answer(m, m.grids, kind.likeness), answer_untold(m)};
    for (const SizeGrids& other : all) answers.push_back(answer(m, other, kind.likeness));
    beside_a.by_kind.push_back(answers);
    beside_a.by_kind.back()[1] = answer(m, builtin_size_grids(), kind.likeness);
    const double own = loss({answers}, 0, knows_kind);
    sum += own, squares += own * own;
    program += loss({answers}, 0, as_program);
  }
  const double mean = sum / machines;
  std::printf(
      "  %s: who knows that but not the designer loses %.3f +- %.3f nat to who knows him, who thinks of law "
      "A "
      "too\n    and loses no more than %.2f on it at least %.3f, the program %.3f\n",
      kind.name.c_str(), mean, std::sqrt(std::max(0.0, squares / machines - mean * mean) / machines), kCap,
      least_beside_a(beside_a, all.size()), program / machines);
  std::fflush(stdout);
}

// All designers who draw with these shares on different grids of the built-in ones but the finest, each once. One of
// them stands for a metric and an inch designer: of a mixture of all, each system holds all its own.
std::vector<SizeGrids> all_designers(const std::vector<double>& shares) {
  std::vector<std::vector<std::size_t>> orders = {{}};
  constexpr std::size_t kGrids = 6;
  for (std::size_t n = 0; n < shares.size(); ++n) {
    std::vector<std::vector<std::size_t>> longer;
    for (const auto& order : orders)
      for (std::size_t g = 0; g < kGrids; ++g)
        if (std::find(order.begin(), order.end(), g) == order.end() &&
            !(n > 0 && shares[n] == shares[n - 1] && g < order.back())) {  // the same designer again
          longer.push_back(order);
          longer.back().push_back(g);
        }
    orders = std::move(longer);
  }
  std::vector<SizeGrids> all;
  for (const auto& order : orders) {
    SizeGrids own = builtin_size_grids();
    for (auto* of_system : {&own.metric, &own.inch}) {
      for (SizeGrid& g : *of_system) g.weight = 0;
      for (std::size_t n = 0; n < order.size(); ++n) (*of_system)[order[n]].weight = shares[n];
    }
    all.push_back(std::move(own));
  }
  return all;
}

// Metric and inch habits drawn each for itself.
MachineLaw any_of(const std::string& name, const std::vector<SizeGrids>& all) {
  return {name, [all](std::mt19937_64& random) {
            std::uniform_int_distribution<std::size_t> one(0, all.size() - 1);
            SizeGrids own = all[one(random)];
            own.inch = all[one(random)].inch;
            return own;
          }};
}

}  // namespace

int main(int argc, char** argv) {
  const int machines = argc > 1 ? std::atoi(argv[1]) : 100,
            of_kinds = argc > 2 ? std::atoi(argv[2]) : machines;
  const std::vector<MachineLaw> laws = fixed_laws();
  std::printf(
      "Original sizes of sets: what no program can do better (tests/bench/study_original_set_bound.cpp, "
      "fixed seeds), "
      "%d machines\na law, drawn as in study_original_set. Lower bounds of the loss on the outside, in nat "
      "behind "
      "somebody who knows the\ndesigner: by the least favourable mixture of the laws named, which a program "
      "that knew "
      "of no other law than these would take.\n\n",
      machines);
  std::vector<Machines> drawn_by;
  for (std::size_t l = 0; l < laws.size(); ++l) {
    std::mt19937_64 random(100 + l);
    auto& drawn = drawn_by.emplace_back();
    for (int i = 0; i < machines; ++i) {
      const Machine m = draw_machine(laws[l], 2, 12, random);
      auto& answers = drawn.emplace_back();
      for (const MachineLaw& law : laws) answers.push_back(answer(m, law.designer(random), laws[l].likeness));
    }
  }
  for (const double cap : {0.02, 0.05, 0.15}) {
    for (const std::size_t other : {2, 3, 4}) bound(drawn_by, {0, other}, cap, laws);
    bound(drawn_by, {0, 2, 3}, cap, laws);
    bound(drawn_by, {0, 2, 3, 4}, cap, laws);
  }
  bound(drawn_by, {2, 4}, 0, laws);
  std::printf("\nEvery machine another designer, %d machines a row, seed 200\n", of_kinds);
  std::mt19937_64 random(300);
  std::vector<SizeGrids> others;
  for (int i = 0; i < kStandingForAll; ++i) others.push_back(random_designer(random));
  unknown_designer(
      {"F. weights by a Dirichlet law of 1/2 a grid (100 of them stand for all: more than the least)",
       random_designer},
      others, of_kinds, 200);
  const auto two = all_designers({0.8, 0.2}), three = all_designers({0.4, 0.4, 0.2});
  unknown_designer(any_of("two grids of any, 80 and 20 % (all 30; law D is one)", two), two, of_kinds, 200);
  unknown_designer(any_of("three grids of any, 40, 40 and 20 % (all 60; metric law C is one)", three), three,
                   of_kinds, 200);
}
