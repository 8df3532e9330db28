#include "rondure/readings/session.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "line_text.hpp"
#include "rondure/readings/points_file.hpp"

namespace rondure {
namespace {

constexpr std::string_view kDeleted = "# deleted: ", kCorrected = "# corrected: ", kUndone = "# undone: ";
constexpr std::string_view kAgain = "  # again ", kKept = "# kept: ";

bool starts_with(std::string_view line, std::string_view mark) {
  return trimmed(line).starts_with(trimmed(mark));
}

std::string comment_of(std::string_view line) {
  const auto hash = line.find('#');
  return std::string(hash == std::string_view::npos ? std::string_view() : trimmed(line.substr(hash + 1)));
}

// The reading that a "# again" comment repeats, as csv; nothing for other comments.
std::optional<std::string> repeated(std::string_view comment) {
  if (!lower(comment).starts_with("again")) return std::nullopt;
  return std::string(trimmed(
      comment.substr(5, comment.find(';') == std::string_view::npos ? comment.npos : comment.find(';') - 5)));
}

// A comment is one line of text: no line ends, no control characters.
std::string one_line(const std::string& words) {
  std::string text(trimmed(words));
  for (char& c : text)
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7F) c = ' ';
  return text.substr(0, 800);
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  if (const auto at = text.find(from); at != std::string::npos) text.replace(at, from.size(), to);
  return text;
}

// `before`, and as comments the readings and undone lines that came since.
std::vector<std::string> with_undone_lines(const std::vector<std::string>& before,
                                           const std::vector<std::string>& now) {
  std::vector<std::string> lines = before, known = before;
  for (const auto& line : now) {
    if (const auto at = std::find(known.begin(), known.end(), line); at != known.end()) {
      known.erase(at);
    } else if (starts_with(line, kUndone)) {
      lines.push_back(line);
    } else if (!starts_with(line, "#") && !trimmed(line).empty()) {
      lines.push_back(std::string(kUndone) + line);
    }
  }
  return lines;
}

Error nothing_such(int number) {
  return {ErrorCode::kBadArgument, "there is no reading " + std::to_string(number)};
}

}  // namespace

Result<Session> Session::open(const std::filesystem::path& file, LengthUnit unit, bool unit_asked) {
  auto book =
      Notebook::open(file, {"# readings taken by hand, one a line", "# unit: " + std::string(symbol(unit))});
  if (!book) return book.error();
  Session session(std::move(*book));
  if (const auto done = session.derive(unit); !done) return done.error();
  if (unit_asked && session.unit_ != unit)
    return Error{ErrorCode::kMixedUnits, "found a file in " + std::string(unit_word(session.unit_)) +
                                             ", asked for " + std::string(unit_word(unit))};
  return session;
}

Result<bool> Session::catch_up() {
  const auto changed = book_.catch_up();
  if (!changed || !*changed) return changed;
  steps_.clear();
  if (const auto done = derive(unit_); !done) return done.error();
  return true;
}

std::string Session::text() const {
  std::string all;
  for (const auto& line : book_.lines()) all += line + "\n";
  return all;
}

// Everything from the lines, as any reader of the file would have it.
Result<void> Session::derive(LengthUnit bare) {
  const auto parsed = parse_points(text(), bare);
  if (!parsed) return parsed.error();
  unit_ = parsed->unit, profile_ = parsed->profile;
  readings_.clear();
  orientation_rad_ = 0;
  arc_ = false;
  same_ = parsed->same;
  const auto& numbered = parsed->line_of_reading;  // by file line, from 1
  last_number_ = static_cast<int>(numbered.size());
  const std::set<int> kept(parsed->kept_lines.begin(), parsed->kept_lines.end());
  const auto& lines = book_.lines();
  int number = 0;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    std::string_view line = trimmed(lines[i]);
    if (i == 0 && line.starts_with("\xEF\xBB\xBF")) line.remove_prefix(3);
    const std::string comment = comment_of(line);
    const std::string_view body = trimmed(line.substr(0, line.find('#')));
    if (body.empty()) {
      arc_ = arc_ || comment == kArcMark;
      if (lower(comment).starts_with("orientation"))
        if (const auto one = parse_points(std::string(line) + "\n0,0\n");
            one && !one->orientation_rad.empty())
          orientation_rad_ = one->orientation_rad[0];
      continue;
    }
    auto reading = parse_reading_line(body, unit_);
    if (!reading) continue;  // the header
    const int file_line = static_cast<int>(i) + 1;
    while (number < last_number_ && numbered[static_cast<std::size_t>(number)] != file_line) ++number;
    readings_.push_back(
        {++number, std::move(*reading), orientation_rad_, kept.contains(file_line), repeated(comment), i});
  }
  return {};
}

const SessionReading* Session::find(int number) const {
  const auto it =
      std::find_if(readings_.begin(), readings_.end(), [&](const auto& r) { return r.number == number; });
  return it == readings_.end() ? nullptr : &*it;
}

Result<void> Session::append(const std::string& line, const std::string& what) {
  if (const auto done = book_.append(line); !done) return done;
  steps_.push_back({what, std::nullopt, book_.lines().size() - 1});
  return {};
}

Result<void> Session::change(std::vector<std::string> lines, const std::string& what) {
  auto before = book_.lines();
  if (const auto done = book_.replace(std::move(lines)); !done) return done;
  steps_.push_back({what, std::move(before), 0});
  return derive(unit_);
}

Result<void> Session::add(const Reading& reading) {
  const std::string what = fmt::format("reading {} ({})", last_number_ + 1, reading.csv);
  if (const auto done = append(reading.csv, what); !done) return done;
  readings_.push_back(
      {++last_number_, reading, orientation_rad_, false, std::nullopt, book_.lines().size() - 1});
  return {};
}

