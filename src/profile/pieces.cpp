#include "pieces.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "rondure/core/median.hpp"

namespace rondure {
namespace {

constexpr double kTolerance_sigma = 2.0;  // atoms end where a line through them would be so far off
// A limit of time: every pair of atoms is fitted, and the best cut takes pieces times atoms squared. Points of one atom at most.
// Both by judgement; side_scenes/study checks the cuts.
constexpr int kMostAtoms = 260, kMostInAtom = 40;
// Of one profile, a limit of time by judgement. Points of an arc: three tell it, two more whether it is one.
constexpr int kMostPieces = 25, kLeastOfArc = 5;
constexpr double kNever = 1e300;       // a cost beyond any
constexpr double kDoubted = 2;         // of a line's misfit, through three or four points
constexpr double kHopelessPieces = 8;  // a piece that misfits by the price of so many
constexpr double kGap_steps = 4;       // points so far apart: something between them is not seen
constexpr double kLeastPoints = 3;     // of a piece, after its margins

double usual_step(const std::vector<ProfilePointRZ>& points) {
  std::vector<double> steps;
  for (std::size_t i = 1; i < points.size(); ++i)
    steps.push_back((points[i].vec() - points[i - 1].vec()).norm());
  return steps.empty() ? 0 : median(std::move(steps));
}

// Stretches of points that surely belong together: breaks are only looked for between them.
std::vector<int> atom_starts(const std::vector<ProfilePointRZ>& points) {
  const int n = static_cast<int>(points.size());
  const int longest = std::clamp(n / 60, 2, kMostInAtom);
  const double gap = kGap_steps * usual_step(points);
  for (double tolerance = kTolerance_sigma;; tolerance *= 1.4) {
    std::vector<int> starts{0};
    for (int i = 1; i < n; ++i) {
      const int from = starts.back();
      bool ends = i - from >= longest || (points[i].vec() - points[i - 1].vec()).norm() > gap;
      if (!ends && i - from >= 2) {
        const Eigen::Vector2d a = points[from].vec(), way = points[i].vec() - a;
        const double length = way.norm();
        for (int k = from + 1; k < i && !ends && length > 0; ++k) {
          const Eigen::Vector2d q = points[k].vec() - a;
          const double off = std::abs(way.x() * q.y() - way.y() * q.x()) / length;
          ends = off > tolerance * 1.5 * points[k].sigma_mm;
        }
      }
      if (ends) starts.push_back(i);
    }
    starts.push_back(n);
    if (static_cast<int>(starts.size()) <= kMostAtoms || tolerance > 50) return starts;
  }
}

// Readings by hand are few, and any of them may be the first of a piece.
std::vector<int> every_point(const std::vector<ProfilePointRZ>& points) {
  if (points.size() > kMostAtoms) return atom_starts(points);
  std::vector<int> starts(points.size() + 1);
  std::iota(starts.begin(), starts.end(), 0);
  return starts;
}

class Cutting {
public:
  Cutting(const std::vector<ProfilePointRZ>& points, double margin_mm, double shared, double sigma_freedom)
      : points_(points),
        sigma_freedom_(sigma_freedom),
        margin_mm_(margin_mm),
        shared_(shared),
        starts_(shared > 1 ? atom_starts(points) : every_point(points)) {
    independent_ = std::max(4.0, static_cast<double>(points.size()) / shared);
    way_.assign(points.size(), 0);
    for (std::size_t i = 1; i < points.size(); ++i)
      way_[i] = way_[i - 1] + (points[i].vec() - points[i - 1].vec()).norm();
  }

