#include "photo/tone/tone_evidence.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>

#include "photo/tone/paper_spread.hpp"
#include "photo/tone/seen_edge.hpp"

namespace rondure {
namespace {

// Where the numbers come from:
//   [common]  common practice, no source
//   [judged]  judgement
//   [drawn]   read off pictures drawn with known curves; the reading itself was not kept as a study
// What all of them give together is checked by tests/bench/study_photo_tone (error against the uncertainty
// given, curve by curve, one of no family here) and tests/bench/study_photo_scenes; figures in tests/data/studies.

// Prior of the curve's numbers (tone_curve.hpp: g shift of the gamma's logarithm, a bend, w shoulder as ln(1 + w)).
constexpr double kGammaSpread = 0.15;      // sd of g: gamma 1.8 to 2.6 about sRGB's 2.2 [common]
constexpr double kSrgbGammaSpread = 0.01;  // sd of g of a bent sRGB: sRGB all but for the bend [judged]
constexpr double kBendSpread = 0.35;       // sd of a: S-curves as cameras and editors have them [common]
constexpr double kShoulderMiddle = 0.7;    // mean of ln(1 + w): white comes on at half the slope [common]
constexpr double kShoulderSpread = 0.5;    // sd of ln(1 + w) [judged]
// Where a search may go, so far out that the prior has nothing left there.
constexpr double kLeastGamma = -0.6, kMostGamma = 0.9;  // g
constexpr double kLeastBend = -0.8, kMostBend = 1.5;    // a
constexpr double kMostShoulder = 2.5;                   // ln(1 + w); the least is 0, no shoulder

// Prior chance of each family, summing to 1 [judged]: most pictures of phones and cameras are sRGB or near it.
constexpr double kSrgbWeight = 0.35, kGammaWeight = 0.25, kBentWeight = 0.1, kBentSrgbWeight = 0.1,
                 kShoulderWeight = 0.2;
constexpr double kSameBlurWeight =
    0.7;  // prior chance that the part's edge is as sharp as the board's [judged]

// Blur, relative: part's over board's.
constexpr double kOwnBlurSpread =
    0.2;  // sd when the part's edge has a sharpness of its own (rounded rim) [judged]
constexpr double kBlurMatch = 0.006;  // sd between edges of one sharpness, besides noise [drawn]

// JPEG's loss of detail, from the mean of its quantisation steps, grey levels (quality 70 to 95, and PNG) [drawn].
constexpr double kHarmlessSteps = 5;     // up to so much nothing is lost: quality 95 is as good as PNG
constexpr double kLossPerStep = 0.0016;  // loss a grey level beyond
constexpr double kSofter =
    0.6;  // blur a part's edge gains over the board's, of more contrast, a unit of loss
constexpr double kSofterSpread = 0.8;     // its sd
constexpr double kJpegSkew = 0.12;        // skewness the board's edges get, a unit of loss
constexpr double kJpegSkewSpread = 0.12;  // its sd

// Growth of the black squares.
constexpr Estimate kUnknownInk_mm{
    0.008, 0.02};  // where the ink's spread is not known: it grows, by hundredths [common]
constexpr double kGrowthModel_px = 0.003;  // sd of what the model of an edge leaves of it [drawn]

// Skewness of the board's edges (coefficient of He2 phi). The paper's own is in paper_spread.hpp.
constexpr double kSkewModel = 0.001;    // sd left with the right curve [drawn]
constexpr double kSkewOutside = 0.003;  // sd for curves near the families, not of them [judged]
constexpr double kSkewOfPeak =
    0.7;  // share of an overshoot that comes as skewness; between none and all [judged]
constexpr double kSkewOfPeakSpread = 0.4;  // its sd

// Overshoot of the board's edges beyond the curve's own (coefficient of He3 phi).
constexpr double kOvershootSpread = 0.03;  // sd upwards: sharpening, JPEG, defocus make much of it [drawn]
constexpr double kUndershoot =
    0.003;  // sd downwards: a lens's wide skirts make little less than none [drawn]

// Uncertainty of the edge's place besides the spread of the hypotheses.
constexpr double kGammaShare = 0.1,
                 kBentShare = 0.2;  // of the shift from sRGB: curves outside the family [judged]
constexpr double kSharpened =
    0.7;  // of the overshoot, in blurs: what sharpening leaves on other contrasts [drawn]
constexpr double kLeast_px = 0.002;      // what placing leaves with the right curve [drawn]
constexpr double kLeastJpeg_px = 0.004;  // the same in a JPEG [drawn]
constexpr double kPartShare = 0.7;       // of what the ink's uncertainty may hide of the tone [judged]

constexpr double kNear = 0.05;  // of two curves' numbers

using Theta = Eigen::Vector3d;  // g, a and ln(1 + w)
using Numbers = Eigen::Vector2d;
using Misses = Eigen::Vector4d;

// Curves with g free, and one more number (or none).
struct Family {
  int numbers = 1, second = 1;                         // how many; which of Theta besides g
  double middle = 0, spread = 1, least = 0, most = 0;  // of the second
  double gamma_spread = kGammaSpread;
};
constexpr Family kGammas{1, 1};
constexpr Family kBent{2, 1, 0, kBendSpread, kLeastBend, kMostBend};
constexpr Family kBentSrgb{2, 1, 0, kBendSpread, kLeastBend, kMostBend, kSrgbGammaSpread};
constexpr Family kShoulders{2, 2, kShoulderMiddle, kShoulderSpread, 0, kMostShoulder};

struct Observed {
  double growth_px = 0;  // that the ink does not explain
  double skew = 0, u_skew = 1;
  double overshoot = 0;
  double blur_excess = 0;  // part's over board's, relative
  double part_moved_px = 0;
};

// Standard deviations of a normal law in two pieces: the part's edge softer than the board's, or sharper,
// which it may well be beside light that spreads in the board's paper.
struct BlurSpread {
  double softer = kOwnBlurSpread, sharper = kOwnBlurSpread;
  double of(const Observed& o) const { return o.blur_excess > 0 ? softer : sharper; }
  double mean() const { return (softer + sharper) / 2; }
};

class Weighing {
public:
  Weighing(const ToneCurve& assumed, const BoardEdges& board, const PartEdge& part, double jpeg_step)
      : assumed_(assumed),
        assumed_table_(assumed),
        board_(board),
        part_(part),
        part_anew_(part.curve, part.look) {
    const Estimate ink = board.ink_mm.value_or(kUnknownInk_mm);
    ink_px_ = ink.value * board.px_per_mm;
    u_growth_px_ = std::hypot(board.u_growth_px, ink.u * board.px_per_mm, kGrowthModel_px);
    jpeg_loss_ = kLossPerStep * std::max(0.0, jpeg_step - kHarmlessSteps);
    const double paper = kPaperSpread_mm * board.px_per_mm / board.blur_px;  // in blurs
    u_blur_.softer = std::hypot(kBlurMatch, part.u_blur_px / part.look.blur_px, kSofterSpread * jpeg_loss_);
    u_blur_.sharper = std::hypot(u_blur_.softer, kPaperBlur * paper * paper);
    u_skew_ = std::hypot(std::hypot(kSkewModel, kJpegSkewSpread * jpeg_loss_),
                         kPaperSkew * std::pow(paper, 3), std::min(board.u_skew, 1.0));
    u_undershoot_ = std::hypot(kUndershoot, kPaperPeak * std::pow(paper, 4));
    least_px_ = jpeg_step > 0 ? kLeastJpeg_px : kLeast_px;
  }

