#include "rondure/readings/points_file.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <map>
#include <utility>

#include "line_text.hpp"
#include "rondure/core/quoting.hpp"

namespace rondure {
namespace {

Error at_line(int line, const Error& error) {
  return {error.code, "line " + std::to_string(line) + ": " + error.detail};
}
Error at_line(int line, ErrorCode code, const std::string& detail) {
  return at_line(line, Error{code, detail});
}

// The next line and its end, whichever the system that wrote it: LF, CR LF or CR.
std::string_view take_line(std::string_view& rest) {
  const auto end = rest.find_first_of("\r\n");
  if (end == std::string_view::npos) return std::exchange(rest, {});
  const std::string_view line = rest.substr(0, end);
  const bool crlf = rest[end] == '\r' && end + 1 < rest.size() && rest[end + 1] == '\n';
  rest.remove_prefix(end + (crlf ? 2 : 1));
  return line;
}

Result<void> check_is_text(std::string_view line) {
  if (line.size() > kLongestLine_bytes)
    return Error{ErrorCode::kBadLine, "found " + std::to_string(line.size()) +
                                          " characters in one line, needed one reading a line"};
  for (const char c : line) {
    const auto byte = static_cast<unsigned char>(c);
    if ((byte < 0x20 && kBlanks.find(c) == std::string_view::npos) || byte == 0x7F)
      return Error{ErrorCode::kBadLine,
                   "found a byte " + std::to_string(byte) + " that is not text, needed x and y"};
  }
  return {};
}

// The value of "key: value" in a comment; nothing for another key.
std::optional<std::string_view> directive(std::string_view comment, std::string_view key) {
  const std::string_view t = trimmed(comment);
  if (t.size() <= key.size() || lower(t.substr(0, key.size())) != key) return std::nullopt;
  const std::string_view rest = trimmed(t.substr(key.size()));
  if (rest.empty() || rest[0] != ':') return std::nullopt;
  return trimmed(rest.substr(1));
}

// The unit that a header field such as "x_mm", "x (in)" or "indicator [um]" carries; empty for a bare name.
std::string_view unit_of_header(std::string_view field) {
  const std::string_view t = trimmed(field);
  const auto open = t.find_first_of("[(_/");
  auto from = open == std::string_view::npos ? t.find(' ') : open;
  if (from == std::string_view::npos) return {};
  from = t.find_first_not_of(" \t_([/", from);
  if (from == std::string_view::npos) return {};
  const auto last = t.find_last_not_of(" \t)]");
  return last < from ? std::string_view{} : t.substr(from, last - from + 1);
}

// A header may name the columns in any order and others between them: y;x   Nr;X [mm];Y [mm]   Pos X,Pos Y,Z   angle,radius
// angle;indicator (deviations of the radius, outwards +, from half the diameter of "# nominal: 12.5mm").
// What it says of the columns; -1: there is none.
struct Columns {
  int x = -1, y = -1, sigma = -1, angle = -1, radius = -1, deviation = -1;
  char separator = ',';
  bool cartesian() const { return x >= 0 && y >= 0; }
  bool polar() const { return angle >= 0 && (radius >= 0 || deviation >= 0); }
  int count = 0;
  // A third column of another name (a height, a remark) is no uncertainty.
  bool as_lines_are() const { return x == 0 && y == 1 && (sigma == 2 || (sigma < 0 && count <= 2)); }
};

// Name of a header field without its unit.
std::string bare_name(std::string_view field) {
  const std::string low = lower(trimmed(field));
  const auto end = low.find_first_of("[(_/");
  std::string name = end == std::string::npos ? low : low.substr(0, end);
  while (!name.empty() && (name.back() == ' ' || name.back() == '.')) name.pop_back();
  return name;
}

std::vector<std::string_view> fields_of(std::string_view body, char separator) {
  std::vector<std::string_view> fields;
  for (std::size_t at = 0; at <= body.size();) {
    const auto end = separator == ' ' ? body.find_first_of(" \t", at) : body.find(separator, at);
    const std::string_view field = trimmed(body.substr(at, end == body.npos ? body.npos : end - at));
    if (separator != ' ' || !field.empty()) fields.push_back(field);
    if (end == std::string_view::npos) break;
    at = end + 1;
  }
  return fields;
}

class PointsParser {
public:
  explicit PointsParser(LengthUnit bare) { out_.unit = bare; }

  Result<void> line(std::string_view text, int number) {
    number_ = number;
    if (auto ok = check_is_text(text); !ok) return ok;
    const auto hash = text.find('#');
    const std::string_view body = trimmed(text.substr(0, hash));
    const std::string_view comment = hash == std::string_view::npos ? "" : text.substr(hash + 1);
    if (body.empty()) return comment_line(comment);
    if (!any_reading_ && !header_seen_ && is_header(body)) {
      if (auto ok = comment_line(comment); !ok) return ok;
      return header(body);
    }
    return reading(body, comment);
  }

