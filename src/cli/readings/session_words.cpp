#include "cli/readings/session_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "cli/readings/readings_profile.hpp"
#include "cli/terminal/paint.hpp"
#include "cli/terminal/text_words.hpp"
#include "rondure/measure/measure_readings.hpp"
#include "rondure/readings/points_file.hpp"
#include "rondure/report/feature_text.hpp"

namespace rondure::cli {
namespace {

std::string degrees(double deg) { return fmt::format("{}", std::lround(deg) % 360); }

// Pieces of a line, each with its importance: those that fit are shown, in the order in which they were
// added.
class ShortLine {
public:
  ShortLine(std::string begins, std::size_t columns) : begins_(std::move(begins)), columns_(columns) {}
  void add(int importance, std::string text) {
    if (!text.empty()) pieces_.push_back({importance, std::move(text)});
  }
  std::string text() const {
    std::vector<const Piece*> by_importance;
    for (const Piece& p : pieces_) by_importance.push_back(&p);
    std::ranges::stable_sort(by_importance, {}, [](const Piece* p) { return p->importance; });
    std::size_t length = begins_.size();
    std::vector<const Piece*> shown;
    for (const Piece* p : by_importance)
      if (length + p->text.size() <= columns_) length += p->text.size(), shown.push_back(p);
    std::string line = begins_;
    for (const Piece& p : pieces_)
      if (std::ranges::find(shown, &p) != shown.end()) line += p.text;
    return line;
  }

private:
  struct Piece {
    int importance;
    std::string text;
  };
  std::string begins_;
  std::size_t columns_;
  std::vector<Piece> pieces_;
};

}  // namespace

std::string plural(std::size_t n, const char* word) {
  return fmt::format("{} {}{}", n, word, n == 1 ? "" : "s");
}

std::string SessionWords::question(int number, const std::optional<Slip>& slip) const {
  const auto index = fit_.index_of(number);
  if (!index || fit_.now().deviation_mm.empty()) return running();
  const double off_mm = fit_.now().deviation_mm[*index];
  std::string text = fmt::format("{} is {} {} {} the others", number, this->number(std::abs(off_mm)),
                                 symbol(session_.unit()), off_mm > 0 ? "outside" : "inside");
  if (slip) return text + fmt::format(": was {} meant ({})? yes / keep / delete", slip->csv, slip->what);
  return text + ": read it once more ('correct x y'), or keep / delete";
}

std::string SessionWords::repeats() const {
  const auto parsed = parse_points(session_.text(), session_.unit());
  if (!parsed || !fit_.now().circle) return "how well readings repeat can be told once there is a circle";
  const auto u = repeatability(*parsed, fit_.now().circle->center);
  if (!u) return "readings repeat: cannot tell yet";
  return fmt::format("readings repeat within {} {} (standard deviation, {})", number(u->s_mm, 1),
                     symbol(session_.unit()), plural(std::size_t(u->degrees_of_freedom), "re-reading"));
}

std::string SessionWords::number(double mm, int more_decimals) const {
  const int least = session_.unit() == LengthUnit::kMm ? 3 : session_.unit() == LengthUnit::kInch ? 4 : 1;
  return fmt::format("{:.{}f}", mm / mm_per(session_.unit()),
                     std::clamp(fit_.decimals(), least, 8) + more_decimals);
}

std::string SessionWords::signed_number(double mm) const {
  const std::string size = number(std::abs(mm));
  const bool zero = size.find_first_not_of("0.") == std::string::npos;
  return (zero ? "" : mm < 0 ? "-" : "+") + size;
}

// "R 0.2367 +- 0.0001 in (6.013 mm)": of the part, as 'fit' gives it; "about" while nobody can say how well.
std::string SessionWords::radius() const {
  const RunningAnswer& now = fit_.now();
  const LengthUnit unit = session_.unit();
  const LengthUnit other = unit == LengthUnit::kMm ? LengthUnit::kInch : LengthUnit::kMm;
  double radius_mm = now.circle->radius_mm * fit_.at_20_c_ratio();
  if (now.used == 3)
    return fmt::format("R about {} {} ({}){}", number(radius_mm), symbol(unit),
                       unit == LengthUnit::kMm ? format_inch(radius_mm, 4) : format_mm(radius_mm, 3),
                       now.coverage_deg < 90 ? " from a short arc" : "");
  double u_mm = fit_.numbers().size() > kMostMeasuredLive && now.u_radius_mm ? *now.u_radius_mm : 0;
  if (fit_.part() && fit_.part()->circle->u_diameter_mm && fit_.part()->circle->diameter95_mm) {
    radius_mm = fit_.part()->circle->diameter_mm / 2;
    u_mm = *fit_.part()->circle->u_diameter_mm / 2;
  }
  if (!(u_mm > 0)) return "R cannot be given yet: the arc is too short";
  // two figures of u, and no more decimals than one beyond what was read, unless u would read 0
  const int two_figures = decimals_for_u(u_mm / mm_per(unit));
  const int decimals = std::max(std::min(two_figures, fit_.decimals() + 1), two_figures - 1);
  return fmt::format("R {:.{}f} +- {:.{}f} {} ({:.{}f} {})", radius_mm / mm_per(unit), decimals,
                     u_mm / mm_per(unit), decimals, symbol(unit), radius_mm / mm_per(other),
                     decimals + (unit == LengthUnit::kMm ? 1 : -1), symbol(other));
}

std::string SessionWords::ovality() const {
  const RunningAnswer& now = fit_.now();
  if (fit_.part() && fit_.part()->ellipse && fit_.part()->ellipse->ovality95_mm) {
    const EllipseResult& e = *fit_.part()->ellipse;
    if (e.major_angle_deg)
      return fmt::format(", oval {} at {}", number(e.ovality_mm), degrees(*e.major_angle_deg));
    return fmt::format(", oval under {}", number(e.ovality95_mm->hi));
  }
  if (!now.ovality_mm) return "";
  const Estimate o = *now.ovality_mm;
  if (o.value > 2.45 * o.u)
    return fmt::format(", oval {} at {}", number(o.value), degrees(now.ovality_axis_deg));
  return fmt::format(", oval under {}", number(o.value + 2 * o.u));
}

bool SessionWords::gap_matters() const {
  const RunningAnswer& now = fit_.now();
  return now.next && (session_.arc() || 360 - now.coverage_deg > 40);
}

std::string SessionWords::doubt() const {
  std::string names;
  int count = 0;
  for (std::size_t i = 0; i < fit_.numbers().size(); ++i)
    if (fit_.doubted(i)) names += fmt::format("{}{}", count++ == 0 ? "" : ", ", fit_.numbers()[i]);
  if (count == 0) return "";
  return count > 3 ? fmt::format("; without {} readings", count) : "; without " + names;
}

// At a terminal the prompt tells how much was seen and where to go on.
std::string SessionWords::prompt(int next_number) const {
  const RunningAnswer& now = fit_.now();
  if (!now.circle || fit_.numbers().size() < 3) return fmt::format("{}> ", next_number);
  return fmt::format("{} ({:.0f} of 360 seen{})> ", next_number, now.coverage_deg,
                     gap_matters() ? ", next near " + degrees(now.next->at_deg) : "");
}

std::string SessionWords::running(bool with_last, std::size_t columns_taken) const {
  if (session_.profile()) return profile();
  const RunningAnswer& now = fit_.now();
  if (fit_.numbers().empty()) return "no readings here yet";
  if (fit_.numbers().size() < 3) return fmt::format("{} more for a radius", 3 - fit_.numbers().size());
  if (!now.circle) return "no circle yet, the readings lie on a line or in one place";
  ShortLine line(radius(), kColumns - std::min(columns_taken, kColumns));
  line.add(4, ovality());
  if (with_last && fit_.numbers().size() > 3)
    line.add(2, fmt::format(", this {}", signed_number(now.deviation_mm.back())));
  line.add(1, doubt());
  if (!talks_at_length_) {
    line.add(5, fmt::format("; seen {:.0f}", now.coverage_deg));
    if (gap_matters()) line.add(3, ", next near " + degrees(now.next->at_deg));
  }
  return line.text();
}

std::string SessionWords::profile() const {
  const auto parsed = parse_points(session_.text(), session_.unit());
  if (!parsed) return parsed.error().message();
  return profile_so_far(*parsed, fit_.stage());
}

std::string SessionWords::where() const {
  if (session_.profile()) return "anywhere along the axis: " + profile();
  const RunningAnswer& now = fit_.now();
  if (!now.next || !now.circle) return "anywhere: " + running();
  return fmt::format(
      "next near {} degrees (nothing yet from {} to {}): it takes the uncertainty of R to {:.0f} %",
      degrees(now.next->at_deg), degrees(now.next->gap_from_deg), degrees(now.next->gap_to_deg),
      100 * now.next->radius_u_ratio);
}

std::string SessionWords::status() const {
  return fmt::format("{}: ", plural(session_.readings().size(), "reading")) + running();
}

std::string SessionWords::list() const {
  if (session_.readings().empty()) return "no readings yet";
  std::string text;
  const char* between = talks_at_length_ ? "\n" : "; ";
  for (const auto& r : session_.readings()) {
    text += fmt::format("{}{} {}", text.empty() ? "" : between, r.number, r.reading.csv);
    if (const auto i = fit_.index_of(r.number); i && !fit_.now().deviation_mm.empty())
      text += fmt::format(" ({}{})", signed_number(fit_.now().deviation_mm[*i]),
                          fit_.doubted(*i) ? ", in doubt" : "");
    if (r.again_of) text += " again";
    if (r.confirmed) text += " as read";
  }
  return text;
}

std::string SessionWords::full_fit() const {
  if (!talks_at_length_ || session_.profile()) return status();
  const auto parsed = parse_points(session_.text(), session_.unit());
  if (!parsed) return parsed.error().message();
  const auto feature = measure_readings(*parsed, fit_.stage(), fit_.outline());
  if (!feature) return "no answer yet, " + feature.error().message();
  std::string text = feature_text(*feature, {session_.unit(), line_width(), false, terminal_ink()});
  while (!text.empty() && text.back() == '\n') text.pop_back();
  return text;
}

}  // namespace rondure::cli
