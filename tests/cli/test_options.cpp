// Every option of every command is read: with it the program prints or writes something else, or refuses it in one line.
#include <catch2/catch.hpp>
#include <fstream>
#include <map>
#include <regex>
#include <set>

#include "demo_files.hpp"
#include "process.hpp"

namespace {
using Words = std::vector<std::string>;

// An option with its words, and what must be given besides for it to have an effect.
struct Tried {
  std::string option;
  Words with = {}, besides = {};
};

Words operator+(Words a, const Words& b) {
  a.insert(a.end(), b.begin(), b.end());
  return a;
}

// The long options that a command's help lists.
std::set<std::string> options_of(const Words& command) {
  const std::string help = rondure_run(command + Words{"--help"}).out;
  static const std::regex kOption(R"re((?:^|\n)  (?:-\w,)?(--[a-z0-9-]+))re");
  std::set<std::string> found;
  for (std::sregex_iterator at(help.begin(), help.end(), kOption), end; at != end; ++at)
    found.insert((*at)[1]);
  found.erase("--help");
  return found;
}

class OptionTrials {
public:
  OptionTrials(Words command, std::map<std::string, std::string> files = {}, std::string in = {})
      : command_(std::move(command)), files_(std::move(files)), in_(std::move(in)) {}

  // What comes of a call in a folder of its own: exit status, both streams, every file; times taken out.
  std::string outcome(const Words& arguments) const {
    const Folder folder;
    for (const auto& [name, text] : files_) folder.write(name, text);
    RunOptions options;
    options.in = in_;
    options.folder = folder.path();
    const Run run = rondure_run(command_ + arguments, options);
    std::string all = std::to_string(run.exit_code) + "\n" + run.out + "\n" + run.err;
    for (const std::string& name : folder.names())
      if (!std::filesystem::is_directory(folder.path(name))) all += "\n== " + name + "\n" + folder.read(name);
    static const std::regex kTime(R"re(\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d)?Z?)re");
    return std::regex_replace(all, kTime, "");
  }

  void each_counts(const Words& base, const std::vector<Tried>& tries) const {
    std::set<std::string> named;
    std::map<Words, std::string> without;
    for (const Tried& t : tries) {
      named.insert(t.option);
      const Words plain = base + t.besides;
      if (!without.contains(plain)) without[plain] = outcome(plain);
      const std::string with = outcome(plain + Words{t.option} + t.with);
      INFO(t.option << ": " << with.substr(0, 400));
      CHECK(with != without[plain]);
      if (with[0] == '2' && without[plain][0] == '0') CHECK(with.find(t.option) != std::string::npos);
    }
    CHECK(named == options_of(command_));
    CHECK(outcome(base) == outcome(base));  // nothing else makes a difference
  }

private:
  Words command_;
  std::map<std::string, std::string> files_;
  std::string in_;
};

// Twelve readings of an oval of 12.4 mm, with some noise.
std::string readings(const char* between) {
  std::string text;
  for (int i = 0; i < 12; ++i) {
    const double t = 2 * 3.14159265358979 * i / 12,
                 r = 6.2 + 0.05 * std::cos(2 * t) + 0.004 * std::sin(5.0 * i);
    char line[60];
    std::snprintf(line, sizeof line, "%.3f%s%.3f\n", 7 + r * std::cos(t), between, 7 + r * std::sin(t));
    text += line;
  }
  return text;
}

const std::string kRollerRecord = demo("two-dates/roller-2026.json");
const Words kWarm{"--temperature", "60C", "--material", "POM-C"};
}  // namespace

TEST_CASE("options: fit reads every one that it takes", "[cli][options]") {
  OptionTrials({"fit"}, {{"p.csv", readings(",")}})
      .each_counts({"p.csv"}, {{"--calibration", {demo("two-dates/stage.json")}},
                               {"--sigma", {"0.05mm"}},
                               {"--form", {"0.5mm"}},
                               {"--plain"},
                               {"--all"},
                               {"--nominal", {"0mm"}},
                               {"--along", {"edge"}},
                               {"--bench", {"none.toml"}},
                               {"--json", {"out.json"}},
                               {"--save", {"part.json"}},
                               {"--feature", {"tread"}},
                               {"--kind", {"bore"}},
                               {"--unit", {"in"}},
                               {"--temperature", {"60C"}, {"--material", "POM-C"}},
                               {"--material", {"PA6"}, {"--save", "part.json"}},
                               {"--quiet"}});
}

