// The sentences of `rondure record` about a session and its fit.
#pragma once
#include <optional>
#include <string>

#include "cli/readings/session_fit.hpp"
#include "rondure/readings/slip.hpp"

namespace rondure::cli {

// What is said after a reading fits on one line of a terminal.
inline constexpr std::size_t kColumns = 80;

// "1 reading", "2 readings"
std::string plural(std::size_t n, const char* word);

class SessionWords {
public:
  // Both must outlive this. `talks_at_length`: lists over several lines.
  SessionWords(const Session& session, const SessionFit& fit, bool talks_at_length)
      : session_(session), fit_(fit), talks_at_length_(talks_at_length) {}

  // No longer than kColumns - columns_taken, the less important left out.
  std::string running(bool with_last = false, std::size_t columns_taken = 0) const;
  std::string prompt(int next_number) const;  // "8 (210 of 360 seen, next near 285)> "
  std::string where() const;
  std::string status() const;
  std::string list() const;
  std::string full_fit() const;
  std::string repeats() const;
  // "9 is 0.061 mm outside the others: was 8.12,3.40 meant (two digits swapped)? yes / keep / delete"
  std::string question(int number, const std::optional<Slip>& slip) const;
  std::string number(double mm, int more_decimals = 0) const;

private:
  std::string signed_number(double mm) const;
  std::string radius() const;
  std::string ovality() const;
  std::string doubt() const;
  std::string profile() const;
  bool gap_matters() const;

  const Session& session_;
  const SessionFit& fit_;
  bool talks_at_length_;
};

}  // namespace rondure::cli
