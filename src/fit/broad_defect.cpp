#include "broad_defect.hpp"

#include <algorithm>
#include <cmath>
#include <complex>
#include <limits>
#include <numeric>

namespace rondure {
namespace {

using Spectrum = std::vector<std::complex<double>>;

// Places of the even grid: half a degree, six to a wave of the last order used. Then orders (broad_defect.hpp): those of a
// defect, neighbours whose power is pooled on either side, last one of the noise. All by judgement;
// tests/fit/test_broad_defect.cpp (texture alone, and dips in it) and study_photo_form check what comes of them.
constexpr int kGrid = 720, kFirst = 3, kLast = 40, kPooled = 2, kNoiseLast = 120;
// How many at least, and the widest gap between two: three to four points on the narrowest width below.
constexpr std::size_t kLeastPoints = 120;
const double kLargestGap_rad = rad(4.0);
constexpr double kWidths_deg[] = {12, 15, 18, 22, 27, 33, 41, 50, 60, 75, 100};
// A wide one is told by five to eight orders alone, whose phases agree by chance more often (a texture falling as 1/k: 2 to 7 %
// of parts without it, 0.3 to 3 % with it; of flats of 75 degrees, 0.06 mm, it costs 0 to 7 %).
const double kWide_rad = rad(55.0);
// Taken off G (nats) for such a width.
constexpr double kWideGain = 2.5;
// Places all round, every 2 degrees: a sixth of the narrowest width. Best of them that are looked at again, and rounds in
// which height and power settle there: limits of time, by judgement (2 ms an outline).
constexpr int kPlaces = 180, kTried = 3, kPasses = 6;

// Deviations on an even grid, from neighbours.
std::vector<double> even_grid(const Profile& p) {
  const int n = p.size();
  const double step = 2 * kPi / kGrid;
  std::vector<double> y(kGrid);
  int right = 0;  // first point beyond the place, counted on over the end
  const auto angle = [&](int i) { return p.angle_rad[i % n] + 2 * kPi * (i / n); };
  for (int k = 0; k < kGrid; ++k) {
    const double at = p.angle_rad[0] + k * step;
    while (angle(right) <= at) ++right;
    const double from = angle(right - 1), share = (at - from) / (angle(right) - from);
    y[static_cast<std::size_t>(k)] =
        (1 - share) * p.deviation_mm[(right - 1) % n] + share * p.deviation_mm[right % n];
  }
  return y;
}

std::complex<double> harmonic(const std::vector<double>& y, int order) {
  const std::complex<double> turn = std::polar(1.0, -2 * kPi * order / kGrid);
  std::complex<double> at = 1, sum = 0;
  for (const double v : y) sum += v * at, at *= turn;
  return sum * (2.0 / kGrid);
}

// Of a bump of height 1 at angle 0: real.
std::vector<double> bump_harmonics(double width_rad, int count) {
  const double half = width_rad / 2;
  std::vector<double> b;
  for (int k = kFirst; k < kFirst + count; ++k) {
    const double x = k * half;  // (1/pi) times the integral of (1 + cos(pi t / half)) / 2 cos(k t)
    const double rest = 1 - x * x / (kPi * kPi);
    b.push_back(std::abs(rest) < 1e-9 ? half / (2 * kPi) : std::sin(x) / (k * kPi) / rest);
  }
  return b;
}

// Power of each order with its neighbours.
std::vector<double> own_power(const Spectrum& c, double noise) {
  const int n = static_cast<int>(c.size());
  std::vector<double> p(c.size());
  for (int k = 0; k < n; ++k) {
    const int from = std::max(0, k - kPooled), to = std::min(n - 1, k + kPooled);
    double sum = 0;
    for (int j = from; j <= to; ++j) sum += std::norm(c[static_cast<std::size_t>(j)]);
    p[static_cast<std::size_t>(k)] = sum / (to - from + 1) + noise;
  }
  return p;
}

class Search {
public:
  Search(Spectrum c, double noise) : c_(std::move(c)), noise_(noise), power_(own_power(c_, noise_)) {}

  // The best of one width: places by the power as it stands, the best of them with the power that the bump leaves.
  void look(double width_rad, BroadDefect& best) const {
    const auto b = bump_harmonics(width_rad, static_cast<int>(c_.size()));
    double weight = 0;
    for (std::size_t k = 0; k < b.size(); ++k) weight += b[k] * b[k] / power_[k];
    std::vector<double> match(kPlaces);
    for (int i = 0; i < kPlaces; ++i) match[static_cast<std::size_t>(i)] = matched(b, place(i), power_);
    std::vector<int> order(kPlaces);
    std::iota(order.begin(), order.end(), 0);
    std::partial_sort(order.begin(), order.begin() + kTried, order.end(), [&](int i, int j) {
      return std::abs(match[static_cast<std::size_t>(i)]) > std::abs(match[static_cast<std::size_t>(j)]);
    });
    for (int tried = 0; tried < kTried; ++tried) {
      const int i = order[static_cast<std::size_t>(tried)];
      double height = match[static_cast<std::size_t>(i)] / weight;
      for (int pass = 0; pass < kPasses; ++pass) {
        const auto power = own_power(without(b, place(i), height), noise_);
        double w = 0;
        for (std::size_t k = 0; k < b.size(); ++k) w += b[k] * b[k] / power[k];
        height = matched(b, place(i), power) / w;
      }
      const auto power = own_power(without(b, place(i), height), noise_);
      double gain = 0;
      for (std::size_t k = 0; k < b.size(); ++k) gain += std::log(power_[k] / power[k]);
      if (width_rad > kWide_rad) gain -= kWideGain;
      if (gain > best.gain) best = {place(i), width_rad, height, gain};
    }
  }

private:
  static double place(int i) { return 2 * kPi * i / kPlaces; }
  double matched(const std::vector<double>& b, double at_rad, const std::vector<double>& power) const {
    const std::complex<double> turn = std::polar(1.0, at_rad);
    std::complex<double> t = std::pow(turn, kFirst);
    double sum = 0;
    for (std::size_t k = 0; k < b.size(); ++k, t *= turn) sum += (c_[k] * t).real() * b[k] / power[k];
    return sum;
  }
  Spectrum without(const std::vector<double>& b, double at_rad, double height) const {
    Spectrum rest = c_;
    const std::complex<double> turn = std::polar(1.0, -at_rad);
    std::complex<double> t = std::pow(turn, kFirst);
    for (std::size_t k = 0; k < b.size(); ++k, t *= turn) rest[k] -= height * b[k] * t;
    return rest;
  }

