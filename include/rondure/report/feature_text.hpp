// Features as text for a terminal: four lines each, or every figure; the unit asked for in front.
#pragma once
#include <optional>
#include <string>
#include <vector>

#include "rondure/core/shown.hpp"
#include "rondure/interpret/feature.hpp"

namespace rondure {

std::string feature_text(const Feature& feature, const TextOptions& options = {});
// Several, one after the other; what is noted of several of them stands once, at the end.
std::string features_text(const std::vector<Feature>& features, const TextOptions& options = {});

// A standard uncertainty says something beside an interval that lies about the value as that law would lay it; an
// ovality's that is far from even is said by its interval alone.
std::optional<double> u_beside_interval(const EllipseResult& ellipse);

// Many features, one line each, with the file they come from; aligned, both units. The last column names the
// warnings.
std::string feature_table(const std::vector<Feature>& features, const TextOptions& options = {});

}  // namespace rondure
