// The habits of one designer behind a set: the urn's rules, and the answers against plain sums.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <map>

#include "interpret/designer_habits.hpp"
#include "plain_normal.hpp"
#include "rondure/interpret/original_set.hpp"

using namespace rondure;

namespace {

constexpr double kShrunk = 0.003;  // told exactly, so that nothing is left to integrate but the habits

SizeObservation drawn_size(const std::string& name, FeatureKind kind, double mm) {
  return {name, kind, mm, 0.01, 0.02, {}, 0};
}

SetPart shrunk_part(const std::string& name, std::vector<SizeObservation> sizes) {
  SetPart p{name, std::move(sizes), {}};
  p.options.shrinkage = Estimate{kShrunk, 0};
  p.options.least_shown = 1e-12;
  return p;
}

// Density of a reading `below_mm` under what it would be unworn: an exponential amount of the stated mean and a normal scatter,
// by the midpoint rule over the amount.
double worn_density(double below_mm, double mean_mm, double scatter_mm) {
  constexpr double kStep_mm = 5e-4;
  double sum = 0;
  for (double amount = kStep_mm / 2; amount < 12 * mean_mm + 0.5; amount += kStep_mm)
    sum +=
        std::exp(-amount / mean_mm) / mean_mm * phi((below_mm - amount) / scatter_mm) / scatter_mm * kStep_mm;
  return sum;
}

// Sizes near a measured one, with the likelihood of each and the share of every habit.
struct Near {
  std::map<long, double> likelihood;             // by size in 1e-6 mm
  std::map<long, double> worn;                   // the same of a worn outside
  std::map<long, std::vector<double>> of_habit;  // prior per mm
  Near(const SizeObservation& o, const std::vector<SizeGrid>& grids, const std::vector<Habit>& habits) {
    const double kept = o.kind == "metal" ? 1 : 1 - kShrunk, scatter = std::hypot(o.u_mm, *o.u_made_mm);
    for (std::size_t g = 0; g < grids.size(); ++g)
      for (long n = 1; static_cast<double>(n) * grids[g].step_mm < o.size_mm + 1; ++n) {
        const double mm = static_cast<double>(n) * grids[g].step_mm;
        if (std::abs(mm - o.size_mm) > 1.5) continue;
        const long key = std::lround(mm * 1e6);
        likelihood[key] = phi((o.size_mm - mm * kept) / scatter) / scatter;
        if (o.kind == "outside" && !worn.contains(key))
          worn[key] = worn_density(mm * kept - o.size_mm, kRoundWear_ratio * o.size_mm, scatter);
        auto& share = of_habit[key];
        share.resize(habits.size());
        for (std::size_t h = 0; h < habits.size(); ++h) share[h] += habits[h].weight[g] * grids[g].step_mm;
      }
  }
  double term(long key, std::size_t h) const { return likelihood.at(key) * of_habit.at(key)[h]; }
  double sum(std::size_t h) const {
    double total = 0;
    for (const auto& [key, l] : likelihood) total += term(key, h);
    return total;
  }
};

std::vector<Habit> of_system(const std::vector<Habit>& habits, std::size_t system) {
  std::vector<Habit> own;
  for (const Habit& h : habits)
    if (h.system == system) own.push_back(h);
  return own;
}

double probability(const OriginalFeature& f, long key, UnitSystem system) {
  for (const SizeCandidate& c : f.candidates)
    if (c.system == system && std::lround(c.size_mm * 1e6) == key) return c.probability;
  return 0;
}

}  // namespace