  Cut run() {
    const int atoms = static_cast<int>(starts_.size()) - 1;
    price_all(atoms);
    // least[k][j]: cost of the first j atoms in k pieces.
    std::vector<std::vector<double>> least(kMostPieces + 1, std::vector<double>(atoms + 1, kNever));
    std::vector<std::vector<int>> from(kMostPieces + 1, std::vector<int>(atoms + 1, -1));
    least[0][0] = 0;
    for (int k = 1; k <= kMostPieces; ++k)
      for (int j = 1; j <= atoms; ++j)
        for (int i = 0; i < j; ++i)
          if (const double cost = least[k - 1][i] + prices_[i][j].least(); cost < least[k][j])
            least[k][j] = cost, from[k][j] = i;
    std::vector<std::vector<Piece>> cuts(kMostPieces + 1);
    std::vector<double> costs(kMostPieces + 1, kNever);
    int best = 1;
    for (int k = 1; k <= kMostPieces; ++k) {
      if (least[k][atoms] >= kNever) continue;
      for (int m = k, j = atoms; m > 0; j = from[m][j], --m) cuts[k].push_back(piece(from[m][j], j, atoms));
      std::reverse(cuts[k].begin(), cuts[k].end());
      costs[k] = least[k][atoms] + of_unsure_sigma(cuts[k]);
      if (costs[k] < costs[best]) best = k;
    }
    Cut cut;
    if (costs[best] >= kNever) return cut;
    double weights = 0;
    for (int k = 1; k <= kMostPieces; ++k)
      if (costs[k] < kNever) weights += std::exp(-0.5 * (costs[k] - costs[best]));
    if (const auto [same, other] = rivals_of(cuts[best]); same < kNever && other < kNever)
      weights += std::exp(-0.5 * of_unsure_sigma(cuts[best], other - same));
    cut.p_as_cut = 1 / weights;
    cut.pieces = std::move(cuts[best]);
    for (Piece& p : cut.pieces) cut.p_as_cut *= bend_short(p);
    return cut;
  }

private:
  enum class Form { kLine, kBulging, kHollow };
  // What a stretch costs as each form; kNever where it cannot be one.
  struct Prices {
    double line = kNever, arc = kNever;
    double weighed_arc =
        kNever;  // against a line, any curvature up to a half circle being as likely as any other
    bool hollow = false;
    double least() const { return std::min(line, arc); }
    double least_weighed() const { return std::min(line, weighed_arc); }
    double of(Form form) const {
      return form == Form::kLine ? line : hollow == (form == Form::kHollow) ? weighed_arc : kNever;
    }
    double of_others(Form form) const {
      if (form == Form::kLine) return weighed_arc;
      return hollow == (form == Form::kHollow) ? line : least_weighed();
    }
  };

  static Form form_of(const ProfileCurve& c) {
    return !c.is_arc ? Form::kLine : is_hollow(c) ? Form::kHollow : Form::kBulging;
  }
  static bool is_hollow(const ProfileCurve& c) { return c.half_curvature_per_mm < 0; }

  void price_all(int atoms) {
    prices_.assign(atoms, std::vector<Prices>(atoms + 1));
    for (int i = 0; i < atoms; ++i)
      for (int j = i + 1; j <= atoms; ++j) {
        const Fitted p = fitted(i, j, atoms);
        if (p.piece.curve.points < kLeastPoints) continue;
        prices_[i][j] = p.prices;
        // Longer ones fit no better: what is far beyond the price of several pieces is none.
        // Of a few readings by hand an arc is only tried from five on.
        if ((shared_ > 1 || p.piece.curve.points >= kLeastOfArc) &&
            p.piece.curve.chi2 >
                kHopelessPieces * 3 * std::log(independent_) * shared_ + 3 * p.piece.curve.points)
          break;
      }
  }

  // The least cost of as many pieces of which one or more is of another form: a line for an arc, or one that bulges for
  // a hollow one; and that of these forms. Arcs are weighed against lines by what the curvature could have been (Bayes, even
  // over a half circle either way): log N, the price of a parameter, is next to nothing beside that where points are few.
  struct Rivals {
    double same = kNever, other = kNever;
  };
  Rivals rivals_of(const std::vector<Piece>& pieces) const {
    const std::size_t atoms = prices_.size();
    std::vector<double> same(atoms + 1, kNever), other = same;
    same[0] = 0;
    for (const Piece& piece : pieces) {
      const Form form = form_of(piece.curve);
      std::vector<double> same_on(atoms + 1, kNever), other_on = same_on;
      for (std::size_t j = 1; j <= atoms; ++j)
        for (std::size_t i = 0; i < j; ++i) {
          const Prices& p = prices_[i][j];
          same_on[j] = std::min(same_on[j], same[i] + p.of(form));
          other_on[j] = std::min({other_on[j], other[i] + p.least_weighed(), same[i] + p.of_others(form)});
        }
      same = std::move(same_on), other = std::move(other_on);
    }
    return {same[atoms], other[atoms]};
  }

