#include "cli/readings/record_desk.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "rondure/core/quoting.hpp"
#include "rondure/readings/points_file.hpp"
#include "rondure/report/feature_text.hpp"

namespace rondure::cli {
namespace {

double distance(PartPoint a, PartPoint b) { return std::hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm); }

// "5", "5:" or "#5" alone.
std::optional<int> whole_number(std::string text) {
  while (!text.empty() && (text.back() == ':' || text.back() == ' ' || text.back() == '\t')) text.pop_back();
  if (text.empty() || text.size() > 7 || text.find_first_not_of("0123456789") != std::string::npos)
    return std::nullopt;
  return std::stoi(text);
}

}  // namespace

RecordDesk::RecordDesk(Session session, DeskOptions options)
    : session_(std::move(session)),
      fit_(std::move(options.stage), std::move(options.outline)),
      digits_(options.decimals),
      talks_at_length_(options.talks_at_length) {
  fit_.anew(session_);
  for (std::size_t i = 0; i < fit_.numbers().size(); ++i)
    if (fit_.doubted(i)) asked_.push_back(fit_.numbers()[i]);
  session_.rest();
}

int RecordDesk::next_number() const { return session_.last_number() + 1; }

std::string RecordDesk::greeting() {
  std::string text;
  for (const auto& event : session_.events()) text += event + "\n";
  const std::string file = session_.file().string(), unit(unit_word(session_.unit()));
  if (session_.readings().empty())
    text += fmt::format("{}, in {}. Type x y round the part; 'help' lists the other words.", file, unit);
  else
    text += fmt::format("{}: continuing after {} in {}. {}", file,
                        plural(session_.readings().size(), "reading"), unit, words().running());
  if (session_.arc()) text += "\nReadings are proposed on this arc alone.";
  if (!session_.same().empty()) text += "\nDrawn like the other parts marked '" + session_.same() + "'.";
  if (fit_.outline().temperature_c)
    text += "\nR and oval are those at 20 C; readings and deviations as read.";
  if (talks_at_length_) text += "\n" + std::string(kPlusMinus);
  if (!asked_.empty()) text += "\n" + question_about(asked_.back());
  return text;
}

std::string RecordDesk::answer(const std::string& line) {
  const int before = next_number();
  const auto others = session_.catch_up();
  if (!others) return refused(others.error());
  if (*others) {
    question_.reset();
    fit_.anew(session_);
  }
  must_be_said_ = false;
  std::string text = take(read_words(line), line);
  if (*others)
    text += before == next_number()
                ? "; note: readings were changed elsewhere meanwhile"
                : "; note: readings were changed or added elsewhere meanwhile, all are kept";
  session_.rest();
  for (const auto& event : session_.events()) text += "; note: " + event;
  return text;
}

std::string RecordDesk::take(const TypedLine& typed, const std::string& line) {
  const bool asks = typed.verb == Verb::kList || typed.verb == Verb::kFit || typed.verb == Verb::kBlank;
  if (asks && fit_.numbers().size() > kMostMeasuredLive) fit_.measure(session_, fit_.numbers().size());
  switch (typed.verb) {
    case Verb::kReading:
      return reading(line);
    case Verb::kUndo: {
      const auto what = session_.undo();
      if (!what) return refused(what.error());
      question_.reset();
      return "undone: " + *what + "; " + changed_words();
    }
    case Verb::kDelete:
      return erase(typed.rest);
    case Verb::kCorrect:
      return correct(typed.rest);
    case Verb::kAgain:
      return again(typed.rest);
    case Verb::kKeep:
      return keep(typed.rest);
    case Verb::kYes:
      return yes();
    case Verb::kNote: {
      if (typed.rest.empty())
        return refused({ErrorCode::kBadArgument, "found no words, needed 'note words'"});
      const auto done = session_.note(typed.rest);
      return done ? "noted" : refused(done.error());
    }
    case Verb::kSame:
      return same(typed.rest);
    case Verb::kTurned:
      return turned(typed.rest);
    case Verb::kArc:
      return arc();
    case Verb::kList:
      return words().list();
    case Verb::kWhere:
      return words().where();
    case Verb::kFit:
      return words().full_fit();
    case Verb::kHelp:
      return record_help(!talks_at_length_);
    case Verb::kQuit:
      quit_ = true;
      return fmt::format("{} in {}", plural(session_.readings().size(), "reading"), session_.file().string());
    case Verb::kComment:
      return comment(typed.rest);
    case Verb::kBlank:
      return words().status();
  }
  return words().status();
}

std::string RecordDesk::refused(const Error& error) {
  all_taken_ = false;
  must_be_said_ = true;
  if (error.code == ErrorCode::kBadArgument) return "nothing done: " + error.detail;
  if (error.code == ErrorCode::kFileUnwritable) return "NOT KEPT, " + error.message();
  return "not kept: " + error.detail;
}

Result<Reading> RecordDesk::read(const std::string& text) const {
  auto parsed = parse_reading_line(with_decimals(text, digits_), session_.unit());
  if (!parsed && parsed.error().code == ErrorCode::kBadLine && !text.empty() &&
      std::isalpha(static_cast<unsigned char>(text[0])))
    return Error{ErrorCode::kBadLine,
                 "found " + quoted_for_message(text) + ", needed x y or a word of 'help'"};
  return parsed;
}