  ToneFinding run() {
    for (const bool same_blur : {true, false}) {
      if (same_blur && part_.raised) continue;
      const double prior = part_.raised ? 1 : same_blur ? kSameBlurWeight : 1 - kSameBlurWeight;
      add_srgb(same_blur, std::log(prior * kSrgbWeight));
      add_family(kGammas, same_blur, std::log(prior * kGammaWeight));
      add_family(kBent, same_blur, std::log(prior * kBentWeight));
      add_family(kBentSrgb, same_blur, std::log(prior * kBentSrgbWeight));
      add_family(kShoulders, same_blur, std::log(prior * kShoulderWeight));
    }
    const auto best =
        std::max_element(terms_.begin(), terms_.begin() + count_,
                         [](const Term& a, const Term& b) { return a.log_weight < b.log_weight; });
    double weights = 0, beyond = 0, square = 0;
    for (int i = 0; i < count_; ++i) {
      const Term& t = terms_[static_cast<std::size_t>(i)];
      const double w = std::exp(t.log_weight - best->log_weight), apart = t.moved_px - best->moved_px;
      weights += w, beyond += w * apart, square += w * (t.variance_px2 + apart * apart);
    }
    beyond /= weights;
    const double variance = square / weights - beyond * beyond;
    const double from_srgb_px = best->moved_px - observe(Theta::Zero()).part_moved_px;
    const double outside_px = (best->theta.tail<2>().isZero() ? kGammaShare : kBentShare) * from_srgb_px;
    return {curve(best->theta), best->moved_px, beyond,
            std::hypot(std::sqrt(variance), std::hypot(outside_px, sharpened_px()), least_px_)};
  }

private:
  struct Term {
    Theta theta = Theta::Zero();
    double log_weight = 0, moved_px = 0, variance_px2 = 0;
  };