TEST_CASE("options: record reads every one that it takes", "[cli][options][record][repeats]") {
  const OptionTrials bench({"record"}, {}, readings(" ") + "13 7\n");
  bench.each_counts({"r.csv"}, {{"--digits", {"2"}},
                                {"--arc"},
                                {"--along", {"edge"}},
                                {"--calibration", {demo("two-dates/stage.json")}},
                                {"--json", {"out.json"}},
                                {"--save", {"part.json"}},
                                {"--feature", {"tread"}, {"--save", "part.json"}},
                                {"--kind", {"bore"}, {"--save", "part.json"}},
                                {"--unit", {"in"}},
                                {"--temperature", {"60C"}, {"--material", "POM-C"}},
                                {"--material", {"PA6"}, {"--save", "part.json"}},
                                {"--bench", {"none.toml"}},
                                {"--quiet"}});
  // without a record to write nothing would read them
  for (const char* option : {"--feature", "--kind"}) {
    const std::string refused = bench.outcome({"r.csv", option, "bore"});
    CHECK(refused.starts_with("2"));
    CHECK(refused.find(std::string(option) + " is for the part record") != std::string::npos);
  }
}

TEST_CASE("options: add reads every one that it takes", "[cli][options]") {
  OptionTrials({"add"}).each_counts({"part.json", "drum", "12.40", "12.42", "12.46"},
                                    {{"--at", {"0", "60", "120"}},
                                     {"--all", {}, {"--at", "0", "60", "120"}},
                                     {"--part", {"drum of the reader"}},
                                     {"--mark", {"a ring"}},
                                     {"--date", {"1963"}},
                                     {"--note", {"worn"}},
                                     {"--same", {"roller"}},
                                     {"--bench", {"none.toml"}},
                                     {"--kind", {"bore"}},
                                     {"--unit", {"in"}},
                                     {"--material", {"POM-C"}},
                                     {"--json", {"out.json"}},
                                     {"--quiet"}});
}

TEST_CASE("options: original reads every one that it takes", "[cli][options][original][repeats]") {
  const Words drive{"--mating", "30mm", "--ratio", "2.45+-1%"};
  OptionTrials({"original"}, {{"sizes.csv", "name,kind,size,u,unit\noutside,outside,12.40,0.01,mm\n"},
                              {"grids.csv", "system,grid,step_mm,weight\nmetric,whole,1,1\n"}})
      .each_counts({kRollerRecord}, {{"--same-drawing", {"outside"}},
                                     {"--tie", {"a:outside/b:outside=2.0+-0.01"}},
                                     {"--own-batches"},
                                     {"--learn", {"grids-of-mine.csv"}},
                                     {"--sizes", {"sizes.csv"}},
                                     {"--shrinkage", {"0.3%+-0.1%"}},
                                     {"--metric-prior", {"0.9"}},
                                     {"--confidence", {"99%"}},
                                     {"--evidence", {"outside=12.30mm+-0.05mm"}},
                                     {"--ratio", {"2.45+-1%"}, {"--mating", "30mm"}},
                                     {"--mating", {"30mm"}, {"--ratio", "2.45+-1%"}},
                                     {"--surface-speed", {"47mm/s+-1%"}, {"--turns", "72"}},
                                     {"--turns", {"72"}, {"--surface-speed", "47mm/s+-1%"}},
                                     {"--belt", {"0.1mm"}, drive},
                                     {"--drive", {"bore"}, drive},
                                     {"--crack-gap", {"0.2mm+-0.02mm"}},
                                     {"--on-metal", {"bore"}},
                                     {"--worn", {"bore"}},
                                     {"--shape", {"worn"}},
                                     {"--about", {"bore"}},
                                     {"--could-measure", {"hub,outside,6mm"}},
                                     {"--grids", {"grids.csv"}},
                                     {"--mating-turns", {"30"}, {"--mating", "30mm"}},
                                     {"--materials"},
                                     {"--all"},
                                     {"--part", {"roller of the reader"}, {"--save", "part.json"}},
                                     {"--mark", {"a ring"}, {"--save", "part.json"}},
                                     {"--date", {"1963"}, {"--save", "part.json"}},
                                     {"--note", {"worn"}, {"--save", "part.json"}},
                                     {"--bench", {"none.toml"}},
                                     {"--json", {"out.json"}},
                                     {"--save", {"part.json"}},
                                     {"--unit", {"in"}, {"--evidence", "outside=12.3+-0.1"}},
                                     {"--material", {"PMMA"}},
                                     {"--quiet"}});
}

