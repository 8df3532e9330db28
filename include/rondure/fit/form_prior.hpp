// What is believed of the form of a moulded round part before its points are seen: a few families of harmonic spectra,
// each with a grid of amplitudes. Chosen by measurement so that 95 % intervals hold over parts of 0.02 to 0.3 % form
// and over ovals (tests/data/studies); a judgement, not a law of nature.
#pragma once
#include <vector>

namespace rondure {

inline constexpr int kFormFirstOrder = 2, kFormLastOrder = 8;

// One family: relative power of each column (cosine and sine of every order, sum to order 8: 1) and nodes of the amplitude
// tau = sqrt(E sum(a^2 + b^2)) in units of the radius, with their masses (sum 1). tau {0}: perfectly round.
struct FormFamily {
  double mass = 1;
  std::vector<double> share;
  std::vector<double> tau_ratio, tau_mass;
  double rest = 0;  // form of still higher orders, rms over tau: among few points it scatters like noise
  // Arcs: the density where the interval of this kind alone ends, over that where it ends at 95 % (mixture_interval95). Less
  // than 1 for a kind whose form, of a size that is not known, moves the radius unseen; more for one that the points show. One
  // of each tau; none: 1.
  std::vector<double> ends_at = {};
};
using FormPrior = std::vector<FormFamily>;

// Columns in pairs (cosine, sine) of the orders first..last; `power(k)` is relative.
template <class Power>
std::vector<double> form_shares(int first, int last, Power power) {
  std::vector<double> share;
  double sum = 0;
  for (int k = first; k <= last; ++k) sum += 2 * power(k);
  for (int k = first; k <= last; ++k) share.insert(share.end(), 2, power(k) / sum);
  return share;
}
// Nodes at the middles of equal cells in log tau, mass proportional to tau^tilt.
FormFamily form_family(double mass, std::vector<double> share, int nodes, double tau_lo, double tau_hi,
                       double tilt, double rest = 0);
FormFamily round_family(double mass, int columns);

// Nothing known of the part: all round (orders 2..8), and on arcs (some families to order 30).
const FormPrior& default_form_prior();
FormPrior arc_form_prior(double coverage_rad);
// Orders 2..8, the part is out of round by about `out_of_round_ratio` of its radius, peak to valley.
FormPrior stated_form_prior(double out_of_round_ratio);
// Only the perfectly round part (no form columns).
FormPrior no_form_prior();

}  // namespace rondure