  Readings finish() && {
    for (auto& [first, places] : again_) {
      places.insert(places.begin(), first);
      out_.again.push_back(std::move(places));
    }
    if (turned_) out_.orientation_rad = std::move(orientations_);
    out_.resolution_mm = step_mm();
    out_.whole_numbers = whole_numbers();
    return std::move(out_);
  }

private:
  Result<void> comment_line(std::string_view comment) {
    if (const auto unit = directive(comment, "unit")) return set_unit(*unit);
    if (const auto angle = directive(comment, "orientation")) return set_orientation(*angle);
    if (const auto size = directive(comment, "nominal")) return set_nominal(*size);
    if (const auto what = directive(comment, "profile"))
      if (const auto known = parse_profile_word(lower(*what))) out_.profile = *known;
    if (const auto note = directive(comment, "note")) out_.notes.emplace_back(*note);
    if (const auto word = directive(comment, "same")) out_.same = *word;
    if (directive(comment, "deleted")) out_.line_of_reading.push_back(0);
    if (const auto kept = directive(comment, "kept"); kept && !last_csv_.empty())
      if (const auto reading = parse_reading_line(*kept, out_.unit); reading && reading->csv == last_csv_)
        out_.kept_lines.push_back(out_.line_of_reading.back());
    return {};
  }

  Result<void> set_unit(std::string_view text) {
    const auto unit = parse_unit(lower(text));
    if (!unit)
      return Error{ErrorCode::kBadLine,
                   "found the unit " + quoted_for_message(text) + ", needed mm, in, thou or um"};
    if (*unit != out_.unit && (out_.unit_stated || any_reading_))
      return Error{ErrorCode::kMixedUnits, "found the unit " + quoted_for_message(text) + " in a file in " +
                                               std::string(unit_word(out_.unit)) +
                                               ", needed one unit, before the readings"};
    out_.unit = *unit;
    out_.unit_stated = true;
    return {};
  }

  Result<void> set_nominal(std::string_view text) {
    const auto mm = parse_length_mm(text, out_.unit);
    if (!mm || !(*mm > 0))
      return Error{ErrorCode::kBadLine, "found the nominal size " + quoted_for_message(text) +
                                            ", needed a diameter such as 12.5mm"};
    if (!nominal_mm_) nominal_mm_ = *mm;
    return {};
  }

  Result<void> set_orientation(std::string_view text) {
    std::string_view t = text;
    for (std::string_view ending : {"degrees", "deg", "\u00b0"})
      if (t.ends_with(ending)) t = trimmed(t.substr(0, t.size() - ending.size()));
    const auto angle = parse_number(t);
    if (!angle || std::abs(*angle) > 3600)
      return Error{ErrorCode::kBadLine,
                   "found the orientation " + quoted_for_message(text) + ", needed degrees"};
    orientation_ = wrap_direction_rad(rad(*angle));
    turned_ = true;
    return {};
  }

  static bool is_header(std::string_view body) {
    const std::string low = lower(body);
    for (std::string_view word : {"chord", "overlay", "two-point", "polar", "nan", "inf"})
      if (low.starts_with(word)) return false;
    if (!is_letter(low[0])) return false;
    return low.find_first_of(",; \t") != std::string::npos &&
           low.find_first_of("0123456789") == std::string::npos;
  }