TEST_CASE("options: plan reads every one that it takes", "[cli][options][plan][repeats]") {
  const Words radius{"--radius", "13mm+-0.05mm", "--arc-width", "6mm"};
  const Words pressed{"--fit", "bore=H7/s6", "--shaft", "6.01mm", "--width", "6mm"};
  OptionTrials({"plan"},
               {{"roller.json", text_of(kRollerRecord)},
                {"tools.csv", text_of(demo("tools.csv"))},
                {"steps.csv", "name,length,outside,end_outside,crown_radius,bore,unit\nrim,6,12.5,,,6,mm\n"}})
      .each_counts({"roller.json"},
                   {{"--choose", {"outside=12.7mm"}},
                    {"--fit", {"bore=H7/p6"}},
                    {"--interference", {"0.01mm"}},
                    {"--shaft", {"3.01mm+-0.002mm"}},
                    {"--shaft-material", {"brass"}, pressed},
                    {"--material-new", {"6061"}},
                    {"--material-old", {"PMMA"}},
                    {"--width", {"6mm"}},
                    {"--steps", {"steps.csv"}},
                    {"--surface", {"bore"}},
                    {"--crown", {"none"}},
                    {"--width-of", {"bore=outside"}},
                    {"--belt", {"0.13mm"}},
                    {"--speed", {"150mm/s"}},
                    {"--speed-error", {"0.2%"}},
                    {"--speed-variation", {"0.1%"}},
                    {"--run-out-old", {"0.05mm"}},
                    {"--frequency", {"12Hz"}, {"--belt-stiffness", "2N/mm", "--width", "6mm"}},
                    {"--belt-stiffness", {"2N/mm"}, {"--width", "6mm"}},
                    {"--rest-inertia", {"500gmm2"}},
                    {"--copy", {demo("two-dates/roller-2014.json")}},
                    {"--tools", {"tools.csv"}},
                    {"--radius", {"13mm+-0.05mm"}},
                    {"--arc-width", {"5mm"}, {"--radius", "13mm+-0.05mm"}},
                    {"--form-tool", {"section"}, radius + Words{"--tools", "tools.csv"}},
                    {"--clearance", {"12"}, radius},
                    {"--rake", {"5"}, radius},
                    {"--drawing", {"section.svg"}},
                    {"--outline", {"outline.dxf"}, {"--width", "6mm"}},
                    {"--check-sheet", {"check.csv"}},
                    {"--all"},
                    {"--bench", {"none.toml"}},
                    {"--json", {"out.json"}},
                    {"--save"},
                    {"--unit", {"in"}, {"--check-sheet", "check.csv"}},
                    {"--quiet"}});
}

TEST_CASE("options: compare, report and verify read every one that they take", "[cli][options][repeats]") {
  const Folder folder;
  const std::string planned = folder.path("planned.json");
  REQUIRE(rondure_run({"plan", kRollerRecord, "--width", "6mm", "--save", planned}).exit_code == 0);
  OptionTrials({"compare"})
      .each_counts({demo("two-dates/roller-2014.json"), planned},
                   {{"--tolerance", {"0.02mm"}},
                    {"--against", {"plan"}},
                    {"--turn", {"90deg"}},
                    {"--same-drawing", {"outside"}},
                    {"--unit", {"in"}, {"--tolerance", "0.0005"}},
                    {"--json", {"out.json"}},
                    {"--all"},
                    {"--fail-outside", {}, {"--tolerance", "0.001mm", "--against", "other"}},
                    {"--bench", {"none.toml"}},
                    {"--quiet"}});
  // A record away from its pictures: what it misses is said, or not.
  std::ifstream record(kRollerRecord);
  const std::string alone{std::istreambuf_iterator<char>(record), {}};
  OptionTrials({"report"}, {{"alone.json", alone}})
      .each_counts({}, {{"--output", {"page.html"}, {kRollerRecord}},
                        {"--unit", {"in"}, {kRollerRecord, "-o", "page.html"}},
                        {"--bench", {"none.toml"}, {kRollerRecord, "-o", "page.html"}},
                        {"--earlier", {"none.json"}, {kRollerRecord, "-o", "page.html"}},
                        {"--planned", {"none.json"}, {kRollerRecord, "-o", "page.html"}},
                        {"--quiet", {}, {"alone.json", "-o", "page.html"}}});
  OptionTrials({"verify"})
      .each_counts({}, {{"--sets", {"none.json"}}, {"--json", {"out.json"}}, {"--quiet"}});
}

