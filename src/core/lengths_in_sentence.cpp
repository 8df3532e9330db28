#include <algorithm>
#include <cmath>
#include <regex>

#include "rondure/core/shown.hpp"

namespace rondure {
namespace {

constexpr int kLeastInchDecimals = 2, kMostInchDecimals = 8;  // 1e-8 in is nothing

// The numbers of a text of mm, each in inches with one decimal more (two at least, and more where all would be 0).
std::string numbers_in_inches(const std::string& text) {
  static const std::regex number(R"(\d+(\.\d+)?)");
  std::string out;
  auto rest = text.cbegin();
  for (std::sregex_iterator at(text.begin(), text.end(), number), end; at != end; ++at) {
    const double in = std::stod(at->str()) / kMmPerInch;
    int decimals = std::max(kLeastInchDecimals, (*at)[1].matched ? static_cast<int>((*at)[1].length()) : 1);
    while (in > 0 && decimals < kMostInchDecimals && in < 0.5 * std::pow(10, -decimals)) ++decimals;
    char inches[64];
    std::snprintf(inches, sizeof inches, "%.*f", decimals, in);
    out.append(rest, (*at)[0].first).append(inches);
    rest = (*at)[0].second;
  }
  return out.append(rest, text.cend());
}

}  // namespace

std::string LengthWords::sentence(const std::string& text) const {
  if (!inch_first_) return text;
  // "1.2", "1.2 +- 0.1", "1 to 2", "1 x 2"; then " mm" and, where it stands there, the same in inches. A fit, a tool or a
  // thread is called by its millimetres and stays, and so does a drawn size with its chance: "12.5 mm: 60 %".
  static const std::string numbers = R"([-+]?\d+(?:\.\d+)?(?:(?: \+- | to | or | x )[-+]?\d+(?:\.\d+)?)*)";
  static const std::regex length(
      "(" + numbers + R"() mm(?: \(()" + numbers + R"() in\)|, ()" + numbers +
      R"() in)?(?![\w^/]| [A-Za-z]{1,2}\d| reamer| drill| pitch| film| of it|: \d+(?:\.\d+)? %))");
  std::string out;
  auto rest = text.cbegin();
  for (std::sregex_iterator at(text.begin(), text.end(), length), end; at != end; ++at) {
    const std::smatch& m = *at;
    out.append(rest, m[0].first);
    const bool in_brackets = m[0].first != text.cbegin() && *(m[0].first - 1) == '(' &&
                             m[0].second != text.cend() && *m[0].second == ')';
    if (in_brackets && !m[2].matched && !m[3].matched)
      out += numbers_in_inches(m[1]) + " in, " + m[1].str() + " mm";
    else if (m[2].matched || !m[3].matched)
      out += (m[2].matched ? m[2].str() : numbers_in_inches(m[1])) + " in (" + m[1].str() + " mm)";
    else
      out += m[3].str() + " in, " + m[1].str() + " mm";
    rest = m[0].second;
  }
  return out.append(rest, text.cend());
}

}  // namespace rondure
