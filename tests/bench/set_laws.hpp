// The laws that draw the machines of the studies of sets: one designer each.
#pragma once
#include "set_machines.hpp"

namespace set_machines {

inline std::vector<MachineLaw> fixed_laws() {
  const auto always = [](const SizeGrids& own) { return [own](std::mt19937_64&) { return own; }; };
  return {{"A. designers as the built-in grids say", always(builtin_size_grids())},
          {"B. rounder sizes than the built-in ones, all parts shrunk very much alike (0.98)",
           always(grids("metric,1,1,0.5\nmetric,0.5,0.5,0.4\nmetric,0.1,0.1,0.1\n"
                        "inch,1/16,1.5875,0.5\ninch,1/32,0.79375,0.4\ninch,1/64,0.396875,0.1\n")),
           0.98},
          {"C. finer sizes, shrinkages not alike",
           always(grids("metric,0.5,0.5,0.2\nmetric,0.1,0.1,0.4\nmetric,0.05,0.05,0.4\n"
                        "inch,1/64,0.396875,0.4\ninch,0.005,0.127,0.6\n")),
           0},
          {"D. quarters of a millimetre, tenths of an inch",
           always(grids("metric,0.25,0.25,0.8\nmetric,0.05,0.05,0.2\n"
                        "inch,1/16,1.5875,0.6\ninch,0.010,0.254,0.4\n"))},
          {"E. no grid at all: any 0.01 mm or 0.001 inch alike",
           always(grids("metric,0.01,0.01,1\ninch,0.001,0.0254,1\n"))}};
}

// Looked at once, when the habits were settled.
inline std::vector<MachineLaw> fresh_laws() {
  const auto always = [](const SizeGrids& own) { return [own](std::mt19937_64&) { return own; }; };
  return {{"H. two tenths and wholes, thirty-seconds and eighths, some sizes fitted",
           always(grids("metric,0.2,0.2,0.55\nmetric,1,1,0.25\nmetric,0.05,0.05,0.2\n"
                        "inch,1/32,0.79375,0.55\ninch,1/8,3.175,0.25\ninch,0.005,0.127,0.2\n"))},
          {"I. a third of the sizes on no grid, the others on halves or sixteenths",
           always(grids("metric,0.5,0.5,0.65\nmetric,0.01,0.01,0.35\n"
                        "inch,1/16,1.5875,0.65\ninch,0.001,0.0254,0.35\n"))},
          {"J. steps that no grid has: three tenths of a millimetre, thirty thousandths of an inch",
           always(grids("metric,0.3,0.3,0.7\nmetric,0.1,0.1,0.3\n"
                        "inch,0.030,0.762,0.7\ninch,0.010,0.254,0.3\n"))}};
}

}  // namespace set_machines