TEST_CASE("options: measure reads every one that it takes, of pictures", "[cli][options][measure][repeats]") {
  const Words scale{"--scale", "38.00px/mm+-0.02"}, picture{demo("drum.png")}, drum = picture + scale;
  const Folder folder;
  const std::string file = folder.path("scale.json");
  REQUIRE(rondure_run(Words{"calibrate", "scale"} + picture +
                      Words{"--pin", "7.964mm", "--pin", "24.887mm", "-o", file})
              .exit_code == 0);
  OptionTrials({"measure"})
      .each_counts({}, {{"--calibration", {file}, picture},
                        {"--board", {"9x6"}, picture},
                        {"--square", {"5mm"}, drum},
                        {"--board-uncertainty", {"1%"}, drum},
                        {"--height", {"3mm"}, drum},
                        {"--scale", {"39px/mm"}, picture},
                        {"--reference", {"12mm@10,10"}, drum},
                        {"--scan", {"600dpi"}, picture},
                        {"--near", {"10,10"}, drum},
                        {"--linear", {}, drum},
                        {"--srgb", {}, drum},
                        {"--channel", {"blue"}, Words{demo("idler.jpg")} + scale},
                        {"--form", {"none"}, drum},
                        {"--overlay", {"found.png"}, drum},
                        {"--outlines", {"edges.json"}, drum},
                        {"--call", {"bore=shadow"}, drum},
                        {"--leave-out", {"outside@30..60"}, drum},
                        {"--take-in", {"outside@30..60"}, drum},
                        {"--csv", {"table.csv"}, drum},
                        {"--side", {}, drum},
                        {"--profile", {"rim"}, drum},
                        {"--axis", {"90"}, drum},
                        {"--distance", {"200mm"}, drum},
                        {"--json", {"out.json"}, drum},
                        {"--save", {"part.json"}, drum},
                        {"--feature", {"tread"}, drum},
                        {"--kind", {"bore"}, drum},
                        {"--unit", {"in"}, drum + Words{"--reference", "12@10,10"}},
                        {"--temperature", {"60C"}, drum + Words{"--material", "POM-C"}},
                        {"--material", {"PA6"}, drum + Words{"--temperature", "60C"}},
                        {"--threads", {"2"}, drum + Words{"--side"}},
                        {"--one-part", {}, drum},
                        {"--turned", {"0,90"}, Words{demo("idler.jpg")} + drum},
                        {"--all", {}, drum},
                        {"--bench", {"none.toml"}, drum},
                        {"--quiet", {}, drum}});
}

// Of camera, plane, board-print and scanner see test_calibrate_photo and test_scan: their pictures take seconds each.
TEST_CASE("options: calibrate board, scale and stage read every one that they take",
          "[cli][options][calibrate][repeats]") {
  const Words size{"--board", "9x6", "--square", "5mm"}, out{"-o", "out.file"};
  OptionTrials({"calibrate", "board"})
      .each_counts({}, {{"--board", {"9x6"}, Words{"--square", "5mm"} + out},
                        {"--square", {"5mm"}, Words{"--board", "9x6"} + out},
                        {"--paper", {"a3"}, size + out},
                        {"--output", {"board.svg"}, size},
                        {"--unit", {"in"}, Words{"--board", "9x6", "--square", "0.3"} + out},
                        {"--bench", {"none.toml"}, size + out},
                        {"--quiet", {}, size + out}});
  const Words photo{demo("drum.png")}, pins{"--pin", "7.964mm", "--pin", "24.887mm"};
  OptionTrials({"calibrate", "scale"})
      .each_counts({}, {{"--pin", {"24.887mm"}, photo + Words{"--pin", "7.964mm"} + out},
                        {"--linear", {}, photo + pins + out},
                        {"--output", {"scale.json"}, photo + pins},
                        {"--unit", {"in"}, photo + Words{"--pin", "7.964", "--pin", "24.887"} + out},
                        {"--bench", {"none.toml"}, photo + pins + out},
                        {"--quiet", {}, photo + pins + out}});
  const Words readings{demo("pin_readings.csv")};
  OptionTrials({"calibrate", "stage"})
      .each_counts({}, {{"--pin", {"10.000mm"}, readings + out},
                        {"--pin-roundness", {"0.002mm"}, readings + out},
                        {"--output", {"stage.json"}, readings},
                        {"--unit", {"in"}, readings + Words{"--pin", "10.0"} + out},
                        {"--bench", {"none.toml"}, readings + out},
                        {"--quiet", {}, readings + out}});
}