Result<void> Session::add_again(const Reading& reading, int of_number) {
  const SessionReading* first = find(of_number);
  if (!first) return nothing_such(of_number);
  if (!std::holds_alternative<MeasuredPoint>(first->reading.value) ||
      !std::holds_alternative<MeasuredPoint>(reading.value))
    return Error{ErrorCode::kBadArgument, "only x,y readings can be read again"};
  const std::string of = first->again_of.value_or(first->reading.csv);
  const std::string what = fmt::format("reading {} ({})", last_number_ + 1, reading.csv);
  if (const auto done = append(reading.csv + std::string(kAgain) + of, what); !done) return done;
  readings_.push_back({++last_number_, reading, orientation_rad_, false, of, book_.lines().size() - 1});
  return {};
}

Result<void> Session::correct(int number, const Reading& reading) {
  const SessionReading* old = find(number);
  if (!old) return nothing_such(number);
  auto lines = book_.lines();
  std::string fresh = reading.csv;
  if (old->again_of) fresh += std::string(kAgain) + *old->again_of;
  for (const auto& r : readings_)
    if (r.again_of == old->reading.csv && r.number != number)
      lines[r.line] = replaced(lines[r.line], "again " + old->reading.csv, "again " + reading.csv);
  lines[old->line] = std::string(kCorrected) + std::string(trimmed(lines[old->line]));
  lines.insert(lines.begin() + std::ptrdiff_t(old->line) + 1, fresh);
  return change(std::move(lines), fmt::format("the correction of {}", number));
}

Result<void> Session::erase(int number) {
  const SessionReading* old = find(number);
  if (!old) return nothing_such(number);
  auto lines = book_.lines();
  // its re-readings repeat the first of themselves from now on
  std::optional<std::string> heir;
  for (const auto& r : readings_) {
    if (r.again_of != old->reading.csv || r.number == number || old->again_of) continue;
    const std::string repeat = heir ? "again " + *heir : "the first reading of its place that stands";
    lines[r.line] = replaced(lines[r.line], "again " + old->reading.csv, repeat);
    if (!heir) heir = r.reading.csv;
  }
  lines[old->line] = std::string(kDeleted) + std::string(trimmed(lines[old->line]));
  if (old->confirmed)
    if (const auto mark = std::find_if(lines.begin() + std::ptrdiff_t(old->line), lines.end(),
                                       [](const auto& l) { return starts_with(l, kKept); });
        mark != lines.end())
      lines.erase(mark);
  return change(std::move(lines), fmt::format("the deletion of {}", number));
}

Result<void> Session::confirm(int number) {
  const SessionReading* old = find(number);
  if (!old) return nothing_such(number);
  if (old->confirmed) return {};
  auto lines = book_.lines();
  lines.insert(lines.begin() + std::ptrdiff_t(old->line) + 1, std::string(kKept) + old->reading.csv);
  return change(std::move(lines), fmt::format("the confirmation of {}", number));
}

Result<void> Session::note(const std::string& words) {
  return append("# note: " + one_line(words), "the note");
}

Result<void> Session::set_same(const std::string& word) {
  if (const auto done = append("# same: " + one_line(word), "the word for the drawing"); !done) return done;
  return derive(unit_);
}

Result<void> Session::turned(double angle_deg) {
  if (const auto done = append(fmt::format("# orientation: {:g}", angle_deg), "the turn"); !done) return done;
  return derive(unit_);
}

Result<void> Session::set_arc() {
  if (arc_) return {};
  if (const auto done = append("# " + std::string(kArcMark), "the arc alone"); !done) return done;
  arc_ = true;
  return {};
}

Result<void> Session::set_profile(ProfileReading what) {
  if (profile_ == what) return {};
  if (profile_ || !readings_.empty())
    return Error{ErrorCode::kBadArgument,
                 "--along: found a file of " +
                     (profile_ ? "profile readings of the " + std::string(profile_word(*profile_))
                               : std::string("readings round an outline")) +
                     ", needed a new file or the same kind"};
  if (const auto done = append("# profile: " + std::string(profile_word(what)), "the kind of profile"); !done)
    return done;
  profile_ = what;
  return {};
}

Result<void> Session::set_unit(LengthUnit unit) {
  if (unit == unit_) return {};
  if (!readings_.empty())
    return Error{ErrorCode::kMixedUnits, "found the unit " + std::string(symbol(unit)) +
                                             " among readings in " + std::string(unit_word(unit_))};
  auto lines = book_.lines();
  const std::string stated = "# unit: " + std::string(symbol(unit));
  const auto at = std::find_if(lines.begin(), lines.end(),
                               [](const auto& l) { return starts_with(lower(l), "# unit:"); });
  if (at == lines.end())
    lines.push_back(stated);
  else
    *at = stated;
  if (const auto done = book_.replace(std::move(lines)); !done) return done;
  steps_.clear();
  return derive(unit);
}

Result<std::string> Session::undo() {
  if (steps_.empty()) {  // resumed: the last reading
    if (readings_.empty()) return Error{ErrorCode::kBadArgument, "there is nothing to undo"};
    const auto& last = readings_.back();
    steps_.push_back(
        {fmt::format("reading {} ({})", last.number, last.reading.csv), std::nullopt, last.line});
  }
  const Step step = steps_.back();
  auto lines = book_.lines();
  if (step.lines_before)
    lines = with_undone_lines(*step.lines_before, lines);
  else
    lines[step.appended] = std::string(kUndone) + lines[step.appended];
  if (const auto done = book_.replace(std::move(lines)); !done) return done.error();
  steps_.pop_back();
  if (const auto done = derive(unit_); !done) return done.error();
  return step.what;
}

}  // namespace rondure
