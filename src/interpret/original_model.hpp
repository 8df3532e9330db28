// From what the user knows to the terms of the integral: kinds, shares of the shrinkage, scatter, grids,
// evidence.
#pragma once
#include <span>
#include <vector>

#include "original_posterior.hpp"
#include "rondure/interpret/original.hpp"

namespace rondure {

struct PreparedPart {
  PartModel model;
  AgeingMaterial material;
  std::vector<double> share;                      // g per feature
  std::vector<std::vector<double>> making_sd_mm;  // per feature, per level
  std::size_t about = 0;                          // the feature in question
  std::optional<Estimate> crack_gap_shrinkage;    // told by the gap; then in place of the material's law
  std::vector<Warning> warnings;
};

// Errors: kNoAnswer, kBadArgument.
Result<PreparedPart> prepare_part(std::span<const SizeObservation> sizes, const OriginalOptions& options);

// g of a kind of feature beside a bore of this diameter on its metal shaft (0: none). The measured outside is
// taken for k.
double share_of_shrinkage(FeatureKind kind, double size_mm, double held_bore_mm, double poisson_ratio);
// Standard deviation of the making per level; one value when stated or when the kind is metal.
std::vector<double> making_sd_per_level(const AgeingMaterial& material, FeatureKind kind, double size_mm,
                                        std::size_t levels);

}  // namespace rondure
