// The dialogue of `rondure record`: one typed line in, one answer out. Keeps the session on disk, the running
// fit and the question that is open.
#pragma once
#include <optional>
#include <string>

#include "cli/readings/record_words.hpp"
#include "rondure/interpret/outline.hpp"
#include "rondure/interpret/running_fit.hpp"
#include "rondure/readings/session.hpp"
#include "rondure/readings/slip.hpp"
#include "rondure/readings/stage.hpp"

namespace rondure::cli {

// "1 reading", "2 readings"
std::string plural(std::size_t n, const char* word);

// Up to so many readings the part's own values are given after each; beyond, those of the running fit.
inline constexpr std::size_t kMostMeasuredLive = 200;
// What is said after a reading fits on one line of a terminal.
inline constexpr std::size_t kColumns = 80;

struct DeskOptions {
  int decimals = 0;              // --digits: of numbers typed without a decimal sign
  bool arc = false;              // taken from the session
  bool talks_at_length = false;  // a person at a terminal: lists and help over several lines
  std::optional<StageCalibration> stage;
  OutlineOptions outline;  // --temperature: the part's values, live and in the end, are those at 20 C
};

class RecordDesk {
public:
  RecordDesk(Session session, DeskOptions options);

  // The answer, without a line end; one line unless the desk talks at length.
  std::string answer(const std::string& line);
  std::string greeting();
  bool wants_to_quit() const { return quit_; }
  bool all_taken() const { return all_taken_; }  // every line so far was understood and kept
  int next_number() const;
  std::string prompt() const;  // "8 (210 of 360 seen, next near 285)> "
  const Session& session() const { return session_; }
  // What 'fit' gives of the file as it stands; null where it has not been worked out (kMostMeasuredLive).
  const Feature* measured_file() const { return of_file_ && part_ ? &*part_ : nullptr; }
  // Where the next reading helps most, degrees; empty while there is no circle.
  std::optional<double> next_deg() const {
    const auto& now = fit_.answer();
    return now.circle && now.next ? std::optional(now.next->at_deg) : std::nullopt;
  }

private:
  std::string take(const TypedLine& typed, const std::string& line);
  std::string reading(const std::string& text);
  std::string after_reading();
  std::string correct(const std::string& rest);
  std::string again(const std::string& rest);
  std::string erase(const std::string& rest);
  std::string keep(const std::string& rest);
  std::string yes();
  std::string turned(const std::string& rest);
  std::string arc();
  std::string same(const std::string& word);
  std::string comment(const std::string& rest);
  std::string list() const;
  std::string where() const;
  std::string full_fit() const;
  std::string status() const;

  std::string refused(const Error& error);
  // No longer than kColumns - columns_taken, the less important left out.
  std::string running_words(bool with_last = false, std::size_t columns_taken = 0) const;
  std::string doubt_words() const;
  bool gap_matters() const;
  std::string repeat_words() const;
  std::string profile_words() const;
  std::string question_about(int number);
  std::string changed_words();  // after an edit: the fit anew, and what is in doubt now

  void fit_anew();
  void fit_one_more(const SessionReading& reading);
  PartPoint on_part(const SessionReading& reading) const;
  std::optional<int> newly_doubted() const;
  Result<Reading> read(const std::string& text) const;
  std::optional<std::pair<int, std::string>> number_and_rest(const std::string& rest) const;

  std::string number_text(double mm, int more_decimals = 0) const;
  std::string signed_text(double mm) const;
  std::string radius_text() const;
  std::string ovality_text() const;
  double step_mm() const;  // of the finest reading
  void measure_part(std::size_t most = kMostMeasuredLive);
  void measure_this_lie();

  Session session_;
  DeskOptions options_;
  RunningFit fit_;
  std::vector<int> fitted_;  // numbers of the readings in the running fit
  std::vector<PartPoint> places_;
  std::optional<Feature> part_;  // as `fit` gives it
  bool of_file_ = false;         // of the whole file; else of the present lie alone
  std::vector<int> asked_;       // readings that were questioned already
  int decimals_ = 0;             // of the finest reading
  struct Question {
    int number = 0;
    std::optional<Slip> slip;
  };
  std::optional<Question> question_;
  bool quit_ = false, all_taken_ = true;
};

}  // namespace rondure::cli
