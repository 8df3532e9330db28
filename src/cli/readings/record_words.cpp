#include "cli/readings/record_words.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <string_view>

#include "rondure/core/trimmed.hpp"

namespace rondure::cli {
namespace {

struct Word {
  Verb verb;
  std::string_view word, letter, shown, does;
};

constexpr std::array kWords = {
    Word{Verb::kReading, "", "", "x y",
         "a reading; also: chord C sagitta H, overlay R +- U, two-point D at A, polar R at A"},
    Word{Verb::kUndo, "undo", "u", "undo", "takes back the last thing done"},
    Word{Verb::kCorrect, "correct", "c", "correct N x y",
         "puts other numbers for reading N (without N: the one in question, or the last)"},
    Word{Verb::kDelete, "delete", "d", "delete N", "takes reading N out (it stays in the file as a comment)"},
    Word{Verb::kYes, "yes", "y", "yes", "takes the correction that was proposed"},
    Word{Verb::kKeep, "keep", "k", "keep N", "keeps reading N as it is, however odd it looks"},
    Word{Verb::kAgain, "again", "a", "again x y",
         "the nearest point read again: shows how well readings repeat"},
    Word{Verb::kNote, "note", "n", "note words", "keeps a remark in the file"},
    Word{Verb::kSame, "same", "", "same roller",
         "names the drawing: features of one machine with the same word were drawn the same size"},
    Word{Verb::kTurned, "turned", "t", "turned 45",
         "the part was turned on the stage to that many degrees; readings start afresh"},
    Word{Verb::kArc, "arc", "", "arc", "only this arc can be seen: proposes readings on it alone"},
    Word{Verb::kWhere, "where", "w", "where", "where the next reading helps most"},
    Word{Verb::kFit, "fit", "f", "fit", "the answer in full"},
    Word{Verb::kList, "list", "l", "list", "all readings with their deviation"},
    Word{Verb::kHelp, "help", "h", "help", "this list"},
    Word{Verb::kQuit, "quit", "q", "quit", "ends; everything is in the file already"},
};

std::string lower(std::string_view s) {
  std::string t(s);
  std::transform(t.begin(), t.end(), t.begin(), [](unsigned char c) { return char(std::tolower(c)); });
  return t;
}

}  // namespace

TypedLine read_words(const std::string& line) {
  const std::string_view text = trimmed(line);
  if (text.empty()) return {Verb::kBlank, ""};
  if (text[0] == '#') return {Verb::kComment, std::string(trimmed(text.substr(1)))};
  const auto end = std::min(text.find_first_of(" \t,;:0123456789"), text.size());
  const std::string word = lower(text.substr(0, end));
  auto rest = text.substr(end);
  while (!rest.empty() && (rest[0] == ':' || rest[0] == ' ' || rest[0] == '\t')) rest.remove_prefix(1);
  if (word == "?" || text == "?") return {Verb::kHelp, ""};
  for (const char* ends : {"exit", "done", "end", "stop"})
    if (word == ends && rest.empty()) return {Verb::kQuit, ""};
  for (const Word& w : kWords)
    if (!w.word.empty() && (word == w.word || (!w.letter.empty() && word == w.letter)))
      return {w.verb, std::string(rest)};
  return {Verb::kReading, std::string(text)};
}

std::string record_help(bool one_line) {
  std::string text;
  for (const Word& w : kWords) {
    if (one_line) {
      text += (text.empty() ? "" : ", ") + std::string(w.shown);
    } else {
      std::string shown =
          w.letter.empty() ? std::string(w.shown) : std::string(w.shown) + " (" + std::string(w.letter) + ")";
      shown.resize(std::max<std::size_t>(shown.size() + 1, 20), ' ');
      text += "  " + shown + std::string(w.does) + "\n";
    }
  }
  if (!one_line) text += kPlusMinus;
  return text;
}

}  // namespace rondure::cli