  Result<void> header(std::string_view body) {
    header_seen_ = true;
    Columns c;
    c.separator = body.find(';') != std::string_view::npos    ? ';'
                  : body.find(',') != std::string_view::npos  ? ','
                  : body.find('\t') != std::string_view::npos ? '\t'
                                                              : ' ';
    const auto fields = fields_of(body, c.separator);
    const auto among = [](const std::string& name, std::initializer_list<std::string_view> words) {
      return std::find(words.begin(), words.end(), name) != words.end();
    };
    c.count = static_cast<int>(fields.size());
    std::vector<std::string_view> lengths;  // fields whose unit is that of the readings
    for (int i = 0; i < static_cast<int>(fields.size()); ++i) {
      const std::string name = bare_name(fields[i]);
      // x   x-axis   pos x
      const bool axis = !name.empty() && (name.size() == 1 || !is_letter(name[1]));
      const bool is_x = (axis && name[0] == 'x') || name.ends_with(" x") || name == "horizontal";
      const bool is_y = (axis && name[0] == 'y') || name.ends_with(" y") || name == "vertical";
      int* column = name.empty()                                               ? nullptr
                    : is_x                                                     ? &c.x
                    : is_y                                                     ? &c.y
                    : among(name, {"sigma", "u", "uncertainty", "sd", "std"})  ? &c.sigma
                    : among(name, {"angle", "deg", "degrees", "phi", "theta"}) ? &c.angle
                    : among(name, {"radius", "r"})                             ? &c.radius
                    : among(name, {"indicator", "deviation", "dial", "dev", "run-out", "runout"})
                        ? &c.deviation
                        : nullptr;
      if (!column || *column >= 0) continue;
      *column = i;
      if (column != &c.angle && column != &c.sigma) lengths.push_back(fields[i]);
    }
    if (!c.cartesian() && !c.polar())
      return Error{ErrorCode::kBadLine, "found " + quoted_for_message(body) +
                                            ", needed x and y, or a header x,y or angle,indicator"};
    for (const std::string_view field : lengths)
      if (const auto unit = unit_of_header(field); !unit.empty() && parse_unit(lower(unit)))
        if (auto ok = set_unit(unit); !ok) return ok;
    if (!c.cartesian() && c.radius < 0 && !nominal_mm_)
      return Error{ErrorCode::kBadLine,
                   "found deviations by angle; needed too: the diameter they are from, in a line such as "
                   "'# nominal: 12.5mm' above, or with --nominal"};
    if (!c.as_lines_are()) columns_ = c;
    return {};
  }

  // A line of a file whose header names other columns, as an ordinary reading line.
  Result<std::string> in_order(std::string_view body) const {
    const Columns& c = *columns_;
    const auto fields = fields_of(body, c.separator);
    const auto field = [&](int column) {
      return column >= 0 && column < static_cast<int>(fields.size()) ? std::string(fields[column])
                                                                     : std::string();
    };
    const std::string join(1, c.separator == ',' || c.separator == ' ' ? ',' : ';');
    if (c.cartesian()) {
      const std::string sigma = field(c.sigma);
      return field(c.x) + join + field(c.y) + (sigma.empty() ? "" : join + sigma);
    }
    std::string radius = field(c.radius);
    if (c.radius < 0) {
      const auto deviation = parse_length_mm(field(c.deviation), out_.unit);
      if (!deviation)
        return Error{ErrorCode::kBadLine,
                     "found " + quoted_for_message(body) + ", needed an angle and a deviation"};
      char text[64];
      std::snprintf(text, sizeof text, "%.9fmm", *nominal_mm_ / 2 + *deviation);
      radius = text;
    }
    return "polar " + radius + " at " + field(c.angle);
  }

  Result<void> reading(std::string_view body, std::string_view comment) {
    std::string ordered;
    if (columns_) {
      auto line = in_order(body);
      if (!line) return line.error();
      ordered = std::move(*line);
      body = ordered;
    }
    auto parsed = parse_reading_line(body, out_.unit);
    if (!parsed) return parsed.error();
    if (++count_ > kMostReadings)
      return Error{ErrorCode::kBadLine, "found more than " + std::to_string(kMostReadings) + " readings"};
    any_reading_ = true;
    out_.line_of_reading.push_back(number_);
    last_csv_ = parsed->csv;
    if (auto* point = std::get_if<MeasuredPoint>(&parsed->value)) {
      point->line = number_;
      numbers_.push_back(point->at.x_mm);
      numbers_.push_back(point->at.y_mm);
      typed_decimals_.push_back(parsed->decimals);
      decimals_ = std::max(decimals_, parsed->decimals);
      add_point(*point, comment);
    } else if (auto* polar = std::get_if<PolarReading>(&parsed->value)) {
      polar->line = number_;
      numbers_.push_back(polar->radius_mm);
      typed_decimals_.push_back(parsed->decimals);
      decimals_ = std::max(decimals_, parsed->decimals);
      add_point(point_of(*polar), comment);
    } else if (auto* chord = std::get_if<ChordReading>(&parsed->value)) {
      chord->line = number_;
      out_.chords.push_back(*chord);
    } else if (auto* overlay = std::get_if<OverlayReading>(&parsed->value)) {
      overlay->line = number_;
      out_.overlays.push_back(*overlay);
    } else if (auto* two_point = std::get_if<TwoPointReading>(&parsed->value)) {
      two_point->line = number_;
      out_.two_points.push_back(*two_point);
    }
    return {};
  }

