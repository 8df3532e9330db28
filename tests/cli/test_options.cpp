// Every option of every command is read: with it the program prints or writes something else, or refuses it in one line.
#include <catch2/catch.hpp>
#include <map>
#include <regex>
#include <set>

#include "process.hpp"

namespace {
using Words = std::vector<std::string>;

// An option with its words, and what must be given besides for it to have an effect.
struct Tried {
  std::string option;
  Words with = {}, besides = {};
};

std::string demo(const std::string& name) { return std::filesystem::absolute(RONDURE_SOURCE "/images-demo/" + name).string(); }

Words operator+(Words a, const Words& b) {
  a.insert(a.end(), b.begin(), b.end());
  return a;
}

// The long options that a command's help lists.
std::set<std::string> options_of(const Words& command) {
  const std::string help = rondure_run(command + Words{"--help"}).out;
  static const std::regex kOption(R"re((?:^|\n)  (?:-\w,)?(--[a-z0-9-]+))re");
  std::set<std::string> found;
  for (std::sregex_iterator at(help.begin(), help.end(), kOption), end; at != end; ++at) found.insert((*at)[1]);
  found.erase("--help");
  return found;
}

class Bench {
public:
  Bench(Words command, std::map<std::string, std::string> files = {}, std::string in = {})
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
      if (with[0] != '0') CHECK(with.find(t.option) != std::string::npos);  // refused by its name
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
    const double t = 2 * 3.14159265358979 * i / 12, r = 6.2 + 0.05 * std::cos(2 * t) + 0.004 * std::sin(5.0 * i);
    char line[60];
    std::snprintf(line, sizeof line, "%.3f%s%.3f\n", 7 + r * std::cos(t), between, 7 + r * std::sin(t));
    text += line;
  }
  return text;
}

const std::string kRoller = demo("two-dates/roller-2026.json");
const Words kWarm{"--temperature", "60C", "--material", "POM-C"};
}  // namespace

TEST_CASE("options: fit reads every one that it takes", "[cli][options]") {
  Bench({"fit"}, {{"p.csv", readings(",")}})
      .each_counts({"p.csv"}, {{"--calibration", {demo("two-dates/stage.json")}},
                               {"--sigma", {"0.05mm"}},
                               {"--form", {"0.5mm"}},
                               {"--plain"},
                               {"--json", {"out.json"}},
                               {"--save", {"part.json"}},
                               {"--feature", {"tread"}},
                               {"--kind", {"bore"}},
                               {"--unit", {"in"}},
                               {"--temperature", {"60C"}, {"--material", "POM-C"}},
                               {"--material", {"PA6"}, {"--save", "part.json"}},
                               {"--quiet"}});
}

TEST_CASE("options: record reads every one that it takes", "[cli][options][record]") {
  const Bench bench({"record"}, {}, readings(" ") + "1320 700\n");
  bench.each_counts({"r.csv"}, {{"--digits", {"2"}},
                                {"--arc"},
                                {"--calibration", {demo("two-dates/stage.json")}},
                                {"--json", {"out.json"}},
                                {"--save", {"part.json"}},
                                {"--feature", {"tread"}, {"--save", "part.json"}},
                                {"--kind", {"bore"}, {"--save", "part.json"}},
                                {"--unit", {"in"}},
                                {"--temperature", {"60C"}, {"--material", "POM-C"}},
                                {"--material", {"PA6"}, {"--save", "part.json"}},
                                {"--quiet"}});
  // without a record to write nothing would read them
  for (const char* option : {"--feature", "--kind"}) {
    const std::string refused = bench.outcome({"r.csv", option, "bore"});
    CHECK(refused.starts_with("2"));
    CHECK(refused.find(std::string(option) + " is for the part record") != std::string::npos);
  }
}

TEST_CASE("options: add reads every one that it takes", "[cli][options]") {
  Bench({"add"}).each_counts({"part.json", "drum", "12.40", "12.42", "12.46"}, {{"--at", {"0", "60", "120"}},
                                                                                {"--kind", {"bore"}},
                                                                                {"--unit", {"in"}},
                                                                                {"--material", {"POM-C"}},
                                                                                {"--json", {"out.json"}},
                                                                                {"--quiet"}});
}

TEST_CASE("options: original reads every one that it takes", "[cli][options][original]") {
  const Words drive{"--mating", "30mm", "--ratio", "2.45+-1%"};
  Bench({"original"}, {{"sizes.csv", "name,kind,size,u,unit\noutside,outside,12.40,0.01,mm\n"},
                       {"grids.csv", "system,grid,step_mm,weight\nmetric,whole,1,1\n"}})
      .each_counts({kRoller}, {{"--same-drawing", {"outside"}},
                               {"--tie", {"a:outside/b:outside=2.0+-0.01"}},
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
                               {"--json", {"out.json"}},
                               {"--save", {"part.json"}},
                               {"--unit", {"in"}, {"--evidence", "outside=12.3+-0.1"}},
                               {"--material", {"PMMA"}},
                               {"--quiet"}});
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
    refused({"original", kRoller, option, "1"}, option);
  for (const char* command : {"fit", "record"}) refused({command, "r.csv", "--threads", "2"}, "--threads");
  refused({"original", kRoller, "--drive", "outside"}, "--drive needs");
  refused({"original", kRoller, "--belt", "1mm"}, "--belt needs");
  refused({"original", kRoller, "--mating", "30mm", "--ratio", "2", "--turns", "30"}, "found two drives");
  refused({"original", demo("idlers/idler-1.json"), demo("idlers/idler-2.json"), "--belt", "1mm"}, "--belt needs --tie");
  const Words drum{"measure", demo("drum.png"), "--scale", "38px/mm"};
  refused(drum + Words{"--square", "5mm"}, "--square needs --board");
  refused(drum + Words{"--board-uncertainty", "1%"}, "--board-uncertainty is for");
  for (const char* option : {"--profile", "--axis", "--distance"}) refused(drum + Words{option, "90"}, "needs --side");
  for (const char* option : {"--near", "--form", "--csv", "--feature", "--kind", "--temperature", "--threads"})
    refused(drum + Words{"--side", option, "1"}, "has no effect with --side");
  refused(drum + Words{demo("idler.jpg"), "--feature", "tread"}, "--feature of several photographs");
  refused({"plan", kRoller, "--frequency", "12Hz"}, "--frequency needs --belt-stiffness");
  refused({"plan", kRoller, "--form-tool", "section"}, "--form-tool needs --tools");
  for (const char* option : {"--arc-width", "--clearance", "--rake"})
    refused({"plan", kRoller, option, "5"}, std::string(option) + " has no effect");
  refused({"compare", kRoller, kRoller, "--against", "plan"}, "found no plan");
  const Folder folder;
  refused({"calibrate", "stage", demo("pin_readings.csv"), "--pin-roundness", "0.001mm", "-o", folder.path("s.json")},
          "--pin-roundness has no effect");
}