  static ToneCurve curve(const Theta& theta) { return {false, theta.x(), theta.y(), std::expm1(theta.z())}; }

  Observed observe(const Theta& theta) {
    const ToneCurve to = curve(theta);
    // Steps of a search are small: what the last curve gave is near.
    const bool near = (theta - last_.theta).norm() < kNear;
    const SeenEdge on_board =
        seen_edge(to, assumed_, assumed_table_, {board_.dark_light, board_.bright_light, board_.blur_px},
                  near ? &last_.on_board : nullptr);
    const ToneShift on_part = part_anew_.with(to, near ? &last_.on_part : nullptr);
    last_ = {theta, on_board, on_part};
    const double overshoot = board_.peak - on_board.peak;
    return {board_.growth_px - on_board.toward_bright_px - ink_px_,
            board_.skew - on_board.skew - kSkewOfPeak * overshoot - kJpegSkew * jpeg_loss_,
            std::hypot(u_skew_, kSkewOfPeakSpread * overshoot, theta.isZero() ? 0 : kSkewOutside),
            overshoot,
            on_part.blur_px / on_board.blur_px - 1 - kSofter * jpeg_loss_,
            on_part.toward_bright_px};
  }

  // Sharpening moves edges by their contrast in stored values, which no tone curve does just so.
  double sharpened_px() const { return kSharpened * std::max(0.0, board_.peak) * board_.blur_px; }

  double u_overshoot(const Observed& o) const { return o.overshoot > 0 ? kOvershootSpread : u_undershoot_; }

  BlurSpread spread_of_blur(bool same) const { return same ? u_blur_ : BlurSpread{}; }

  Misses misses(const Observed& o, const BlurSpread& u_blur) const {
    return {o.growth_px / u_growth_px_, o.blur_excess / u_blur.of(o), o.skew / o.u_skew,
            o.overshoot / u_overshoot(o)};
  }

  double log_likelihood(const Observed& o, const BlurSpread& u_blur) const {
    return -0.5 * misses(o, u_blur).squaredNorm() - std::log(u_growth_px_ * u_blur.mean() * o.u_skew);
  }

  void add(const Term& term) { terms_[static_cast<std::size_t>(count_++)] = term; }

  void add_srgb(bool same_blur, double log_prior) {
    const Observed o = observe(Theta::Zero());
    const double hidden = board_.ink_mm ? kPartShare * u_growth_px_ : 0;
    add({Theta::Zero(), log_prior + log_likelihood(o, spread_of_blur(same_blur)), o.part_moved_px,
         hidden * hidden});
  }

