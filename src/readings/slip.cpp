#include "rondure/readings/slip.hpp"

#include <algorithm>
#include <cmath>

#include "line_text.hpp"
#include "rondure/core/length.hpp"

namespace rondure {
namespace {

enum Rank { kSwapped, kSign, kPoint, kUnit, kExchanged, kOffByOne, kAnyDigit };

bool is_digit(char c) { return c >= '0' && c <= '9'; }

class SlipList {
public:
  SlipList(std::string x, std::string y, LengthUnit unit) : x_(std::move(x)), y_(std::move(y)), unit_(unit) {}

  void add(Rank rank, std::string what, const std::string& x, const std::string& y) {
    if (x == x_ && y == y_) return;
    const auto reading = parse_reading_line(x + "," + y, unit_);
    if (!reading) return;
    if (const auto* point = std::get_if<MeasuredPoint>(&reading->value))
      slips.push_back({std::move(what), reading->csv, point->at, rank});
  }
  // The same change to x alone, y alone and, where that can be, both.
  template <class Change>
  void add_each(Rank rank, const std::string& what, bool both, const Change& change) {
    const std::string x = change(x_), y = change(y_);
    if (both) add(rank, what + " of x and y", x, y);
    add(rank, what + " of x", x, y_);
    add(rank, what + " of y", x_, y);
  }
  template <class Changes>
  void add_all(Rank rank, const std::string& what, const Changes& changes, const std::string& how = "") {
    for (const auto& x : changes(x_)) add(rank, what + " of x" + how, x, y_);
    for (const auto& y : changes(y_)) add(rank, what + " of y" + how, x_, y);
  }

