// The parts of the report page, in the order they stand on it. Each gives HTML, empty when the record has
// nothing for it.
#pragma once
#include <optional>
#include <string>

#include "rondure/core/percent.hpp"
#include "rondure/core/shown.hpp"
#include "rondure/making/replacement.hpp"
#include "rondure/report/original_text.hpp"
#include "rondure/report/page.hpp"

namespace rondure {

// Measured, drawn as, make: the three lines a reader came for. `main` may be null. `set`: whose answer the record holds.
std::string opening_lines(const PartRecord& record, const Feature* main, const LengthWords& words,
                          const std::optional<SetLink>& set = {});
std::string plan_section(const PartRecord& record, const LengthWords& words);
// Fit and grip, tool from the shelf, crown, speed, mass: a line each.
std::string plan_facts(const plan::ReplacementPlan& plan, const LengthWords& words);
// `main` is the feature whose candidates are shown at once; those of the others are folded.
std::string original_section(const OriginalResult& original, const Feature* main, const LengthWords& words);
std::string main_feature_section(const Feature& feature, const PageOptions& options);
std::string further_features_section(const PartRecord& record, const Feature* main,
                                     const PageOptions& options);
std::string method_section(const PartRecord& record, const PageOptions& options);

// A drawing with its caption; empty when there is no drawing.
std::string figure(const std::string& svg, const std::string& caption);
// A heading that unfolds what stands under it; on paper it is always open. Empty when there is nothing under it.
std::string folded(const std::string& summary, const std::string& body);
// Words that other modules wrote for a terminal, as they stand on a page: "+-" becomes the sign,
// and an option's name is not broken at its dashes.
std::string words_markup(std::string_view text);

// Lengths of a page: with the sign for +-, the unit asked for in front.
inline LengthWords page_words(LengthUnit unit) { return LengthWords(unit, " \u00b1 "); }
// Has the feature less than half of the outline, or is it asked for as an arc? Then the radius is the size.
bool is_arc(const Feature& feature);
// Does nothing in the outline stand clear of the noise?
bool noise_alone(const Feature& feature);
const OriginalFeature* original_of(const PartRecord& record, const std::string& name);
}  // namespace rondure
