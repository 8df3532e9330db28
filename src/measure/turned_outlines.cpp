// Harmonics of turned outlines divided into the part's and the picture's, and the angles from marks.
#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <numeric>

#include "rondure/core/dense_solve.hpp"
#include "rondure/measure/measure_turned.hpp"

namespace rondure {
namespace {

using Complex = std::complex<double>;
constexpr int kBins = 360;       // a degree each; the best one is then placed between its neighbours
constexpr double kAlike = 0.95;  // of 1: |mean of exp(i n t)| above which part and picture are one
constexpr double kLeastMatch = 0.6, kSecondMatch = 0.8;  // correlation; of the best: by judgement
constexpr int kApart_deg = 12;                           // a second match is another one from here

// z_0 (mean) ... z_N of the points that carry the fits; z_1 takes what is left of the middle.
std::vector<Complex> harmonics_of(const std::vector<ProfilePoint>& profile, int highest) {
  const int unknowns = 2 * highest + 1;
  Eigen::MatrixXd n = Eigen::MatrixXd::Zero(unknowns, unknowns);
  Eigen::VectorXd r = Eigen::VectorXd::Zero(unknowns), row(unknowns);
  for (const ProfilePoint& p : profile) {
    if (!p.used) continue;
    row[0] = 1;
    for (int k = 1; k <= highest; ++k)
      row[2 * k - 1] = std::cos(k * rad(p.angle_deg)), row[2 * k] = std::sin(k * rad(p.angle_deg));
    n += row * row.transpose(), r += p.deviation_mm * row;
  }
  n.diagonal().array() += 1e-9 * std::max(1.0, n.diagonal().maxCoeff());
  const Eigen::VectorXd x = SymmetricSolver(n).solve(r);
  std::vector<Complex> z{{x[0], 0}};
  for (int k = 1; k <= highest; ++k) z.emplace_back(x[2 * k - 1], x[2 * k]);
  return z;
}

double at(const std::vector<Complex>& z, double angle_rad, int from) {
  double sum = 0;
  for (std::size_t k = static_cast<std::size_t>(from); k < z.size(); ++k)
    sum += z[k].real() * std::cos(static_cast<double>(k) * angle_rad) +
           z[k].imag() * std::sin(static_cast<double>(k) * angle_rad);
  return sum;
}

double crest_deg(const Complex& z, int upr) {
  const double phase = deg(std::arg(z)) / upr, whole = 360.0 / upr;
  return std::fmod(phase + whole, whole);
}

// The outline in steps of a degree without its lowest orders; gaps are 0.
std::array<double, kBins> marks_of(const TurnedOutline& outline) {
  const std::vector<Complex> low = harmonics_of(outline.profile, 2);
  std::array<double, kBins> sum{}, count{};
  for (const ProfilePoint& p : outline.profile) {
    const auto bin =
        static_cast<std::size_t>(static_cast<int>(std::floor(p.angle_deg)) % kBins + kBins) % kBins;
    sum[bin] += p.deviation_mm - at(low, rad(p.angle_deg), 0), count[bin] += 1;
  }
  for (std::size_t b = 0; b < kBins; ++b) sum[b] = count[b] > 0 ? sum[b] / count[b] : 0;
  return sum;
}

}  // namespace

Result<std::vector<double>> turned_angles(const std::vector<TurnedOutline>& outlines) {
  std::vector<double> angles{0};
  if (outlines.empty()) return angles;
  const auto first = marks_of(outlines.front());
  for (std::size_t k = 1; k < outlines.size(); ++k) {
    const auto other = marks_of(outlines[k]);
    const double norm = std::sqrt(std::inner_product(first.begin(), first.end(), first.begin(), 0.0) *
                                  std::inner_product(other.begin(), other.end(), other.begin(), 0.0));
    std::array<double, kBins> match{};
    for (int shift = 0; shift < kBins; ++shift)
      for (int b = 0; b < kBins; ++b)
        match[shift] += first[b] * other[(b + shift) % kBins] / std::max(norm, 1e-30);
    const int best = static_cast<int>(std::max_element(match.begin(), match.end()) - match.begin());
    double second = 0;
    for (int shift = 0; shift < kBins; ++shift) {
      const int apart = std::abs((shift - best + 540) % 360 - 180);
      if (apart > kApart_deg) second = std::max(second, match[shift]);
    }
    if (match[best] < kLeastMatch || second > kSecondMatch * match[best])
      return Error{ErrorCode::kNoAnswer,
                   "found no mark on the part that tells how far it was turned in picture " +
                       std::to_string(k + 1) + "; needed the angles, such as --turned 0,72,144"};
    const double before = match[(best + kBins - 1) % kBins], after = match[(best + 1) % kBins],
                 bend = before - 2 * match[best] + after;
    angles.push_back(best + (bend < 0 ? std::clamp(0.5 * (before - after) / bend, -0.5, 0.5) : 0));
  }
  return angles;
}

Result<TurnedOutlines> divide_turned(const std::vector<TurnedOutline>& outlines,
                                     const std::vector<double>& angles_deg) {
  const std::size_t count = outlines.size();
  if (count < 3)
    return Error{ErrorCode::kBadArgument, "--turned: found " + std::to_string(count) +
                                              " pictures, needed three or more of the part turned"};
  if (angles_deg.size() != count)
    return Error{ErrorCode::kBadArgument, "--turned: found " + std::to_string(angles_deg.size()) +
                                              " angles for " + std::to_string(count) +
                                              " pictures, needed one each"};
  TurnedOutlines out;
  std::vector<std::vector<Complex>> seen;
  for (const TurnedOutline& o : outlines) {
    seen.push_back(harmonics_of(o.profile, kHighestTurnedUpr));
    out.radius_mm += (o.radius_mm + seen.back()[0].real()) / static_cast<double>(count);
  }
  std::vector<Complex> part(kHighestTurnedUpr + 1), picture(kHighestTurnedUpr + 1);
  double left = 0, freedom = 0;
  std::array<double, kHighestTurnedUpr + 1> information{};
  for (int n = 2; n <= kHighestTurnedUpr; ++n) {
    Complex sum = 0, turned_back = 0, alike = 0;
    for (std::size_t k = 0; k < count; ++k) {
      const Complex turn = std::polar(1.0, n * rad(angles_deg[k]));
      sum += seen[k][n], turned_back += seen[k][n] * std::conj(turn), alike += turn;
    }
    const double pictures = static_cast<double>(count);
    TurnedHarmonic h;
    h.upr = n;
    h.divided = std::abs(alike) < kAlike * pictures;
    if (!h.divided && n == 2)
      return Error{
          ErrorCode::kBadArgument,
          "--turned: the angles are alike for an oval (half turns); needed such as 0,72,144,216,288"};
    if (h.divided) {
      const double determinant = pictures * pictures - std::norm(alike);
      part[n] = (pictures * turned_back - std::conj(alike) * sum) / determinant;
      picture[n] = (pictures * sum - alike * turned_back) / determinant;
      information[n] = determinant / pictures;
      for (std::size_t k = 0; k < count; ++k)
        left += std::norm(seen[k][n] - part[n] * std::polar(1.0, n * rad(angles_deg[k])) - picture[n]);
      freedom += 2 * pictures - 4;
    }
    h.part_mm = std::abs(part[n]), h.part_phase_deg = crest_deg(part[n], n);
    h.picture_mm = std::abs(picture[n]), h.picture_phase_deg = crest_deg(picture[n], n);
    out.harmonics.push_back(h);
  }
  const double sigma = std::sqrt(left / std::max(1.0, freedom));
  for (TurnedHarmonic& h : out.harmonics)
    if (h.divided) h.u_part_mm = h.u_picture_mm = sigma / std::sqrt(information[h.upr]);
  // All pictures turned back, what stays taken off.
  std::array<double, kBins> sum{}, times{};
  for (std::size_t k = 0; k < count; ++k) {
    const std::vector<Complex> middle{seen[k][0], seen[k][1]};
    for (const ProfilePoint& p : outlines[k].profile) {
      const double a = rad(p.angle_deg);
      const double deviation = p.deviation_mm - seen[k][0].real() - at(middle, a, 1) - at(picture, a, 2);
      const double back = wrap_direction_rad(a - rad(angles_deg[k]));
      const auto bin =
          static_cast<std::size_t>(std::min(kBins - 1, static_cast<int>(back / (2 * kPi) * kBins)));
      sum[bin] += deviation, times[bin] += 1;
    }
  }
  for (int b = 0; b < kBins; ++b) {
    if (times[b] == 0) continue;
    const double a = rad(b + 0.5), r = out.radius_mm + sum[b] / times[b];
    out.points.push_back({{r * std::cos(a), r * std::sin(a)}, 0, 0});
  }
  return out;
}

}  // namespace rondure
