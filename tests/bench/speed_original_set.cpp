// Processor and clock time of a set of 30 parts of 5 features, beside that of the same parts asked one by one in the same run.
// Usage: speed_original_set [PARTS]: sets of so many parts alone
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <optional>
#include <random>
#include <thread>

#include "rondure/interpret/original_set.hpp"

using namespace rondure;

namespace {

constexpr int kTimes = 5;

double seconds() { return static_cast<double>(std::clock()) / CLOCKS_PER_SEC; }
double wall_seconds() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

std::vector<SetPart> parts_of(int count, bool making_told) {
  std::mt19937_64 random(7);
  std::normal_distribution<> normal;
  std::vector<SetPart> parts;
  for (int p = 0; p < count; ++p) {
    const double s = 0.003 + 0.001 * normal(random);
    SetPart part{"p" + std::to_string(p), {}, {}, {}};
    const auto add = [&](const char* name, FeatureKind kind, double mm) {
      const double kept = kind == FeatureKind::kMetal ? 1 : 1 - s;
      SizeObservation o{name, kind, mm * kept + 0.03 * normal(random), 0.01, {}, {}, 0};
      if (making_told) o.u_made_mm = 0.03;
      part.sizes.push_back(o);
    };
    add("outside", "outside", 12.5);
    add("width", "width", 8 + 0.5 * (p % 7));
    add("hub", "outside", 6 + 0.5 * (p % 5));
    add("bore", "bore", 4 + 0.1 * (p % 9));
    add("pin", "metal", 3);
    part.options.material = "POM-C";
    parts.push_back(std::move(part));
  }
  return parts;
}

void row(int count, bool shared, bool making_told) {
  const auto parts = parts_of(count, making_told);
  SetOptions options;
  if (shared) options.same_drawing = {"outside"};
  double together = INFINITY, wall = INFINITY;
  std::optional<Result<SetResult>> set;
  for (int i = 0; i < kTimes; ++i) {
    const double start = seconds(), wall_start = wall_seconds();
    set.emplace(infer_set(parts, options));
    together = std::min(together, seconds() - start);
    wall = std::min(wall, wall_seconds() - wall_start);
  }
  double alone = seconds();
  for (const SetPart& p : parts)
    if (!infer_original(p.sizes, p.options)) return;
  alone = seconds() - alone;
  if (*set)
    std::printf(
        "%2d parts of 5 features, %-22s %-28s together %.3f s, by the clock %.3f s   one by one %.3f s\n",
        count, shared ? "one of them shared," : "none shared,",
        making_told ? "making told" : "making of the material", together, wall, alone);
}

}  // namespace

int main(int argc, char** argv) {
  std::printf(
      "Processor time of sets (tests/bench/speed_original_set.cpp), habits of the designer learned; least of "
      "%d, on %u "
      "cores.\n",
      kTimes, std::thread::hardware_concurrency());
  double load[1] = {0};
  if (getloadavg(load, 1) == 1)
    std::printf(
        "Load of the machine before: %.1f. Where that is above 0 others work on it too and the clock says "
        "more; on a quiet\nmachine it says at most the processor time, and less with more cores.\n",
        load[0]);
  for (const int count : argc > 1 ? std::vector{std::atoi(argv[1])} : std::vector{6, 12, 30})
    for (const bool shared : {false, true})
      for (const bool told : {false, true}) row(count, shared, told);
}
