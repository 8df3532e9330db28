// The dialogue of `rondure record`: one typed line in, one answer out. Keeps the session on disk, the running
// fit and the question that is open.
#pragma once
#include <optional>
#include <string>

#include "cli/readings/record_words.hpp"
#include "cli/readings/session_fit.hpp"
#include "cli/readings/session_words.hpp"

namespace rondure::cli {

struct DeskOptions {
  int decimals = 0;              // --digits: of numbers typed without a decimal sign
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
  bool must_be_said() const {
    return must_be_said_;
  }  // the last answer: a question, or something was not kept
  std::string prompt() const { return words().prompt(next_number()); }
  const Session& session() const { return session_; }
  // What 'fit' gives of the file as it stands; null where it has not been worked out (kMostMeasuredLive).
  const Feature* measured_file() const { return fit_.of_file(); }
  // Where the next reading helps most, degrees; empty while there is no circle.
  std::optional<double> next_deg() const {
    const auto& now = fit_.now();
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

  std::string refused(const Error& error);
  std::string question_about(int number);
  std::string changed_words();  // after an edit: the fit anew, and what is in doubt now

  Result<Reading> read(const std::string& text) const;
  std::optional<std::pair<int, std::string>> number_and_rest(const std::string& rest) const;

  SessionWords words() const { return {session_, fit_, talks_at_length_}; }

  Session session_;
  SessionFit fit_;
  std::vector<int> asked_;  // readings that were questioned already
  int digits_;
  bool talks_at_length_;
  struct Question {
    int number = 0;
    std::optional<Slip> slip;
  };
  std::optional<Question> question_;
  bool quit_ = false, all_taken_ = true, must_be_said_ = false;
};

}  // namespace rondure::cli