  // Gauss-Newton for the family's numbers under both observations and the prior; evidence by Laplace's
  // method.
  void add_family(const Family& family, bool same_blur, double log_prior) {
    constexpr double kStep = 1e-3;  // of a curve's number, for slopes: off by its square, a millionth
    const BlurSpread u_blur = spread_of_blur(same_blur);
    const int index[2] = {0, family.second};
    const Numbers middle(0, family.middle), spread(family.gamma_spread, family.spread);
    const Eigen::Matrix2d prior = spread.cwiseAbs2().cwiseInverse().asDiagonal();
    Theta theta = Theta::Zero();
    theta.x() = assumed_.gamma_shift;
    if (family.numbers == 2) theta[family.second] = family.middle;
    Eigen::Matrix2d information = Eigen::Matrix2d::Identity();
    Numbers moved_slope = Numbers::Zero();
    const auto away = [&] {
      return Numbers(theta.x(), family.numbers == 2 ? theta[family.second] - middle[1] : 0);
    };
    for (int round = 0; round < 20; ++round) {
      const Observed here = observe(theta);
      Eigen::Matrix<double, 4, 2> rows =
          Eigen::Matrix<double, 4, 2>::Zero();  // of the observations, standardised
      for (int k = 0; k < family.numbers; ++k) {
        Theta up = theta, down = theta;
        up[index[k]] += kStep, down[index[k]] -= kStep;
        const Observed u = observe(up), d = observe(down);
        rows(0, k) = (u.growth_px - d.growth_px) / (2 * kStep) / u_growth_px_;
        rows(1, k) = (u.blur_excess - d.blur_excess) / (2 * kStep) / u_blur.of(here);
        rows(2, k) = (u.skew - d.skew) / (2 * kStep) / here.u_skew;
        rows(3, k) = (u.overshoot - d.overshoot) / (2 * kStep) / u_overshoot(here);
        moved_slope[k] = (u.part_moved_px - d.part_moved_px) / (2 * kStep);
      }
      const Misses miss = misses(here, u_blur);
      information = rows.transpose() * rows + prior;
      const Numbers step = information.ldlt().solve(-rows.transpose() * miss - prior * away());
      const double damp = std::max({1.0, std::abs(step.x()) / 0.15, std::abs(step.y()) / 0.25});
      const Theta before = theta;
      theta.x() = std::clamp(theta.x() + step.x() / damp, kLeastGamma, kMostGamma);
      if (family.numbers == 2)
        theta[family.second] = std::clamp(theta[family.second] + step.y() / damp, family.least, family.most);
      if ((theta - before).norm() < 1e-5) break;
    }
    const Observed o = observe(theta);
    const double log_evidence = log_likelihood(o, u_blur) - 0.5 * away().cwiseQuotient(spread).squaredNorm() -
                                std::log(spread.prod()) - 0.5 * std::log(information.determinant());
    add({theta, log_prior + log_evidence, o.part_moved_px,
         moved_slope.dot(information.ldlt().solve(moved_slope))});
  }

  const ToneCurve& assumed_;
  const ToneTable assumed_table_;
  const BoardEdges& board_;
  const PartEdge& part_;
  double ink_px_ = 0, u_growth_px_ = 1, u_skew_ = 1, u_undershoot_ = 1, jpeg_loss_ = 0, least_px_ = 0;
  BlurSpread u_blur_;
  const ReadAnew part_anew_;
  struct Last {
    Theta theta = Theta::Constant(1e9);
    SeenEdge on_board;
    ToneShift on_part;
  } last_;
  std::array<Term, 10> terms_;
  int count_ = 0;
};

}  // namespace

ToneFinding weigh_tone_curves(const ToneCurve& assumed, const BoardEdges& board, const PartEdge& part,
                              double jpeg_step) {
  return Weighing(assumed, board, part, jpeg_step).run();
}

}  // namespace rondure
