// What one typed line of `rondure record` asks for.
#pragma once
#include <string>
#include <string_view>

namespace rondure::cli {

inline constexpr std::string_view kPlusMinus =
    "+-: standard uncertainty; R is within it 2 times in 3, within twice it 19 in 20.";

enum class Verb {
  kReading,
  kUndo,
  kDelete,
  kCorrect,
  kAgain,
  kKeep,
  kYes,
  kNote,
  kSame,
  kTurned,
  kArc,
  kList,
  kWhere,
  kFit,
  kHelp,
  kQuit,
  kComment,  // a line of a readings file: "# ..."
  kBlank
};

struct TypedLine {
  Verb verb = Verb::kReading;
  std::string rest;  // of the line, behind the word
};

// A word in full or its first letter, in any case; everything that begins otherwise is a reading.
TypedLine read_words(const std::string& line);

// The help, one line for each command (a terminal) or all in one (a pipe).
std::string record_help(bool one_line);

}  // namespace rondure::cli