std::string RecordDesk::reading(const std::string& line) {
  const auto hash = line.find('#');
  const std::string text = line.substr(0, hash);
  const std::string remark = hash == std::string::npos ? "" : line.substr(hash + 1);
  if (const auto typed = read_words(remark); hash != std::string::npos && typed.verb == Verb::kAgain) {
    const auto earlier = parse_reading_line(typed.rest, session_.unit());
    for (const auto& r : session_.readings())
      if (earlier && r.reading.csv == earlier->csv) return again(std::to_string(r.number) + " " + text);
  }
  // the header of a file that is poured in
  if (session_.readings().empty() && text.find_first_of("0123456789") == std::string::npos)
    if (const auto header = parse_points(text + "\n", session_.unit()); header && header->points.empty()) {
      if (header->unit_stated)
        if (const auto done = session_.set_unit(header->unit); !done) return refused(done.error());
      return fmt::format("a header; readings in {}", unit_word(session_.unit()));
    }
  const auto parsed = read(text);
  if (!parsed) return refused(parsed.error());
  if (const auto done = session_.add(*parsed); !done) return refused(done.error());
  if (parsed->converted)
    if (const auto done = session_.note(fmt::format("{} typed as {}", session_.last_number(), text)); !done)
      return refused(done.error());
  if (!remark.empty())
    if (const auto done = session_.note(remark); !done) return refused(done.error());
  fit_.one_more(session_, session_.readings().back());
  fit_.measure(session_);
  return after_reading();
}

// "7 kept: R 0.23672 +- 0.00011 in (6.0127 mm), ..." or the question that the reading raises.
std::string RecordDesk::after_reading() {
  const SessionReading& last = session_.readings().back();
  std::string text = fmt::format("{} kept", last.number);
  if (last.reading.converted) text += fmt::format(" as {} {}", last.reading.csv, symbol(session_.unit()));
  if (!is_point(last)) {
    if (const auto* chord = std::get_if<ChordReading>(&last.reading.value)) {
      const double c = chord->chord_mm.value, h = chord->sagitta_mm.value, radius = c * c / (8 * h) + h / 2;
      return text +
             fmt::format(": chord and sagitta give R {} {} ({})", words().number(radius, 1),
                         symbol(session_.unit()),
                         session_.unit() == LengthUnit::kMm ? format_inch(radius, 4) : format_mm(radius, 3));
    }
    return text + "; it goes into 'fit'";
  }
  if (const auto doubted = fit_.newly_doubted(asked_)) {
    if (*doubted == last.number)
      return text + ", but" + question_about(*doubted).substr(std::to_string(*doubted).size());
    return text + ": " + words().running(true, text.size() + 2) + "; but " + question_about(*doubted);
  }
  for (const auto& r : session_.readings())
    if (&r != &last && !last.again_of && r.reading.csv == last.reading.csv &&
        r.orientation_rad == last.orientation_rad) {
      question_ = Question{last.number, std::nullopt};
      must_be_said_ = true;
      return text +
             fmt::format(", but it equals {} to the last digit: 'undo' if it was typed twice, else 'keep'",
                         r.number);
    }
  return text + ": " + words().running(true, text.size() + 2);
}

std::string RecordDesk::changed_words() {
  fit_.anew(session_);
  if (const auto doubted = fit_.newly_doubted(asked_)) {
    return question_about(*doubted);
  }
  return words().running();
}

std::optional<std::pair<int, std::string>> RecordDesk::number_and_rest(const std::string& rest) const {
  const auto end = rest.find_first_of(" \t");
  if (end == std::string::npos) return std::nullopt;
  const auto number = whole_number(rest.substr(0, end));
  const std::string behind = rest.substr(end);
  if (!number || !read(behind)) return std::nullopt;
  return std::pair{*number, behind};
}

std::string RecordDesk::correct(const std::string& rest) {
  int number = question_                     ? question_->number
               : session_.readings().empty() ? 0
                                             : session_.readings().back().number;
  std::string text = rest;
  if (const auto both = number_and_rest(rest)) number = both->first, text = both->second;
  const auto parsed = read(text);
  if (!parsed)
    return refused(
        {ErrorCode::kBadArgument, "found " + quoted_for_message(rest) + ", needed 'correct N x y'"});
  if (const auto done = session_.correct(number, *parsed); !done) return refused(done.error());
  question_.reset();
  std::erase(asked_, number);
  return fmt::format("{} is {} now: ", number, parsed->csv) + changed_words();
}

