// The sentences of `rondure record`.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "cli/readings/readings_profile.hpp"
#include "cli/readings/record_desk.hpp"
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

std::string RecordDesk::question_about(int number) {
  const SessionReading* r = session_.find(number);
  const auto at = std::find(fitted_.begin(), fitted_.end(), number);
  if (!r || at == fitted_.end() || fit_.answer().deviation_mm.empty()) return running_words();
  const auto index = std::size_t(at - fitted_.begin());
  const RunningAnswer& now = fit_.answer();
  const auto misfit = [&](PartPoint read_at) {
    const PartPoint p =
        options_.stage ? options_.stage->part_from_stage({read_at.x_mm, read_at.y_mm}) : read_at;
    return now.deviation_of_mm(p) / now.scatter_mm;
  };
  question_ = Question{number, std::nullopt};
  if (std::holds_alternative<MeasuredPoint>(r->reading.value))
    question_->slip = explaining_slip(r->reading.csv, session_.unit(), misfit);
  const double off_mm = now.deviation_mm[index];
  std::string text = fmt::format("{} is {} {} {} the others", number, number_text(std::abs(off_mm)),
                                 symbol(session_.unit()), off_mm > 0 ? "outside" : "inside");
  if (question_->slip)
    return text + fmt::format(": was {} meant ({})? yes / keep / delete", question_->slip->csv,
                              question_->slip->what);
  return text + ": read it once more ('correct x y'), or keep / delete";
}

std::string RecordDesk::repeat_words() const {
  const auto parsed = parse_points(session_.text(), session_.unit());
  if (!parsed || !fit_.answer().circle) return "how well readings repeat can be told once there is a circle";
  const auto u = repeatability(*parsed, fit_.answer().circle->center);
  if (!u) return "readings repeat: cannot tell yet";
  return fmt::format("readings repeat within {} {} (standard deviation, {})", number_text(u->s_mm, 1),
                     symbol(session_.unit()), plural(std::size_t(u->degrees_of_freedom), "re-reading"));
}

std::string RecordDesk::number_text(double mm, int more_decimals) const {
  const int least = session_.unit() == LengthUnit::kMm ? 3 : session_.unit() == LengthUnit::kInch ? 4 : 1;
  return fmt::format("{:.{}f}", mm / mm_per(session_.unit()),
                     std::clamp(decimals_, least, 8) + more_decimals);
}

std::string RecordDesk::signed_text(double mm) const {
  const std::string size = number_text(std::abs(mm));
  const bool zero = size.find_first_not_of("0.") == std::string::npos;
  return (zero ? "" : mm < 0 ? "-" : "+") + size;
}

// "R 0.2367 +- 0.0001 in (6.013 mm)": of the part, as 'fit' gives it; "about" while nobody can say how well.
std::string RecordDesk::radius_text() const {
  const RunningAnswer& now = fit_.answer();
  const LengthUnit unit = session_.unit();
  const LengthUnit other = unit == LengthUnit::kMm ? LengthUnit::kInch : LengthUnit::kMm;
  double radius_mm = now.circle->radius_mm * options_.outline.at_20_c_ratio();
  if (now.used == 3)
    return fmt::format("R about {} {} ({}){}", number_text(radius_mm), symbol(unit),
                       unit == LengthUnit::kMm ? format_inch(radius_mm, 4) : format_mm(radius_mm, 3),
                       now.coverage_deg < 90 ? " from a short arc" : "");
  double u_mm = fitted_.size() > kMostMeasuredLive && now.u_radius_mm ? *now.u_radius_mm : 0;
  if (part_ && part_->circle->u_diameter_mm && part_->circle->diameter95_mm) {
    radius_mm = part_->circle->diameter_mm / 2;
    u_mm = *part_->circle->u_diameter_mm / 2;
  }
  if (!(u_mm > 0)) return "R cannot be given yet: the arc is too short";
  // two figures of u, and no more decimals than one beyond what was read, unless u would read 0
  const int two_figures = decimals_for_u(u_mm / mm_per(unit));
  const int decimals = std::max(std::min(two_figures, decimals_ + 1), two_figures - 1);
  return fmt::format("R {:.{}f} +- {:.{}f} {} ({:.{}f} {})", radius_mm / mm_per(unit), decimals,
                     u_mm / mm_per(unit), decimals, symbol(unit), radius_mm / mm_per(other),
                     decimals + (unit == LengthUnit::kMm ? 1 : -1), symbol(other));
}