TEST_CASE("habits: their mean is the prior, and every designer has one near his own", "[set][habits]") {
  const SizeGrids& grids = builtin_size_grids();
  const auto habits = designer_habits(grids, {0.7, 0.3}, false);
  double chance = 0;
  for (std::size_t system = 0; system < 2; ++system) {
    const auto& of = grids.of(kSystems[system]);
    std::vector<double> mean(of.size(), 0);
    double of_this = 0;
    for (const Habit& h : of_system(habits, system)) {
      double sum = 0;
      for (std::size_t g = 0; g < of.size(); ++g) mean[g] += h.chance * h.weight[g], sum += h.weight[g];
      CHECK(sum == Approx(1).margin(1e-12));
      of_this += h.chance;
    }
    CHECK(of_this == Approx(system == 0 ? 0.7 : 0.3).margin(1e-12));
    chance += of_this;
    for (std::size_t g = 0; g < of.size(); ++g) {
      // One size by itself is told little that the prior does not say.
      CHECK(mean[g] / of_this == Approx(of[g].weight).margin(0.03));
    }
  }
  CHECK(chance == Approx(1).margin(1e-12));
  // Whatever two grids, but the finest, a designer draws on, two to one: his habit is there, with a chance that is told beforehand.
  const double grain = kUrnGrain, six = 6 * kUrnGrain;
  const double of_two = kUrnHabit * 3 * grain * (grain + 1) * grain / (six * (six + 1) * (six + 2));
  for (std::size_t a = 0; a < 6; ++a)
    for (std::size_t b = 0; b < 6; ++b) {
      int found = 0;
      for (const Habit& h : of_system(habits, 0))
        if (a != b &&
            std::abs(h.weight[a] - (2 * (1 - kUrnMix) / 3 + kUrnMix * grids.metric[a].weight)) < 1e-9 &&
            std::abs(h.weight[b] - ((1 - kUrnMix) / 3 + kUrnMix * grids.metric[b].weight)) < 1e-9) {
          ++found;
          CHECK(h.chance == Approx(0.7 * of_two).epsilon(1e-12));
        }
      CHECK(found == (a == b ? 0 : 1));
    }
  // And three of four sizes on one step, whichever, the fourth on another.
  for (std::size_t main = 0; main < 6; ++main)
    for (std::size_t second = 0; second < 6; ++second) {
      const auto inch = of_system(habits, 1);
      const auto is_his = [&](const Habit& h) {
        for (std::size_t g = 0; g < 7; ++g) {
          const double own = (g == main ? 0.75 : 0) + (g == second ? 0.25 : 0);
          if (std::abs(h.weight[g] - (own * (1 - kUrnMix) + kUrnMix * grids.inch[g].weight)) > 1e-9)
            return false;
        }
        return std::abs(h.chance - 0.3 * kMainHabit / 30) < 1e-12;
      };
      CHECK(std::count_if(inch.begin(), inch.end(), is_his) == (main == second ? 0 : 1));
    }
  const auto known = designer_habits(grids, {1, 0}, true);
  REQUIRE(known.size() == 1);
  for (std::size_t g = 0; g < grids.metric.size(); ++g) CHECK(known[0].weight[g] == grids.metric[g].weight);
}

// Every case written out: habit, drawn size, each part of the set, of another drawing, or a stranger with a
// designer of its own.
TEST_CASE("habits: a set by plain sums over the habits", "[set][habits]") {
  const std::vector parts = {
      shrunk_part("a", {drawn_size("outside", "outside", 12.463), drawn_size("width", "width", 7.98)}),
      shrunk_part("b", {drawn_size("outside", "outside", 12.44), drawn_size("pin", "metal", 3.202)})};
  SetOptions options;
  options.same_drawing = {"outside"};
  const auto found = infer_set(parts, options);
  REQUIRE(found);

  const auto habits = designer_habits(options.grids, {0.5, 0.5}, false);
  const double c_other = options.chance_other_drawing, c_stranger = options.chance_stranger;
  const double belongs = 1 - c_other - c_stranger;
  std::array<std::vector<Near>, 2> outside, second;
  std::array<std::vector<Habit>, 2> own;
  double stranger[2] = {0, 0};
  for (std::size_t system = 0; system < 2; ++system) {
    own[system] = of_system(habits, system);
    for (std::size_t p = 0; p < 2; ++p) {
      const auto& grids = options.grids.of(kSystems[system]);
      outside[system].emplace_back(parts[p].sizes[0], grids, own[system]);
      second[system].emplace_back(parts[p].sizes[1], grids, own[system]);
      for (std::size_t h = 0; h < own[system].size(); ++h)
        stranger[p] += own[system][h].chance * outside[system][p].sum(h) * second[system][p].sum(h);
    }
  }
  const double worn = options.chance_worn;
  double total = 0, metric = 0, other_b = 0, stranger_b = 0, worn_b = 0;
  std::map<std::pair<std::size_t, long>, double> pin;
  for (std::size_t system = 0; system < 2; ++system)
    for (std::size_t h = 0; h < own[system].size(); ++h) {
      const Near &a = outside[system][0], &b = outside[system][1];
      const double wa = second[system][0].sum(h), wb = second[system][1].sum(h),
                   chance = own[system][h].chance;
      const double odd_a = c_other * a.sum(h) * wa + c_stranger * stranger[0];
      const double own_b = c_other * b.sum(h) * wb, strange_b = c_stranger * stranger[1];
      double with_b = chance * odd_a * own_b, without_b = chance * odd_a * strange_b, belonging_b = 0;
      for (const auto& [key, share] : a.of_habit) {
        const double in_a = belongs * ((1 - worn) * a.likelihood.at(key) + worn * a.worn.at(key)) * wa;
        const double in_b = b.likelihood.contains(key)
                                ? belongs * ((1 - worn) * b.likelihood.at(key) + worn * b.worn.at(key)) * wb
                                : 0;
        if (b.worn.contains(key))
          worn_b += chance * share[h] * (in_a + odd_a) * belongs * worn * b.worn.at(key) * wb;
        belonging_b += chance * share[h] * (in_a + odd_a) * in_b;
        with_b += chance * share[h] * in_a * own_b;
        without_b += chance * share[h] * in_a * strange_b;
      }
      const double sum = with_b + without_b + belonging_b;
      total += sum;
      if (system == 0) metric += sum;
      other_b += with_b;
      stranger_b += without_b;
      for (const auto& [key, l] : second[system][1].likelihood)
        pin[{system, key}] += (with_b + belonging_b) * second[system][1].term(key, h) / wb;
    }
  // The pin of a stranger tells of its own designer.
  for (std::size_t system = 0; system < 2; ++system)
    for (std::size_t h = 0; h < own[system].size(); ++h)
      for (const auto& [key, l] : second[system][1].likelihood)
        pin[{system, key}] += stranger_b * own[system][h].chance * outside[system][1].sum(h) *
                              second[system][1].term(key, h) / stranger[1];
  CHECK(found->log_evidence == Approx(std::log(total)).margin(1e-6));
  CHECK(found->p_metric == Approx(metric / total).margin(kPosteriorAccuracy));
  CHECK(found->parts[1].p_other_drawing == Approx(other_b / total).margin(kPosteriorAccuracy));
  CHECK(found->parts[1].p_stranger == Approx(stranger_b / total).margin(kPosteriorAccuracy));
  CHECK(found->parts[1].p_worn == Approx(worn_b / total).margin(kPosteriorAccuracy));
  int compared = 0;
  for (const auto& [key, mass] : pin)
    if (mass / total > 1e-5) {
      CHECK(probability(found->parts[1].original.features[1], key.second, kSystems[key.first]) ==
            Approx(mass / total).margin(kPosteriorAccuracy));
      ++compared;
    }
  CHECK(compared > 10);
}

