#include "cli/verify/reference_fits.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <sstream>

#include "rondure/core/length.hpp"
#include "rondure/fit/circle_fit.hpp"
#include "rondure/fit/ellipse_fit.hpp"
#include "rondure/fit/reference_circles.hpp"

namespace rondure::cli {
namespace {

Error bad_line(int line, const std::string& found, const char* needed) {
  return {ErrorCode::kBadLine,
          "line " + std::to_string(line) + ": found '" + found.substr(0, 60) + "', needed " + needed};
}

std::vector<std::string> words(const std::string& line) {
  std::istringstream in(line);
  std::vector<std::string> all;
  for (std::string word; in >> word;) all.push_back(word);
  return all;
}

using Answers = std::map<std::string, double>;

template <class T>
bool note(const Result<T>& result, std::string& refusal) {
  if (!result) refusal = result.error().message();
  return result.has_value();
}

// What we answer of the kind of quantity before the dot.
Answers answers(const std::string& kind, const std::vector<PartPoint>& points, std::string& refusal) {
  if (kind == "circle") {
    if (const auto fit = fit_circle(points); note(fit, refusal))
      return {{"circle.r", fit->circle.radius_mm},
              {"circle.cx", fit->circle.center.x_mm},
              {"circle.cy", fit->circle.center.y_mm}};
  } else if (kind == "ellipse") {
    if (const auto fit = fit_ellipse(points); note(fit, refusal))
      return {{"ellipse.a", fit->ellipse.semi_major_mm},
              {"ellipse.b", fit->ellipse.semi_minor_mm},
              {"ellipse.cx", fit->ellipse.center.x_mm},
              {"ellipse.cy", fit->ellipse.center.y_mm}};
  } else if (kind == "circumscribed") {
    if (const auto mcc = minimum_circumscribed(points); note(mcc, refusal))
      return {{"circumscribed.r", mcc->circle.radius_mm}};
  } else if (kind == "zone") {
    if (const auto zone = minimum_zone(points); note(zone, refusal)) return {{"zone.width", zone->zone_mm}};
  }
  return {};
}

const std::vector<std::string> kQuantities = {"circle.r",   "circle.cx",       "circle.cy",
                                              "ellipse.a",  "ellipse.b",       "ellipse.cx",
                                              "ellipse.cy", "circumscribed.r", "zone.width"};

Result<ReferenceValue> read_value(const std::vector<std::string>& w, int line, const std::string& text) {
  constexpr const char* kNeeded = "value QUANTITY CERTIFIED ALLOWED [PUBLISHED]";
  if (w.size() < 4 || w.size() > 5) return bad_line(line, text, kNeeded);
  if (std::find(kQuantities.begin(), kQuantities.end(), w[1]) == kQuantities.end())
    return bad_line(line, w[1], "a quantity such as circle.r");
  const auto certified = parse_number(w[2]), allowed = parse_number(w[3]);
  if (!certified || !allowed || !(*allowed >= 0)) return bad_line(line, text, kNeeded);
  return ReferenceValue{w[1], w.size() == 5 ? w[4] : "", *certified, *allowed};
}

}  // namespace

Result<std::vector<ReferenceSet>> parse_reference_sets(std::string_view text) {
  std::vector<ReferenceSet> sets;
  std::istringstream in{std::string(text)};
  int number = 0;
  for (std::string line; std::getline(in, line);) {
    ++number;
    const auto w = words(line);
    if (w.empty() || w[0][0] == '#') continue;
    if (w[0] == "set" && w.size() == 2) {
      sets.push_back({w[1], "", {}, {}});
      continue;
    }
    if (sets.empty()) return bad_line(number, line, "set NAME first");
    ReferenceSet& set = sets.back();
    if (w[0] == "source" && w.size() > 1) {
      set.source = line.substr(line.find(w[1]));
    } else if (w[0] == "value") {
      auto value = read_value(w, number, line);
      if (!value) return value.error();
      set.values.push_back(*std::move(value));
    } else if (w[0] == "point" && w.size() == 3) {
      const auto x = parse_number(w[1]), y = parse_number(w[2]);
      if (!x || !y) return bad_line(number, line, "point X Y");
      set.points.push_back({*x, *y});
    } else {
      return bad_line(number, line, "set, source, value or point");
    }
  }
  if (sets.empty()) return Error{ErrorCode::kBadLine, "found no set, needed at least one"};
  return sets;
}

std::vector<CheckedValue> check(const ReferenceSet& set) {
  std::vector<CheckedValue> checked;
  std::string kind, refusal;
  Answers ours;
  for (const ReferenceValue& value : set.values) {
    const std::string this_kind = value.quantity.substr(0, value.quantity.find('.'));
    if (this_kind != kind) kind = this_kind, refusal.clear(), ours = answers(kind, set.points, refusal);
    CheckedValue c{value, {}, refusal, 0, false};
    if (const auto found = ours.find(value.quantity); found != ours.end()) {
      c.ours = found->second;
      const double difference = std::abs(*c.ours - value.certified);
      const double relative = difference / std::max(std::abs(value.certified), 1e-300);
      c.digits = relative > 0 ? std::clamp(static_cast<int>(std::floor(-std::log10(relative))), 0, 15) : 15;
      c.passed = difference <= value.allowed;
    }
    checked.push_back(std::move(c));
  }
  return checked;
}

}  // namespace rondure::cli
