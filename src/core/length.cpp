#include "rondure/core/length.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdio>

#include "rondure/core/quoting.hpp"
#include "rondure/core/trimmed.hpp"

namespace rondure {
namespace {

struct NumberAndRest {
  double number;
  std::string_view rest;  // trimmed
};

// The leading number of a text and what follows it.
Result<NumberAndRest> leading_number(std::string_view text) {
  const std::string_view t = trimmed(text);
  auto end = t.find_first_not_of("+-0123456789.,eE");
  if (end == std::string_view::npos) end = t.size();
  std::string digits(t.substr(0, end));
  // "3e" of "3em": an exponent needs a digit behind it
  while (!digits.empty() && (digits.back() == 'e' || digits.back() == 'E')) digits.pop_back(), --end;
  if (std::count(digits.begin(), digits.end(), ',') == 1 && digits.find('.') == std::string::npos)
    std::replace(digits.begin(), digits.end(), ',', '.');
  const char* begin = digits.data();
  const char* stop = begin + digits.size();
  if (begin != stop && *begin == '+') ++begin;
  double value = 0;
  const auto [ptr, ec] = std::from_chars(begin, stop, value);
  if (ec == std::errc::result_out_of_range) return Error{ErrorCode::kNotFinite, quoted_for_message(text)};
  if (ec != std::errc() || ptr != stop)
    return Error{ErrorCode::kBadLength,
                 "found " + quoted_for_message(text) + ", needed a number with a unit such as 12.7mm"};
  if (!std::isfinite(value)) return Error{ErrorCode::kNotFinite, quoted_for_message(text)};
  return NumberAndRest{value, trimmed(t.substr(end))};
}

// Splits "A+-B" (also "A+/-B", "A±B"); the second part is empty where there is none.
std::pair<std::string_view, std::string_view> split_plus_minus(std::string_view text) {
  for (std::string_view sign : {"+-", "+/-", "\u00b1"})
    if (const auto at = text.find(sign); at != std::string_view::npos)
      return {trimmed(text.substr(0, at)), trimmed(text.substr(at + sign.size()))};
  return {trimmed(text), {}};
}

// mm of one unit of this word: those of LengthUnit, and the words that people type besides.
Result<double> mm_per_word(std::string_view word) {
  if (word == "cm") return 10.0;
  if (word == "m") return 1000.0;
  if (word == "inches" || word == "\u2033" || word == "\u201d") return kMmPerInch;
  const auto unit = parse_unit(word);
  if (!unit) return unit.error();
  return mm_per(*unit);
}

// A fraction at the start, "3/16", "1-1/8" or "1 1/8", and what follows it; nothing for other texts.
std::optional<NumberAndRest> leading_fraction(std::string_view text) {
  const std::string_view t = trimmed(text);
  const auto digits = [&](std::size_t from) {
    std::size_t end = from;
    while (end < t.size() && t[end] >= '0' && t[end] <= '9' && end - from < 6) ++end;
    return end;
  };
  const auto value = [&](std::size_t from, std::size_t to) {
    int number = 0;
    std::from_chars(t.data() + from, t.data() + to, number);
    return number;
  };
  std::size_t from = 0, end = digits(0);
  int whole = 0;
  if (end > 0 && end + 1 < t.size() && (t[end] == '-' || t[end] == ' ')) {
    const std::size_t next = digits(end + 1);
    if (next > end + 1 && next < t.size() && t[next] == '/')
      whole = value(0, end), from = end + 1, end = next;
  }
  if (end == from || end >= t.size() || t[end] != '/') return std::nullopt;
  const std::size_t last = digits(end + 1);
  const int over = value(from, end), under = last > end + 1 ? value(end + 1, last) : 0;
  if (under == 0) return std::nullopt;
  return NumberAndRest{whole + static_cast<double>(over) / under, trimmed(t.substr(last))};
}

// A length in mm; a bare number counts `bare_mm` each.
Result<double> length_in_mm(std::string_view text, double bare_mm) {
  const auto fraction = leading_fraction(text);
  const auto n = fraction ? Result<NumberAndRest>(*fraction) : leading_number(text);
  if (!n) return n.error();
  const Result<double> unit = n->rest.empty() ? Result<double>(bare_mm) : mm_per_word(n->rest);
  if (!unit)
    return Error{ErrorCode::kBadLength,
                 "found " + quoted_for_message(text) + ", needed a unit mm, cm, in, thou or um"};
  const double mm = n->number * *unit;
  if (!std::isfinite(mm)) return Error{ErrorCode::kNotFinite, quoted_for_message(text)};
  return mm;
}

Result<Estimate> nonnegative_u(Estimate e, std::string_view text) {
  if (e.u < 0)
    return Error{ErrorCode::kBadLength,
                 "found " + quoted_for_message(text) + ", needed an uncertainty of 0 or more"};
  return e;
}

std::string fixed(double value, int decimals) {
  char buffer[64];
  std::snprintf(buffer, sizeof buffer, "%.*f", decimals, value);
  return buffer;
}

}  // namespace

double mm_per(LengthUnit unit) {
  switch (unit) {
    case LengthUnit::kMm:
      return 1;
    case LengthUnit::kInch:
      return kMmPerInch;
    case LengthUnit::kThou:
      return kMmPerInch / 1000;
    case LengthUnit::kMicrometre:
      return 1e-3;
  }
  return 1;
}

std::string_view symbol(LengthUnit unit) {
  switch (unit) {
    case LengthUnit::kMm:
      return "mm";
    case LengthUnit::kInch:
      return "in";
    case LengthUnit::kThou:
      return "thou";
    case LengthUnit::kMicrometre:
      return "um";
  }
  return "mm";
}

Result<LengthUnit> parse_unit(std::string_view text) {
  const std::string_view t = trimmed(text);
  if (t == "mm") return LengthUnit::kMm;
  if (t == "in" || t == "inch" || t == "\"") return LengthUnit::kInch;
  if (t == "thou") return LengthUnit::kThou;
  if (t == "um" || t == "\u00b5m" || t == "\u03bcm") return LengthUnit::kMicrometre;
  return Error{ErrorCode::kBadLength,
               "found the unit " + quoted_for_message(text) + ", needed mm, in, thou or um"};
}

Result<double> parse_number(std::string_view text) {
  const auto n = leading_number(text);
  if (!n) return n.error();
  if (!n->rest.empty())
    return Error{ErrorCode::kBadLength, "found " + quoted_for_message(text) + ", needed a plain number"};
  return n->number;
}

Result<double> parse_length_mm(std::string_view text, LengthUnit bare) {
  return length_in_mm(text, mm_per(bare));
}

Result<Estimate> parse_length_with_u_mm(std::string_view text, LengthUnit bare) {
  const auto [first, second] = split_plus_minus(text);
  if (second.empty()) {
    const auto value = parse_length_mm(first, bare);
    if (!value) return value.error();
    return Estimate{*value, 0};
  }
  const auto n = leading_number(second);
  if (!n) return n.error();
  double shared_mm = mm_per(bare);
  if (!n->rest.empty()) {
    const auto unit = mm_per_word(n->rest);
    if (!unit) return unit.error();
    shared_mm = *unit;
  }
  const auto value = length_in_mm(first, shared_mm);
  if (!value) return value.error();
  const double u_mm = n->number * shared_mm;
  if (!std::isfinite(u_mm)) return Error{ErrorCode::kNotFinite, quoted_for_message(text)};
  return nonnegative_u({*value, u_mm}, text);
}

Result<double> parse_ratio(std::string_view text) {
  const auto n = leading_number(text);
  if (!n) return n.error();
  if (n->rest.empty()) return n->number;
  if (n->rest == "%") return n->number / 100;
  return Error{ErrorCode::kBadLength, "found " + quoted_for_message(text) + ", needed a ratio such as 0.3%"};
}

Result<Estimate> parse_ratio_with_u(std::string_view text) {
  const auto [first, second] = split_plus_minus(text);
  const bool shared_percent =
      !second.empty() && second.back() == '%' && first.find('%') == std::string_view::npos;
  auto value = parse_ratio(first);
  if (!value) return value.error();
  if (second.empty()) return Estimate{*value, 0};
  const auto u = parse_ratio(second);
  if (!u) return u.error();
  return nonnegative_u({shared_percent ? *value / 100 : *value, *u}, text);
}

Result<double> parse_temperature_c(std::string_view text) {
  const auto n = leading_number(text);
  if (!n) return n.error();
  if (n->rest.empty() || n->rest == "C" || n->rest == "\u00b0C") return n->number;
  if (n->rest == "F" || n->rest == "\u00b0F") return (n->number - 32) / 9 * 5;
  return Error{ErrorCode::kBadArgument,
               "found the temperature " + quoted_for_message(text) + ", needed one such as 23C or 73F"};
}

std::string format_mm(double mm, int decimals) { return fixed(mm, decimals) + " mm"; }
std::string format_inch(double mm, int decimals) { return fixed(mm / kMmPerInch, decimals) + " in"; }
std::string mm_and_inch(double mm, int decimals) {
  return format_mm(mm, decimals) + " (" + format_inch(mm, decimals + 1) + ")";
}

int decimals_for_u(double u_mm) {
  if (!(u_mm > 0)) return 4;
  return std::clamp(1 - static_cast<int>(std::floor(std::log10(u_mm))), 1, 6);
}

}  // namespace rondure