// A pin of 3.2 mm, between 3.15 and 3.25 as read: quarter millimetres elsewhere in the machine speak for 3.25.
TEST_CASE("habits: sizes of one part tell of the next part's", "[set][habits]") {
  std::vector<SetPart> quarters, tenths;
  for (int i = 0; i < 5; ++i) {
    const std::string name = "p" + std::to_string(i);
    const double quarter = 4.25 + 0.5 * i, tenth = 4.2 + 0.5 * i;
    quarters.push_back(shrunk_part(name, {drawn_size("pin", "metal", quarter)}));
    tenths.push_back(shrunk_part(name, {drawn_size("pin", "metal", tenth)}));
  }
  const SetPart asked = shrunk_part("asked", {drawn_size("pin", "metal", 3.225)});
  quarters.push_back(asked);
  tenths.push_back(asked);
  const auto with_quarters = infer_set(quarters), with_tenths = infer_set(tenths);
  REQUIRE(with_quarters);
  REQUIRE(with_tenths);
  const auto p = [](const SetResult& r, long key) {
    return probability(r.parts.back().original.features[0], key, UnitSystem::kMetric);
  };
  CHECK(p(*with_quarters, 3250000) > 0.8);
  const auto alone = infer_original(asked.sizes, asked.options);
  REQUIRE(alone);
  CHECK(p(*with_tenths, 3200000) > probability(alone->features[0], 3200000, UnitSystem::kMetric) + 0.2);
  CHECK(p(*with_quarters, 3200000) < 0.2);
  double share = 0;
  for (const GridUse& g : with_quarters->habits)
    if (g.grid == "0.25 mm") share = g.share;
  CHECK(share > 0.3);
}

// Metal parts, so that nothing shrinks: sizes between the steps of every grid but the finest, and sizes on half millimetres that
// are read less well than the steps of the finest grid, one between two of its members.
TEST_CASE("habits: where no steps fit better than any, what only steps decide is undecided",
          "[set][habits]") {
  const auto machine = [](const std::vector<double>& pins_mm, double asked_mm) {
    std::vector<SetPart> parts;
    for (const double mm : pins_mm)
      parts.push_back(
          shrunk_part("p" + std::to_string(parts.size()), {{"pin", "metal", mm, 0.001, 0.001, {}, 0}}));
    parts.push_back(shrunk_part("asked", {{"pin", "metal", asked_mm, 0.012, 0.001, {}, 0}}));
    return parts;
  };
  const auto warned = [](const SetResult& r) {
    return std::count_if(r.warnings.begin(), r.warnings.end(),
                         [](const Warning& w) { return w.code == WarningCode::kSizeUndecided; });
  };
  const auto on_steps = infer_set(machine({3, 4.5, 6, 8.5}, 5.004));
  REQUIRE(on_steps);
  CHECK(warned(*on_steps) == 0);
  CHECK_FALSE(on_steps->parts.back().original.features[0].undecided);
  CHECK(on_steps->parts.back().original.features[0].candidates.front().label == "5 mm");

  const auto on_none = infer_set(machine({3.01, 4.57, 6.13, 8.49}, 5.004));
  REQUIRE(on_none);
  CHECK(warned(*on_none) == 1);
  CHECK(on_none->parts.back().original.features[0].undecided);
  // What is read to better than any two sizes are apart stays decided.
  for (std::size_t p = 0; p < 4; ++p) CHECK_FALSE(on_none->parts[p].original.features[0].undecided);

  SetOptions known;
  known.habits_known = true;  // then the grids are this designer's, and nothing is asked about others
  const auto told = infer_set(machine({3.01, 4.57, 6.13, 8.49}, 5.004), known);
  REQUIRE(told);
  CHECK(warned(*told) == 0);
}
