// Readings taken one after the other into a file (notebook.hpp) that is at every moment a plain POINTS.csv.
//
// Readings have numbers in the order in which they were typed; a deleted one keeps its number. Nothing typed
// is thrown away: what is taken out stays in the file as a comment.
//   0.5012,0.3000
//   # deleted: 0.5150,0.3010            takes a number
//   # corrected: 0.5150,0.3010          the next line is the corrected one and has its number
//   0.5130,0.3010
//   # undone: 0.5150,0.3010             as if never typed
//   0.5013,0.3001  # again 0.5012,0.3000
//   0.7000,0.1000
//   # kept: 0.7000,0.1000               looked at and confirmed by the reader
//   # profile: radius                   positions along the axis and the radius there (points_file.hpp)
//   # arc alone                         only an arc can be seen: no readings elsewhere are wanted
#pragma once
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "rondure/core/length.hpp"
#include "rondure/core/result.hpp"
#include "rondure/readings/notebook.hpp"
#include "rondure/readings/points_file.hpp"
#include "rondure/readings/reading_line.hpp"

namespace rondure {

struct SessionReading {
  int number = 0;
  Reading reading;
  double orientation_rad = 0;           // how far the part was turned
  bool confirmed = false;               // kept as it stands
  std::optional<std::string> again_of;  // csv of the reading that this one repeats
  std::size_t line = 0;                 // index into the notebook's lines
};

inline constexpr std::string_view kArcMark = "arc alone";

class Session {
public:
  // Opens or makes the file. `unit`: of a new file, and of one that states none; with `unit_asked` a file in
  // another unit is refused. Errors: those of Notebook::open, kBadLine, kMixedUnits, kNotFinite.
  static Result<Session> open(const std::filesystem::path& file, LengthUnit unit, bool unit_asked);

  LengthUnit unit() const { return unit_; }
  double orientation_rad() const { return orientation_rad_; }
  const std::filesystem::path& file() const { return book_.file(); }
  bool arc() const { return arc_; }
  const std::string& same() const { return same_; }  // word for the drawing; empty: none said
  const std::optional<ProfileReading>& profile() const { return profile_; }  // readings along the axis
  bool is_new() const { return book_.is_new(); }
  const std::vector<SessionReading>& readings() const { return readings_; }  // those that stand, in order
  int last_number() const { return last_number_; }
  const SessionReading* find(int number) const;  // nullptr: none such, or deleted
  std::string text() const;                      // of the whole file
  std::vector<std::string> events() { return book_.events(); }

  // Between two lines others may write (notebook.hpp). catch_up() before the next: true when what they wrote was taken
  // over; what was done before cannot be undone then, but for the last reading. Errors: those of open.
  void rest() { book_.rest(); }
  Result<bool> catch_up();

  // Each is on the disk when it returns. Errors: kFileUnwritable; kBadArgument where there is nothing to act
  // on.
  Result<void> add(const Reading& reading);
  Result<void> add_again(const Reading& reading, int of_number);
  Result<void> correct(int number, const Reading& reading);
  Result<void> erase(int number);
  Result<void> confirm(int number);
  Result<void> note(const std::string& words);
  Result<void> set_same(const std::string& word);  // of which drawing the part is
  Result<void> turned(double angle_deg);
  Result<void> set_arc();  // nothing to do when it is set
  // Refused with kBadArgument where readings of another kind stand already.
  Result<void> set_profile(ProfileReading what);
  Result<void> set_unit(LengthUnit unit);  // only before the first reading
  // Takes back the last change, of this run or, after a resumption, the last reading. What it was, in words.
  Result<std::string> undo();

private:
  explicit Session(Notebook book) : book_(std::move(book)) {}
  Result<void> derive(LengthUnit bare);
  Result<void> append(const std::string& line, const std::string& what);
  Result<void> change(std::vector<std::string> lines, const std::string& what);

  // The lines before a change; a plain append only names its line.
  struct Step {
    std::string what;
    std::optional<std::vector<std::string>> lines_before;
    std::size_t appended = 0;
  };

  Notebook book_;
  LengthUnit unit_ = LengthUnit::kMm;
  double orientation_rad_ = 0;
  bool arc_ = false;
  std::string same_;
  std::optional<ProfileReading> profile_;
  int last_number_ = 0;
  std::vector<SessionReading> readings_;
  std::vector<Step> steps_;
};

}  // namespace rondure
