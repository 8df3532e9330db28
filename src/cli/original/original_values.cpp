#include "cli/original/original_values.hpp"

#include <tuple>

namespace rondure::cli {

Result<std::pair<std::string, std::string>> name_and_value(const std::string& text, const char* needed) {
  const auto at = text.rfind('=');
  if (at == std::string::npos || at == 0 || at + 1 == text.size())
    return Error{ErrorCode::kBadArgument, "found '" + text.substr(0, 60) + "', needed " + needed};
  return std::pair(text.substr(0, at), text.substr(at + 1));
}

Result<double> parse_confidence(const std::string& text) {
  auto ratio = parse_ratio(text);
  if (ratio && *ratio > 1) ratio = *ratio / 100;  // "90" is meant as 90 %
  if (!ratio || !(*ratio > 0 && *ratio < 1))
    return Error{ErrorCode::kBadArgument,
                 "--confidence: found '" + text.substr(0, 40) + "', needed one such as 80%"};
  return *ratio;
}

Result<PossibleMeasurement> parse_possible(const std::string& text, LengthUnit bare) {
  const auto first = text.find(','), second = text.find(',', first == std::string::npos ? first : first + 1);
  const Error bad{ErrorCode::kBadArgument, "--could-measure: found '" + text.substr(0, 60) +
                                               "', needed NAME,KIND,ABOUT such as 'hub,outside,6mm' or "
                                               "'hub,outside,6mm+-0.02mm'"};
  if (second == std::string::npos) return bad;
  PossibleMeasurement m;
  m.name = text.substr(0, first);
  const auto kind = FeatureKind::parse(text.substr(first + 1, second - first - 1));
  const auto about = parse_length_with_u_mm(text.substr(second + 1), bare);
  if (!about || !kind || !(about->value > 0 && about->value <= 1000)) return bad;
  m.kind = *kind;
  m.about_mm = about->value;
  if (about->u > 0) m.u_mm = about->u;
  return m;
}

Result<Estimate> parse_value_with_u(const std::string& text, const char* option) {
  const Error bad{ErrorCode::kBadArgument, std::string(option) + ": found '" + text.substr(0, 40) +
                                               "', needed one such as '2.45+-1%'"};
  std::string value = text, u;
  for (const char* sign : {"+-", "+/-", "\u00b1"})
    if (const auto at = text.find(sign); at != std::string::npos) {
      value = text.substr(0, at);
      u = text.substr(at + std::string(sign).size());
      break;
    }
  const auto v = parse_number(value);
  if (!v || !(*v > 0)) return bad;
  if (u.empty()) return Estimate{*v, 0};
  const bool share = u.back() == '%';
  const auto spread = share ? parse_ratio(u) : parse_number(u);
  if (!spread || !(*spread >= 0)) return bad;
  return Estimate{*v, share ? *v * *spread : *spread};
}

Result<Estimate> parse_speed_mm_s(const std::string& text, LengthUnit bare, const char* option) {
  const Error bad{ErrorCode::kBadArgument,
                  std::string(option) + ": found '" + text.substr(0, 40) +
                      "', needed a speed such as '47.6mm/s+-1%', 1.875in/s or 1.875ips"};
  // what stands before and behind the word for the unit of time
  for (const auto& [word, seconds, unit] :
       {std::tuple{"/min", 60.0, ""}, {"/sec", 1.0, ""}, {"/s", 1.0, ""}, {"ips", 1.0, "in"}}) {
    const auto at = text.find(word);
    if (at == std::string::npos) continue;
    const std::string u = text.substr(at + std::string(word).size());
    const auto length = parse_length_mm(text.substr(0, at) + unit, bare);
    if (!length || !(*length > 0)) return bad;
    if (u.empty()) return Estimate{*length / seconds, 0};
    const auto scaled = parse_value_with_u("1" + u, option);
    if (!scaled || u.back() != '%') return bad;
    return Estimate{*length / seconds, *length / seconds * scaled->u};
  }
  return bad;
}

}  // namespace rondure::cli