  // Of an outline a small fillet leaves three or four points between its margins, where no arc is tried (it would take
  // points off larger ones). A line through them that they clearly do not lie on is none; the share of the evidence for
  // what it is taken for (1 where no line is doubted).
  double bend_short(Piece& p) const {
    const double misfit = p.curve.chi2 / shared_, worth = misfit - std::log(independent_);
    if (shared_ <= 1 || p.curve.is_arc || p.curve.points >= kLeastOfArc || misfit < kDoubted) return 1;
    const auto arc = fit_curve(points_, p.from, p.to, true);
    if (!arc || !bends_enough(*arc, p)) return 1;
    if (worth > 0) p.curve = *arc;
    return 1 / (1 + std::exp(-0.5 * std::abs(worth)));
  }
  struct Fitted {
    Piece piece;
    Prices prices;
  };
  Piece piece(int i, int j, int atoms) const { return fitted(i, j, atoms).piece; }
  Fitted fitted(int i, int j, int atoms) const {
    Fitted out;
    Piece& p = out.piece;
    p.first = starts_[i], p.last = starts_[j] - 1;
    p.from = p.first, p.to = p.last;
    if (i > 0)
      while (p.from < p.last && way_[p.from] - break_way(p.first) < margin_mm_) ++p.from;
    if (j < atoms)
      while (p.to > p.from && break_way(p.last + 1) - way_[p.to] < margin_mm_) --p.to;
    const int n = p.to - p.from + 1;
    if (n < kLeastPoints) return out;
    const auto line = fit_curve(points_, p.from, p.to, false);
    if (!line) return out;
    p.curve = *line, out.prices.line = price(*line);
    if (n < kLeastOfArc || line->chi2 / shared_ <= std::log(independent_))
      return out;  // no arc can be worth its parameter
    const auto arc = fit_curve(points_, p.from, p.to, true);
    if (!arc || !bends_enough(*arc, p)) return out;
    out.prices.arc = price(*arc), out.prices.hollow = is_hollow(*arc);
    out.prices.weighed_arc = out.prices.arc + price_of_curvature(*arc, way_[p.to] - way_[p.from]);
    if (out.prices.arc < out.prices.line) p.curve = *arc;
    return out;
  }
  // What a curvature known to u out of 4 / length costs (Laplace's approximation), beyond log N.
  double price_of_curvature(const ProfileCurve& arc, double length_mm) const {
    const double u_per_mm = 2 * std::sqrt(std::max(0.0, shared_ * arc.covariance(0, 0)));
    if (!(u_per_mm > 0) || !(length_mm > 0)) return 0;
    const double range = 4 / length_mm / (std::sqrt(2 * kPi) * u_per_mm);
    return std::max(0.0, 2 * std::log(range) - std::log(independent_));
  }
  double misfit_of(const std::vector<Piece>& pieces) const {
    double chi2 = 0;
    for (const Piece& p : pieces) chi2 += p.curve.chi2 / shared_;
    return chi2;
  }
  double freedom_and_points() const { return sigma_freedom_ + static_cast<double>(points_.size()) / shared_; }
  // What a sigma known from a few points makes of the misfit's price.
  double of_unsure_sigma(const std::vector<Piece>& pieces) const {
    if (!(sigma_freedom_ > 0)) return 0;
    const double chi2 = misfit_of(pieces);
    return freedom_and_points() * std::log1p(chi2 / sigma_freedom_) - chi2;
  }
  // And, at least, of a rival's price beyond that of these pieces: the slope of the same logarithm at the rival.
  double of_unsure_sigma(const std::vector<Piece>& pieces, double beyond) const {
    if (!(sigma_freedom_ > 0)) return beyond;
    return beyond * std::min(1.0, freedom_and_points() / (sigma_freedom_ + misfit_of(pieces) + beyond));
  }
  // The break before a point: half way from the one before it.
  double break_way(int point) const { return 0.5 * (way_[point - 1] + way_[point]); }
  // An arc of a tiny radius is a rounded corner that the margins did not reach.
  bool bends_enough(const ProfileCurve& arc, const Piece& p) const {
    return arc.radius_mm() > margin_mm_ && way_[p.to] - way_[p.from] < 2 * kPi * arc.radius_mm();
  }
  // A line square to the axis or along it, as most are, has one parameter less: what its slope costs it is
  // (angle / u of the angle)^2, and it is charged the cheaper of the two.
  double price(const ProfileCurve& c) const {
    const double each = std::log(independent_), free = c.chi2 / shared_ + (c.is_arc ? 4 : 3) * each;
    if (c.is_arc) return free;
    const double off = std::remainder(c.normal_rad, kPi / 2), variance = c.covariance(1, 1);
    if (!(variance > 0)) return free;
    return std::min(free, (c.chi2 + off * off / variance) / shared_ + 2 * each);
  }

  const std::vector<ProfilePointRZ>& points_;
  double sigma_freedom_, margin_mm_, shared_, independent_ = 1;
  std::vector<int> starts_;
  std::vector<double> way_;
  std::vector<std::vector<Prices>> prices_;  // of atoms i to j - 1
};

}  // namespace

Cut cut_into_pieces(const std::vector<ProfilePointRZ>& points, double margin_mm, double shared,
                    double sigma_freedom) {
  return Cutting(points, margin_mm, shared, sigma_freedom).run();
}

}  // namespace rondure