std::string RecordDesk::ovality_text() const {
  const RunningAnswer& now = fit_.answer();
  if (part_ && part_->ellipse && part_->ellipse->ovality95_mm) {
    const EllipseResult& e = *part_->ellipse;
    if (e.major_angle_deg)
      return fmt::format(", oval {} at {}", number_text(e.ovality_mm), degrees(*e.major_angle_deg));
    return fmt::format(", oval under {}", number_text(e.ovality95_mm->hi));
  }
  if (!now.ovality_mm) return "";
  const Estimate o = *now.ovality_mm;
  if (o.value > 2.45 * o.u)
    return fmt::format(", oval {} at {}", number_text(o.value), degrees(now.ovality_axis_deg));
  return fmt::format(", oval under {}", number_text(o.value + 2 * o.u));
}

bool RecordDesk::gap_matters() const {
  const RunningAnswer& now = fit_.answer();
  return now.next && (options_.arc || 360 - now.coverage_deg > 40);
}

std::string RecordDesk::doubt_words() const {
  std::string names;
  int count = 0;
  for (std::size_t i = 0; i < fitted_.size(); ++i)
    if (fit_.doubted()[i]) names += fmt::format("{}{}", count++ == 0 ? "" : ", ", fitted_[i]);
  if (count == 0) return "";
  return count > 3 ? fmt::format("; without {} readings", count) : "; without " + names;
}

// At a terminal the prompt tells how much was seen and where to go on.
std::string RecordDesk::prompt() const {
  const RunningAnswer& now = fit_.answer();
  if (!now.circle || fitted_.size() < 3) return fmt::format("{}> ", next_number());
  return fmt::format("{} ({:.0f} of 360 seen{})> ", next_number(), now.coverage_deg,
                     gap_matters() ? ", next near " + degrees(now.next->at_deg) : "");
}

std::string RecordDesk::running_words(bool with_last, std::size_t columns_taken) const {
  if (session_.profile()) return profile_words();
  const RunningAnswer& now = fit_.answer();
  if (fitted_.empty()) return "no readings here yet";
  if (fitted_.size() < 3) return fmt::format("{} more for a radius", 3 - fitted_.size());
  if (!now.circle) return "no circle yet, the readings lie on a line or in one place";
  ShortLine line(radius_text(), kColumns - std::min(columns_taken, kColumns));
  line.add(4, ovality_text());
  if (with_last && fitted_.size() > 3)
    line.add(2, fmt::format(", this {}", signed_text(now.deviation_mm.back())));
  line.add(1, doubt_words());
  if (!options_.talks_at_length) {
    line.add(5, fmt::format("; seen {:.0f}", now.coverage_deg));
    if (gap_matters()) line.add(3, ", next near " + degrees(now.next->at_deg));
  }
  return line.text();
}

std::string RecordDesk::profile_words() const {
  const auto parsed = parse_points(session_.text(), session_.unit());
  if (!parsed) return parsed.error().message();
  return profile_so_far(*parsed, options_.stage ? &*options_.stage : nullptr);
}

std::string RecordDesk::where() const {
  if (session_.profile()) return "anywhere along the axis: " + profile_words();
  const RunningAnswer& now = fit_.answer();
  if (!now.next || !now.circle) return "anywhere: " + running_words();
  return fmt::format(
      "next near {} degrees (nothing yet from {} to {}): it takes the uncertainty of R to {:.0f} %",
      degrees(now.next->at_deg), degrees(now.next->gap_from_deg), degrees(now.next->gap_to_deg),
      100 * now.next->radius_u_ratio);
}

std::string RecordDesk::status() const {
  return fmt::format("{}: ", plural(session_.readings().size(), "reading")) + running_words();
}

std::string RecordDesk::list() const {
  if (session_.readings().empty()) return "no readings yet";
  std::string text;
  const char* between = options_.talks_at_length ? "\n" : "; ";
  for (const auto& r : session_.readings()) {
    text += fmt::format("{}{} {}", text.empty() ? "" : between, r.number, r.reading.csv);
    const auto at = std::find(fitted_.begin(), fitted_.end(), r.number);
    if (at != fitted_.end() && !fit_.answer().deviation_mm.empty()) {
      const auto i = std::size_t(at - fitted_.begin());
      text += fmt::format(" ({}{})", signed_text(fit_.answer().deviation_mm[i]),
                          fit_.doubted()[i] ? ", in doubt" : "");
    }
    if (r.again_of) text += " again";
    if (r.confirmed) text += " as read";
  }
  return text;
}

std::string RecordDesk::full_fit() const {
  if (!options_.talks_at_length || session_.profile()) return status();
  const auto parsed = parse_points(session_.text(), session_.unit());
  if (!parsed) return parsed.error().message();
  const auto feature =
      measure_readings(*parsed, options_.stage ? &*options_.stage : nullptr, options_.outline);
  if (!feature) return "no answer yet, " + feature.error().message();
  std::string text = feature_text(*feature, {session_.unit(), line_width(), false, terminal_ink()});
  while (!text.empty() && text.back() == '\n') text.pop_back();
  return text;
}

}  // namespace rondure::cli
