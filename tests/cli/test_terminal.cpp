// At a terminal: colour, and progress with the time left. In a pipe: neither.
#include <catch2/catch.hpp>
#include <regex>
#include <sstream>

#include "demo_files.hpp"
#include "process.hpp"
#include "terminal.hpp"

namespace {

const std::vector<std::string> kMeasureDrum{"measure", demo("drum.png"), "--scale", "38.00px/mm+-0.02"};

bool has_escape(const std::string& text) { return text.find('\033') != std::string::npos; }

std::string without_escapes(const std::string& text) {
  static const std::regex sequence("\033\\[[0-9;]*[A-Za-z]");
  std::string plain = std::regex_replace(text, sequence, "");
  std::erase(plain, '\r');
  return plain;
}

// What stands on the screen once the progress of a slow machine is wiped away.
std::string after_progress(const std::string& text) {
  const std::string wipe = "\r\033[K";
  const auto at = text.rfind(wipe);
  return at == std::string::npos ? text : text.substr(at + wipe.size());
}

// The ten views of the demo, around again for more.
std::vector<std::string> calibrate_words(const Folder& folder, int views) {
  std::vector<std::string> words{"calibrate", "camera"};
  for (int v = 0; v < views; ++v) {
    const int number = v % 10 + 1;
    words.push_back(demo("views/view_") + (number < 10 ? "0" : "") + std::to_string(number) + ".jpg");
  }
  words.insert(words.end(),
               {"--board", "9x6", "--square", "5mm", "--threads", "1", "-o", folder.path("camera.json")});
  return words;
}

}  // namespace

TEST_CASE("terminal: the verdict is coloured, and only there", "[cli][terminal][repeats]") {
  const Run piped = rondure_run(kMeasureDrum);
  REQUIRE(piped.exit_code == 0);
  CHECK_FALSE(has_escape(piped.out + piped.err));

  AtTerminal plain_screen;
  const Run shown = terminal_run(kMeasureDrum, plain_screen);
  CHECK(shown.exit_code == 0);
  CHECK(has_escape(after_progress(shown.out)));
  CHECK(without_escapes(after_progress(shown.out)) == piped.out);  // colour carries nothing of its own
  CHECK(shown.out.find("shape        \033[") != std::string::npos);

  for (const auto& [name, value] :
       {std::pair{"NO_COLOR", "1"}, std::pair{"TERM", "dumb"}, std::pair{"TERM", ""}}) {
    INFO(name << "=" << value);
    AtTerminal screen;
    screen.environment[name] = value;
    const Run quiet = terminal_run(kMeasureDrum, screen);
    CHECK_FALSE(has_escape(after_progress(quiet.out)));
  }
  AtTerminal empty;  // set but empty does not count
  empty.environment["NO_COLOR"] = "";
  CHECK(has_escape(after_progress(terminal_run(kMeasureDrum, empty).out)));
}

TEST_CASE("terminal: a reading that is questioned or not taken is coloured", "[cli][terminal]") {
  const Folder folder;
  AtTerminal screen, plain_screen;
  screen.typed = "6 0\n0 6\n-6 0\n0 -6\n4.243 4.243\n-4.243 4.243\n4.243 -2.243\nnonsense\nquit\n";
  plain_screen.typed = screen.typed;
  plain_screen.environment["NO_COLOR"] = "1";
  const Run shown = terminal_run({"record", folder.path("a.csv")}, screen);
  CHECK(shown.exit_code == 0);
  CHECK(shown.out.find("7 kept, \033[33mbut\033[0m is ") != std::string::npos);
  CHECK(shown.out.find("\033[33mnot kept\033[0m: ") != std::string::npos);
  const Run plain = terminal_run({"record", folder.path("b.csv")}, plain_screen);
  CHECK(plain.out.find("7 kept, but is ") != std::string::npos);
  CHECK(plain.out.find("\033[33m") == std::string::npos);
  CHECK(folder.read("a.csv") == folder.read("b.csv"));
}

TEST_CASE("terminal: an error line is coloured at a terminal, plain in a pipe", "[cli][terminal]") {
  const std::vector<std::string> wrong{"fit", "no-such-file.csv"};
  const Run piped = rondure_run(wrong);
  CHECK(piped.one_line_on_error());
  CHECK_FALSE(has_escape(piped.err));
  AtTerminal screen;
  screen.out = false;
  const Run shown = terminal_run(wrong, screen);
  CHECK(shown.exit_code == piped.exit_code);
  CHECK(has_escape(shown.out));
  CHECK(without_escapes(shown.out) == piped.err);
  screen.environment["NO_COLOR"] = "1";
  CHECK(terminal_run(wrong, screen).out.find('\033') == std::string::npos);
}

TEST_CASE("terminal: a long error line is broken at the terminal's width", "[cli][terminal]") {
  const std::vector<std::string> wrong{"measure", demo("drum.png")};
  const Run piped = rondure_run(wrong);
  CHECK(piped.one_line_on_error());
  REQUIRE(piped.err.size() > 100);
  AtTerminal screen;
  screen.out = false;
  const std::string shown = without_escapes(terminal_run(wrong, screen).out);
  std::istringstream lines(shown);
  std::string joined;
  int count = 0;
  for (std::string line; std::getline(lines, line); ++count) {
    CHECK(line.size() <= 80);
    joined += (count ? " " : "") + line.substr(count ? line.find_first_not_of(' ') : 0);
  }
  CHECK(count >= 2);
  CHECK(joined + "\n" == piped.err);
}

TEST_CASE("terminal: work of more than two seconds shows how much of it is done and how long it will take",
          "[cli][terminal][repeats]") {
  const Folder folder;
  int views = 5;  // as many as it takes to be slow on any machine
  AtTerminal screen;
  screen.out = false;  // standard output to a file, progress still on the terminal
  Run run;
  for (; views <= 160; views *= 2) {
    run = terminal_run(calibrate_words(folder, views), screen);
    if (screen.took_s > 4) break;
  }
  INFO(run.out);
  REQUIRE(run.exit_code == 0);
  const std::regex line(
      "\r\033\\[Kcalibrating the camera from \\d+ views: (\\d+) %, about \\d+ (s|min) left");
  int shown = 0, last = -1;
  for (auto at = std::sregex_iterator(run.out.begin(), run.out.end(), line); at != std::sregex_iterator();
       ++at) {
    const int percent = std::stoi((*at)[1]);
    CHECK(percent >= last);
    CHECK(percent <= 100);
    last = percent, ++shown;
  }
  CHECK(shown >= 3);
  CHECK(last > 50);
  CHECK(run.out.ends_with("\r\033[K"));  // wiped at the end

  auto quiet = calibrate_words(folder, views);
  quiet.push_back("--quiet");
  CHECK(terminal_run(quiet, screen).out.empty());
}

TEST_CASE("terminal: short work shows no progress, nor does a pipe", "[cli][terminal][repeats]") {
  AtTerminal screen;
  screen.out = false;
  CHECK(terminal_run({"fit", demo("crown_readings.csv")}, screen).out.empty());
  AtTerminal piped_json;
  piped_json.out = false;
  auto words = kMeasureDrum;
  for (int i = 0; i < 5; ++i) words.insert(words.begin() + 1, demo("drum.png"));
  const Run in_pipe = rondure_run(words);
  CHECK(in_pipe.exit_code == 0);
  CHECK(in_pipe.err.empty());
  words.insert(words.end(), {"--json", "-"});
  const Run in_json = terminal_run(words, piped_json);
  CHECK_FALSE(has_escape(in_json.out));
}