  void add_point(const MeasuredPoint& point, std::string_view comment) {
    const int index = int(out_.points.size());
    const auto key = std::pair{point.at.x_mm, point.at.y_mm};
    if (const std::string_view t = trimmed(comment); lower(t).starts_with("again")) {
      if (const auto earlier =
              parse_reading_line(t.substr(5, t.find(';') == t.npos ? t.npos : t.find(';') - 5), out_.unit);
          earlier) {
        const auto* at = std::get_if<MeasuredPoint>(&earlier->value);
        if (const auto first = at ? first_at_.find({at->at.x_mm, at->at.y_mm}) : first_at_.end();
            first != first_at_.end())
          again_[first->second].push_back(index);
      }
    }
    first_at_.emplace(key, index);
    out_.points.push_back(point);
    orientations_.push_back(orientation_);
  }

  // Readings of a dial fall on its divisions: last digit, or twos or fives of it.
  double step_mm() const {
    if (numbers_.empty() || decimals_ > 15) return 0;
    double last_digit_mm = std::pow(10.0, -decimals_) * mm_per(out_.unit);
    for (int d = decimals_; some_alone_have(d) && all_multiples_of(10, last_digit_mm); --d)
      last_digit_mm *= 10;
    for (const auto& [step, least] : {std::pair{5, 8}, std::pair{2, 20}})
      if (int(numbers_.size()) >= least && all_multiples_of(step, last_digit_mm)) return step * last_digit_mm;
    return last_digit_mm;
  }

  // So many decimals, typed by less than half of the readings.
  bool some_alone_have(int decimals) const {
    const auto have = std::ranges::count_if(typed_decimals_, [=](int d) { return d >= decimals; });
    return decimals > 0 && 2 * have < std::ssize(typed_decimals_);
  }

  bool whole_numbers() const {
    return !numbers_.empty() && decimals_ == 0 &&
           (out_.unit == LengthUnit::kMm || out_.unit == LengthUnit::kInch);
  }

  bool all_multiples_of(int step, double last_digit_mm) const {
    int not_zero = 0;
    for (const double value_mm : numbers_) {
      const double digits = std::round(value_mm / last_digit_mm);
      if (std::abs(digits) > 1e15 || std::fmod(digits, step) != 0) return false;
      not_zero += digits != 0;
    }
    return not_zero >= (step == 2 ? 20 : step == 5 ? 8 : 4);
  }

  Readings out_;
  std::optional<double> nominal_mm_;  // diameter that deviations are counted from
  std::optional<Columns> columns_;    // where a header orders them otherwise than x,y
  int number_ = 0, count_ = 0;
  bool any_reading_ = false, header_seen_ = false, turned_ = false;
  std::string last_csv_;  // of the reading above
  double orientation_ = 0;
  std::vector<double> orientations_;
  std::vector<double> numbers_;                        // mm: x and y, of polar readings R
  std::vector<int> typed_decimals_;                    // by reading
  int decimals_ = 0;                                   // the most
  std::map<std::pair<double, double>, int> first_at_;  // place -> index of its first reading
  std::map<int, std::vector<int>> again_;              // first reading -> re-readings
};

}  // namespace

std::string_view profile_word(ProfileReading what) {
  return what == ProfileReading::kRadius ? "radius" : what == ProfileReading::kDiameter ? "diameter" : "edge";
}

std::optional<ProfileReading> parse_profile_word(std::string_view word) {
  for (const ProfileReading what :
       {ProfileReading::kRadius, ProfileReading::kDiameter, ProfileReading::kEdge})
    if (word == profile_word(what)) return what;
  return std::nullopt;
}

Result<Readings> parse_points(const std::string& text, LengthUnit bare) {
  std::string_view rest = text;
  if (rest.starts_with("\xFF\xFE") || rest.starts_with("\xFE\xFF"))
    return at_line(1, ErrorCode::kBadLine, "found UTF-16, needed plain text (UTF-8)");
  if (rest.starts_with("\xEF\xBB\xBF")) rest.remove_prefix(3);
  PointsParser parser(bare);
  for (int number = 1; !rest.empty(); ++number)
    if (const auto ok = parser.line(take_line(rest), number); !ok) return at_line(number, ok.error());
  return std::move(parser).finish();
}

std::optional<Repeatability> repeatability(const Readings& readings, PartPoint center) {
  Repeatability r;
  double sum = 0;
  for (const auto& place : readings.again) {
    double mean = 0, squares = 0;
    const auto distance = [&](int i) {
      const PartPoint& p = readings.points[std::size_t(i)].at;
      return std::hypot(p.x_mm - center.x_mm, p.y_mm - center.y_mm);
    };
    for (const int i : place) mean += distance(i) / double(place.size());
    for (const int i : place) squares += (distance(i) - mean) * (distance(i) - mean);
    sum += squares;
    r.degrees_of_freedom += int(place.size()) - 1;
    ++r.places;
  }
  if (r.degrees_of_freedom < 1) return std::nullopt;
  r.s_mm = std::sqrt(sum / r.degrees_of_freedom);
  return r;
}

}  // namespace rondure
