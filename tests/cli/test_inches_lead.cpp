// With --unit in every line of every text leads with inches; sizes that are called by their mm (12.5 mm, H7 at 3 mm) stay.
#include <catch2/catch.hpp>
#include <regex>
#include <sstream>

#include "demo_files.hpp"
#include "process.hpp"

namespace {

// Notes are wrapped: a line that begins far in goes on with the one before.
std::vector<std::string> whole_lines(const std::string& text) {
  const std::string named = std::regex_replace(text, std::regex("(H7/g6) at [0-9.]+ mm"), "$1");
  std::istringstream in(std::regex_replace(named, std::regex("\n {8,}(?=[^ ])"), " "));
  std::vector<std::string> lines;
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  return lines;
}

// Lines with a measured length in mm and none in inches before it.
std::vector<std::string> led_by_mm(const std::string& text) {
  static const std::regex mm(R"(\d\.\d{2,} mm\b)"), inches(R"(\d in\b)");
  std::vector<std::string> found;
  for (const std::string& line : whole_lines(text)) {
    std::smatch a, b;
    if (std::regex_search(line, a, mm) &&
        (!std::regex_search(line, b, inches) || b.position() > a.position()))
      found.push_back(line);
  }
  return found;
}

}  // namespace

TEST_CASE("inches lead in every line of what is measured, planned and compared", "[cli][units][repeats]") {
  const Folder folder;
  const std::string record = folder.path("r.json");
  const std::vector<std::string> board{"--board", "9x6", "--square", "5mm", "--unit", "in"};
  const auto with = [&](std::vector<std::string> command, const std::vector<std::string>& more) {
    command.insert(command.end(), more.begin(), more.end());
    return command;
  };
  const std::vector<std::vector<std::string>> commands{
      with({"measure", demo("roller-standing.jpg"), "--height", "5.973mm", "--save", record, "--all"}, board),
      with({"measure", demo("roller-standing.jpg")}, board),
      with({"measure", demo("one-part/view_1.jpg"), demo("one-part/view_2.jpg"), "--one-part"}, board),
      {"measure", demo("drum.png"), "--scale", "38px/mm", "--all", "--unit", "in"},
      {"fit", demo("crown_readings.csv"), "--all", "--unit", "in"},
      {"fit", demo("crown_chord.csv"), "--unit", "in"},
      {"plan", record, "--all", "--unit", "in"},
      {"compare", demo("two-dates/roller-2014.json"), demo("two-dates/roller-2026.json"), "--unit", "in"}};
  for (const auto& command : commands) {
    const Run run = rondure_run(command);
    INFO(command[0] << " " << command[1] << "\n" << run.out << run.err);
    CHECK(run.exit_code == 0);
    CHECK(run.out.find(" in") != std::string::npos);
    CHECK(led_by_mm(run.out) == std::vector<std::string>{});
  }
  // the off-centre note, as it reads
  const std::string text = one_line(rondure_run(commands[1]).out);
  CHECK(std::regex_search(
      text,
      std::regex(R"(\d\.\d+ \+- \d\.\d+ in \(\d\.\d+ \+- \d\.\d+ mm\) off the centre|cannot be told)")));
}

TEST_CASE("inches lead in reasons, wear, calibrations and errors too, typed or from the bench file",
          "[cli][units][repeats]") {
  const Folder folder;
  const std::string bench = folder.path("bench.toml");
  folder.write("bench.toml", "unit = \"in\"\n");
  const std::vector<std::vector<std::string>> commands{
      {"original", "--sizes", demo("roller_sizes.csv"), "--material", "POM-C"},
      {"compare", demo("idlers/idler-1.json"), demo("idlers/idler-2.json"), demo("idlers/idler-3.json")},
      {"calibrate", "stage", demo("pin_readings.csv"), "--pin", "10.000mm", "-o", folder.path("stage.json")},
      {"calibrate", "scale", demo("drum.png"), "--pin", "7.964mm", "--pin", "24.887mm", "-o",
       folder.path("scale.json")},
      {"calibrate", "board", "--board", "9x6", "--square", "5mm", "-o", folder.path("board.svg")},
      {"compare", demo("idlers/idler-1.json"), demo("two-dates/roller-2026.json"),
       demo("two-dates/roller-2014.json"), "--same-drawing", "outside"}};
  for (const auto& command : commands)
    for (const auto& asked :
         {std::vector<std::string>{"--unit", "in"}, std::vector<std::string>{"--bench", bench}}) {
      auto words = command;
      words.insert(words.end(), asked.begin(), asked.end());
      const Run run = rondure_run(words);
      INFO(command[0] << " " << command[1] << " " << asked[0] << "\n" << run.out << run.err);
      const bool fails = &command == &commands.back();
      CHECK((run.exit_code == 0) != fails);
      CHECK(std::regex_search(fails ? run.err : run.out, std::regex(R"(\d in\b)")));
      // What is drawn in mm is called so, with its chance: "12.45 mm: 60 %", "12.45 mm (0.4902 in)   60 %".
      const std::string without_names = std::regex_replace(
          run.out + run.err, std::regex(R"(\d+(\.\d+)? mm(?=(:| \(\d+\.\d+ in\)) +\d+ %| \(\d+ %\)))"),
          "a size");
      CHECK(led_by_mm(without_names) == std::vector<std::string>{});
    }
}

// 2026-11: "0.00252 +- 0.00000 in"
TEST_CASE("how far a bore lies off the middle has an uncertainty in inches too", "[cli][units]") {
  for (const std::string unit : {"in", "mm"}) {
    const Run run = rondure_run({"measure", demo("drum.png"), "--scale", "38px/mm+-0.02", "--unit", unit});
    REQUIRE(run.exit_code == 0);
    const std::string text = one_line(run.out);
    INFO(text);
    std::smatch zero;
    CHECK_FALSE(std::regex_search(text, zero, std::regex(R"(\+- 0\.0+ )")));
    // two figures of the uncertainty in both units
    CHECK(std::regex_search(text, std::regex(R"(\+- 0\.0*[1-9]\d in\b)")));
    CHECK(std::regex_search(text, std::regex(R"(\+- 0\.0*[1-9]\d mm\b)")));
  }
}