  Spectrum c_;
  double noise_;
  std::vector<double> power_;
};

bool dense(const Profile& p) {
  if (!p.closed || p.index.size() < kLeastPoints) return false;
  double gap = p.angle_rad[0] + 2 * kPi - p.angle_rad[p.size() - 1];
  for (int i = 1; i < p.size(); ++i) gap = std::max(gap, p.angle_rad[i] - p.angle_rad[i - 1]);
  return gap <= kLargestGap_rad;
}

// The shortest outline through the points that are kept as they stand.
void describe_kept(const Profile& p, Description& d) {
  Description best;
  best.length = std::numeric_limits<double>::infinity();
  for (const int columns : p.models) {
    d.columns = columns;
    if (!refit(p, d)) continue;
    d.length = description_length(p, d);
    if (d.length < best.length) best = d;
  }
  d = std::move(best);
}

// One way from the middle of a defect, or from the end of what was found of it before, the points inside `limit_rad` that
// lie on its side go out with it. A sharp end (half of the greatest height or more) stays where it is.
void widen(const Profile& p, const Description& before, const Description& about, const BroadDefect& defect,
           int step, double limit_rad, std::vector<char>& kept) {
  const int n = p.size();
  const auto height = [&](int i) { return about.residual[i] * (defect.height_mm > 0 ? 1 : -1); };
  const auto ahead_rad = [&](int i) {
    return step * std::remainder(p.angle_rad[i] - defect.at_rad, 2 * kPi);
  };
  int end = -1, middle = 0;
  double highest = 0;
  for (int i = 0; i < n; ++i) {
    if (std::abs(ahead_rad(i)) < std::abs(ahead_rad(middle))) middle = i;
    if (before.kept[static_cast<std::size_t>(i)]) continue;
    highest = std::max(highest, height(i));
    if (end < 0 || ahead_rad(i) > ahead_rad(end)) end = i;
  }
  if (end >= 0 && height(end) >= 0.5 * highest) return;
  int i = end < 0 ? middle : (end + step + n) % n;
  for (int k = 0; k < n && std::abs(ahead_rad(i)) < limit_rad && height(i) > 0; ++k, i = (i + step + n) % n)
    kept[static_cast<std::size_t>(i)] = 0;
}

}  // namespace

std::optional<BroadDefect> broad_defect(const Profile& p) {
  if (!dense(p)) return std::nullopt;
  const int last = std::min(kLast, p.size() / 6), noise_last = std::min(kNoiseLast, p.size() / 3);
  const std::vector<double> y = even_grid(p);
  Spectrum c;
  for (int k = kFirst; k <= last; ++k) c.push_back(harmonic(y, k));
  double noise = 0;
  for (int k = last + 1; k <= noise_last; ++k) noise += std::norm(harmonic(y, k)) / (noise_last - last);
  const Search search(std::move(c), std::max(noise, p.least_sigma_mm * p.least_sigma_mm / p.size()));
  BroadDefect best;
  for (const double width : kWidths_deg) search.look(rad(width), best);
  if (best.gain <= kBroadDefectGain) return std::nullopt;
  best.at_rad += p.angle_rad[0];
  return best;
}

void leave_out_broad_defect(const Profile& p, Description& d) {
  constexpr double kShareOfWidth = 0.8;  // where a smooth one is a tenth of its height
  const auto defect = broad_defect(p);
  if (!defect) return;
  const double limit_rad = kShareOfWidth * defect->width_rad / 2;
  Description without = d;
  for (int i = 0; i < p.size(); ++i) {
    const double off = std::abs(std::remainder(p.angle_rad[i] - defect->at_rad, 2 * kPi));
    if (!d.kept[static_cast<std::size_t>(i)] && off >= limit_rad) return;
    without.kept[static_cast<std::size_t>(i)] = off >= limit_rad;
  }
  describe_kept(p, without);
  if (without.columns == 0) return;
  std::vector<char> kept = d.kept;
  for (const int step : {-1, 1}) widen(p, d, without, *defect, step, limit_rad, kept);
  without.kept = std::move(kept);
  describe_kept(p, without);
  if (without.columns > 0) d = std::move(without);
}

}  // namespace rondure