std::string RecordDesk::again(const std::string& rest) {
  const auto both = number_and_rest(rest);
  const auto parsed = read(both ? both->second : rest);
  if (!parsed)
    return refused({ErrorCode::kBadArgument, "found " + quoted_for_message(rest) + ", needed 'again x y'"});
  const auto* point = std::get_if<MeasuredPoint>(&parsed->value);
  const SessionReading* nearest = both ? session_.find(both->first) : nullptr;
  if (!both && point)
    for (const auto& r : session_.readings())
      if (std::holds_alternative<MeasuredPoint>(r.reading.value) &&
          r.orientation_rad == session_.orientation_rad() &&
          (!nearest || distance(point_read(r).at, point->at) < distance(point_read(*nearest).at, point->at)))
        nearest = &r;
  if (!nearest || !point) return refused({ErrorCode::kBadArgument, "there is no reading x,y to read again"});
  const int of = nearest->number;
  const double off_mm = is_point(*nearest) ? distance(point_read(*nearest).at, point->at) : 0;
  if (const auto done = session_.add_again(*parsed, of); !done) return refused(done.error());
  fit_.one_more(session_, session_.readings().back());
  fit_.measure(session_);
  const int number = session_.readings().back().number;
  std::string text = fmt::format("{} kept as {} again, {} {} away; {}", number, of, words().number(off_mm),
                                 symbol(session_.unit()), words().repeats());
  if (const auto doubted = fit_.newly_doubted(asked_)) {
    text += "; but " + question_about(*doubted);
  }
  return text;
}

std::string RecordDesk::erase(const std::string& rest) {
  const auto given = whole_number(rest);
  if (!given && !(rest.empty() && question_))
    return refused({ErrorCode::kBadArgument, "found " + quoted_for_message(rest) +
                                                 ", needed 'delete N' with the number of a reading"});
  const int number = given ? *given : question_->number;
  const SessionReading* r = session_.find(number);
  const std::string was = r ? r->reading.csv : "";
  if (const auto done = session_.erase(number); !done) return refused(done.error());
  if (question_ && question_->number == number) question_.reset();
  return fmt::format("{} is out ({}): ", number, was) + changed_words();
}

std::string RecordDesk::keep(const std::string& rest) {
  const auto given = whole_number(rest);
  if (!given && !(rest.empty() && question_))
    return refused({ErrorCode::kBadArgument, "no reading is in question, needed 'keep N'"});
  const int number = given ? *given : question_->number;
  if (const auto done = session_.confirm(number); !done) return refused(done.error());
  if (question_ && question_->number == number) question_.reset();
  return fmt::format("{} stands as read: ", number) + changed_words();
}

std::string RecordDesk::yes() {
  if (!question_ || !question_->slip) return refused({ErrorCode::kBadArgument, "no correction was proposed"});
  return correct(std::to_string(question_->number) + " " + question_->slip->csv);
}

std::string RecordDesk::arc() {
  if (!session_.arc())
    if (const auto done = session_.set_arc(); !done) return refused(done.error());
  fit_.anew(session_);
  return "readings are proposed on this arc alone; " + words().where();
}

std::string RecordDesk::same(const std::string& word) {
  if (word.find_first_not_of(" \t") == std::string::npos)
    return refused(
        {ErrorCode::kBadArgument, "found no word, needed one for the drawing such as 'same roller'"});
  if (const auto done = session_.set_same(word); !done) return refused(done.error());
  return "drawn like the other parts marked '" + session_.same() + "'";
}

std::string RecordDesk::turned(const std::string& rest) {
  const auto angle = parse_number(rest);
  if (!angle || std::abs(*angle) > 3600)
    return refused(
        {ErrorCode::kBadArgument, "found " + quoted_for_message(rest) + ", needed 'turned 45' in degrees"});
  if (const auto done = session_.turned(*angle); !done) return refused(done.error());
  question_.reset();
  fit_.anew(session_);
  return fmt::format("the part lies turned by {:g} degrees: read round it afresh", *angle);
}

// Lines of a readings file that is poured in.
std::string RecordDesk::comment(const std::string& rest) {
  const auto line = "# " + rest + "\n";
  const auto colon = rest.find(':');
  const std::string key = rest.substr(0, colon),
                    value = colon == std::string::npos ? "" : rest.substr(colon + 1);
  if (key == "unit") {
    const auto unit = parse_unit(value);
    if (!unit) return refused(unit.error());
    if (const auto done = session_.set_unit(*unit); !done) return refused(done.error());
    return fmt::format("readings in {}", unit_word(session_.unit()));
  }
  if (rest == kArcMark) return arc();
  if (key == "same") return same(value);
  if (key == "kept" && !session_.readings().empty())
    if (const auto last = session_.readings().back(); read(value) && read(value)->csv == last.reading.csv)
      return keep(std::to_string(last.number));
  if (key == "orientation") return turned(value.substr(std::min(value.find_first_not_of(' '), value.size())));
  const auto done = session_.note(key == "note" ? value : rest);
  return done ? "noted" : refused(done.error());
}

std::string RecordDesk::question_about(int number) {
  asked_.push_back(number);
  question_ = Question{number, std::nullopt};
  must_be_said_ = true;
  if (const SessionReading* r = session_.find(number);
      r && fit_.index_of(number) && std::holds_alternative<MeasuredPoint>(r->reading.value))
    question_->slip =
        explaining_slip(r->reading.csv, session_.unit(), [&](PartPoint p) { return fit_.misfit(p); });
  return words().question(number, question_->slip);
}

}  // namespace rondure::cli