  std::vector<Slip> slips;

private:
  std::string x_, y_;
  LengthUnit unit_;
};

std::string negated(const std::string& number) {
  if (number.starts_with('-')) return number.substr(1);
  return "-" + (number.starts_with('+') ? number.substr(1) : number);
}

// The decimal point moved: positive to the right.
std::string point_moved(const std::string& number, int places) {
  std::string sign = number.starts_with('-') ? "-" : "", digits;
  int decimals = 0;
  bool seen = false;
  for (const char c : number) {
    if (is_digit(c)) digits += c, decimals += seen;
    if (c == '.') seen = true;
  }
  decimals -= places;
  while (decimals < 0) digits += '0', ++decimals;
  while (int(digits.size()) <= decimals) digits.insert(0, 1, '0');
  while (int(digits.size()) > decimals + 1 && digits.front() == '0') digits.erase(0, 1);
  if (decimals > 0) digits.insert(digits.size() - std::size_t(decimals), 1, '.');
  return sign + digits;
}

std::string scaled(const std::string& number, double factor, int more_decimals) {
  const auto value = parse_number(number);
  if (!value) return number;
  const auto point = number.find('.');
  const int decimals = point == std::string::npos ? 0 : int(number.size() - point - 1);
  char text[64];
  std::snprintf(text, sizeof text, "%.*f", std::clamp(decimals + more_decimals, 0, 9), *value * factor);
  return text;
}

std::vector<std::string> with_exchanged_digits(const std::string& number) {
  std::vector<std::string> out;
  std::size_t before = std::string::npos;
  for (std::size_t i = 0; i < number.size(); ++i) {
    if (!is_digit(number[i])) continue;
    if (before != std::string::npos && number[before] != number[i]) {
      out.push_back(number);
      std::swap(out.back()[before], out.back()[i]);
    }
    before = i;
  }
  return out;
}

std::vector<std::string> with_one_digit_changed(const std::string& number, bool by_one) {
  std::vector<std::string> out;
  for (std::size_t i = 0; i < number.size(); ++i) {
    if (!is_digit(number[i])) continue;
    for (char digit = '0'; digit <= '9'; ++digit) {
      if (digit == number[i] || (std::abs(digit - number[i]) == 1) != by_one) continue;
      out.push_back(number);
      out.back()[i] = digit;
    }
  }
  return out;
}

}  // namespace

std::vector<Slip> possible_slips(const std::string& csv, LengthUnit unit) {
  const auto comma = csv.find(',');
  if (comma == std::string::npos || csv.find_first_of("eE") != std::string::npos) return {};
  const auto end = std::min(csv.find(',', comma + 1), csv.size());
  const std::string x = csv.substr(0, comma), y = csv.substr(comma + 1, end - comma - 1);
  if (x.empty() || y.empty() || x.size() > 24 || y.size() > 24) return {};
  SlipList list(x, y, unit);
  list.add(kSwapped, "x and y swapped", y, x);
  list.add_each(kSign, "sign", true, negated);
  for (const int places : {-1, 1, -2, 2, -3, 3, -4, 4})
    list.add_each(kPoint, "decimal point", true,
                  [&](const std::string& n) { return point_moved(n, places); });
  if (unit == LengthUnit::kMm)
    list.add(kUnit, "typed in inch", scaled(x, 25.4, 0), scaled(y, 25.4, 0));
  else if (unit == LengthUnit::kInch)
    list.add(kUnit, "typed in mm", scaled(x, 1 / 25.4, 2), scaled(y, 1 / 25.4, 2));
  if (unit == LengthUnit::kMm) list.add(kUnit, "typed in thou", scaled(x, 0.0254, 3), scaled(y, 0.0254, 3));
  if (unit == LengthUnit::kThou)
    list.add(kUnit, "typed in mm", scaled(x, 1 / 0.0254, -1), scaled(y, 1 / 0.0254, -1));
  list.add_all(kExchanged, "two digits", with_exchanged_digits, " swapped");
  list.add_all(kOffByOne, "one digit", [](const std::string& n) { return with_one_digit_changed(n, true); });
  list.add_all(kAnyDigit, "one digit", [](const std::string& n) { return with_one_digit_changed(n, false); });
  return std::move(list.slips);
}

std::optional<Slip> explaining_slip(const std::string& csv, LengthUnit unit,
                                    const std::function<double(PartPoint)>& misfit, double accepted) {
  const auto slips = possible_slips(csv, unit);
  for (int rank = kSwapped; rank <= kAnyDigit; ++rank) {
    const Slip* best = nullptr;
    double least = accepted;
    int fitting = 0;
    for (const Slip& slip : slips) {
      if (slip.rank != rank) continue;
      const double m = std::abs(misfit(slip.at));
      if (!(m < accepted)) continue;
      ++fitting;
      if (m < least) best = &slip, least = m;
    }
    if (best && (rank < kAnyDigit || fitting == 1)) return *best;
  }
  return std::nullopt;
}

std::string with_decimals(const std::string& typed, int decimals) {
  const std::string_view t = trimmed(typed);
  if (decimals <= 0 || lower(t).starts_with("overlay")) return typed;
  // a comma between digits is a decimal sign where blanks separate: left to the reader of the line
  const bool blanks = t.find_first_of(" \t;") != std::string_view::npos;
  const auto digit_at = [&](std::size_t i) { return i < t.size() && is_digit(t[i]); };
  const auto is_part = [](char c) {
    return is_digit(c) || c == '.' || c == '+' || c == '-' || is_letter(c) || c == '"' || c < 0;
  };
  std::string out, word;
  for (std::size_t i = 0; i < t.size();) {
    if (!is_part(t[i])) {
      out += t[i++];
      continue;
    }
    std::size_t end = i;
    while (end < t.size() && is_part(t[end])) ++end;
    const std::string token(t.substr(i, end - i));
    const std::size_t first = token.find_first_not_of("+-");
    const bool whole = first != std::string::npos && first <= 1 &&
                       std::all_of(token.begin() + std::ptrdiff_t(first), token.end(), is_digit);
    const bool decimal_comma = blanks && ((end < t.size() && t[end] == ',' && digit_at(end + 1)) ||
                                          (i > 1 && t[i - 1] == ',' && digit_at(i - 2)));
    const auto behind = t.find_first_not_of(" \t", end);
    const bool has_unit = behind != std::string_view::npos && behind > end &&
                          parse_unit(t.substr(behind, t.find_first_of(" \t", behind) - behind)).has_value();
    out += whole && !decimal_comma && !has_unit && word != "at" ? point_moved(token, -decimals) : token;
    if (!whole) word = lower(token);
    i = end;
  }
  return out;
}

}  // namespace rondure
