#include "gram_sums.hpp"

#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__)
#define RONDURE_FOUR_WIDE __attribute__((target("avx2,fma")))
#endif

namespace rondure {
namespace {

#ifdef RONDURE_FOUR_WIDE

bool is_four_wide() {
  static const bool known = __builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma");
  return known;
}

constexpr int kWide = 4, kTall = 4, kBroad = 3;  // as many sums at once as there are registers for
using Wide = double __attribute__((vector_size(kWide * sizeof(double)), aligned(8), may_alias));

// Products of so many columns from i on with so many from j on.
template <int tall, int broad>
RONDURE_FOUR_WIDE void add_block(const Eigen::MatrixXd& x, Eigen::Index i, Eigen::Index j,
                                 Eigen::MatrixXd& out) {
  const auto n = x.rows();
  const double *left[tall], *right[broad];
  for (int k = 0; k < tall; ++k) left[k] = x.data() + (i + k) * n;
  for (int l = 0; l < broad; ++l) right[l] = x.data() + (j + l) * n;
  Wide sums[tall][broad] = {};
  Eigen::Index row = 0;
  for (; row + kWide <= n; row += kWide) {
    Wide of_right[broad];
    for (int l = 0; l < broad; ++l) of_right[l] = *reinterpret_cast<const Wide*>(right[l] + row);
    for (int k = 0; k < tall; ++k) {
      const Wide of_left = *reinterpret_cast<const Wide*>(left[k] + row);
      for (int l = 0; l < broad; ++l) sums[k][l] += of_left * of_right[l];
    }
  }
  for (int k = 0; k < tall; ++k)
    for (int l = 0; l < broad; ++l) {
      const Wide& s = sums[k][l];
      double sum = s[0] + s[1] + (s[2] + s[3]);
      for (Eigen::Index rest = row; rest < n; ++rest) sum += left[k][rest] * right[l][rest];
      out(i + k, j + l) = sum;
    }
}

RONDURE_FOUR_WIDE void add_blocks(const Eigen::MatrixXd& x, Eigen::MatrixXd& out) {
  const auto m = x.cols();
  Eigen::Index i = 0;
  for (; i + kTall <= m; i += kTall) {
    Eigen::Index j = 0;
    for (; j + kBroad <= i + kTall; j += kBroad) add_block<kTall, kBroad>(x, i, j, out);
    for (; j < i + kTall; ++j) add_block<kTall, 1>(x, i, j, out);
  }
  for (; i < m; ++i)
    for (Eigen::Index j = 0; j <= i; ++j) add_block<1, 1>(x, i, j, out);
}

#endif

}  // namespace

Eigen::MatrixXd squares_and_products(const Eigen::MatrixXd& columns) {
  Eigen::MatrixXd out = Eigen::MatrixXd::Zero(columns.cols(), columns.cols());
#ifdef RONDURE_FOUR_WIDE
  if (is_four_wide()) {
    add_blocks(columns, out);
    return out;
  }
#endif
  out.selfadjointView<Eigen::Lower>().rankUpdate(columns.transpose());
  return out;
}

}  // namespace rondure