TEST_CASE("options: a side view reads its own", "[cli][options][measure]") {
  const OptionTrials bench({"measure"});
  const Words side{demo("roller-side.jpg"), "--side", "--scale", "60.00px/mm+-0.02"};
  const std::string plain = bench.outcome(side);
  REQUIRE(plain[0] == '0');
  for (const Words& with :
       {Words{"--profile", "tread,hub"}, {"--axis", "95"}, {"--distance", "200mm"}, {"--outlines", "o.json"}})
    CHECK(bench.outcome(side + with) != plain);
}

TEST_CASE("options: what nothing would read is refused in one line", "[cli][options]") {
  const auto refused = [](const Words& arguments, const std::string& says) {
    const Run run = rondure_run(arguments);
    INFO(run.err << " wanted: " << says);
    CHECK(run.exit_code == 2);
    CHECK(run.one_line_on_error());
    CHECK(run.err.find(says) != std::string::npos);
  };
  for (const char* option : {"--temperature", "--kind", "--feature", "--threads"})
    refused({"original", kRollerRecord, option, "1"}, option);
  for (const char* command : {"fit", "record"}) refused({command, "r.csv", "--threads", "2"}, "--threads");
  refused({"original", kRollerRecord, "--drive", "outside"}, "--drive needs");
  refused({"original", kRollerRecord, "--belt", "1mm"}, "--belt needs");
  refused({"original", kRollerRecord, "--mating", "30mm", "--ratio", "2", "--turns", "30"},
          "found two drives");
  refused({"original", demo("idlers/idler-1.json"), demo("idlers/idler-2.json"), "--belt", "1mm"},
          "--belt needs --tie");
  const Words drum{"measure", demo("drum.png"), "--scale", "38px/mm"};
  refused(drum + Words{"--square", "5mm"}, "--square needs --board");
  for (const char* option : {"--part", "--mark", "--date", "--note"})
    refused({"original", kRollerRecord, option, "x"}, std::string(option) + " is for the part record");
  refused(drum + Words{"--board-uncertainty", "1%"}, "--board-uncertainty is for");
  for (const char* option : {"--profile", "--axis", "--distance"})
    refused(drum + Words{option, "90"}, "needs --side");
  for (const char* option :
       {"--near", "--form", "--csv", "--feature", "--kind", "--temperature", "--threads"})
    refused(drum + Words{"--side", option, option == std::string("--kind") ? "bore" : "1"},
            "has no effect with --side");
  refused(drum + Words{demo("idler.jpg"), "--feature", "tread"}, "--feature of several photographs");
  refused({"plan", kRollerRecord, "--frequency", "12Hz"}, "--frequency needs --belt-stiffness");
  refused({"plan", kRollerRecord, "--form-tool", "section"}, "--form-tool needs --tools");
  for (const char* option : {"--arc-width", "--clearance", "--rake"})
    refused({"plan", kRollerRecord, option, "5"}, std::string(option) + " has no effect");
  refused({"compare", kRollerRecord, kRollerRecord, "--against", "plan"}, "found no plan");
  const Folder folder;
  refused({"calibrate", "stage", demo("pin_readings.csv"), "--pin-roundness", "0.001mm", "-o",
           folder.path("s.json")},
          "--pin-roundness has no effect");
}

TEST_CASE("report: several records are told the way to the page of a set", "[cli][report]") {
  const Run run = rondure_run({"report", "a.json", "b.json", "-o", "page.html"});
  CHECK(run.exit_code == 2);
  CHECK(run.one_line_on_error());
  CHECK_THAT(run.err, Catch::Contains("found 'b.json' too") && Catch::Contains("--json set.json"));
}
