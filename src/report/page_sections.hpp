// The parts of the report page, in the order they stand on it. Each gives HTML, empty when the record has
// nothing for it.
#pragma once
#include <string>

#include "rondure/report/page.hpp"

namespace rondure {

std::string feature_section(const Feature& feature, const PageOptions& options, std::size_t number);
std::string sizes_section(const PartRecord& record);
std::string original_section(const OriginalResult& original);
// From the record's "replacement" object (JSON text).
std::string plan_section(const std::string& replacement_json);
std::string cautions_section(const std::string& replacement_json);
std::string method_section(const PartRecord& record, const PageOptions& options);

// A drawing with its caption; empty when there is no drawing.
std::string figure(const std::string& svg, const std::string& caption);
// Words that other modules wrote for a terminal, as they stand on a page: "+-" becomes the sign.
std::string words_markup(std::string_view text);

// "12.452 ± 0.006 mm (0.4902 ± 0.0002 in)"
std::string size_words(double mm, std::optional<double> u_mm);
// Has the feature less than half of the outline, or is it asked for as an arc? Then the radius is the size.
bool is_arc(const Feature& feature);

}  // namespace rondure
