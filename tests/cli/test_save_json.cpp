// --json, --save, --quiet: how a result leaves the program, on the command that needs least (`fit`).
#include <sys/resource.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>
#include <regex>

#include "process.hpp"

using Json = nlohmann::json;

namespace {

// Twelve readings round a roller of 12.4 mm, rounded to 0.001 mm as a dial shows them.
std::string twelve_readings(double diameter_mm = 12.4) {
  std::string text = "# unit: mm\n";
  for (int i = 0; i < 12; ++i) {
    char line[64];
    std::snprintf(line, sizeof line, "%.3f,%.3f\n", diameter_mm / 2 * std::cos(i * 0.5236),
                  diameter_mm / 2 * std::sin(i * 0.5236));
    text += line;
  }
  return text;
}

struct SavingFit {
  Folder folder;
  std::string points = folder.write("points.csv", twelve_readings());
  std::string record = folder.path("roller.json");
  Run save(const std::string& feature, std::vector<std::string> more = {},
           const RunOptions& options = {}) const {
    std::vector<std::string> arguments{"fit", points, "--save", record, "--feature", feature};
    arguments.insert(arguments.end(), more.begin(), more.end());
    return rondure_run(arguments, options);
  }
  Json saved() const { return Json::parse(folder.read("roller.json")); }
};

}  // namespace

TEST_CASE("option --json -: standard output holds the record and nothing else", "[cli][json]") {
  const SavingFit bench;
  const Run run = rondure_run({"fit", bench.points, "--json", "-"});
  REQUIRE(run.exit_code == 0);
  CHECK(run.err.empty());
  const Json record = Json::parse(run.out);
  CHECK(record["format"] == "rondure-part");
  CHECK(record["features"][0]["circle"]["diameter_mm"].get<double>() == Approx(12.4).margin(0.001));
  CHECK(run.out.find("null") == std::string::npos);
}

TEST_CASE("option --json FILE: the same record, and the text on standard output", "[cli][json]") {
  const SavingFit bench;
  const Run run = rondure_run({"fit", bench.points, "--json", bench.folder.path("out.json")});
  REQUIRE(run.exit_code == 0);
  CHECK_THAT(run.out, Catch::Contains("mm") && Catch::Contains("in"));
  CHECK(Json::parse(bench.folder.read("out.json"))["features"].size() == 1);
  const Run quiet = rondure_run({"fit", bench.points, "--json", bench.folder.path("out.json"), "--quiet"});
  CHECK(quiet.exit_code == 0);
  CHECK(quiet.out.empty());
}

TEST_CASE("the record tells what was measured, with its digest and when", "[cli][json]") {
  const SavingFit bench;
  REQUIRE(bench.save("outside", {"--kind", "outside", "--material", "POM-C"}).exit_code == 0);
  const Json record = bench.saved();
  CHECK(record["part"]["name"] == "roller");
  CHECK(record["part"]["material"] == "POM-C");
  const Json source = record["features"][0]["source"];
  CHECK(source["file"] == bench.points);
  CHECK(std::regex_match(source["sha256"].get<std::string>(), std::regex("[0-9a-f]{64}")));
  CHECK(std::regex_match(source["time"].get<std::string>(),
                         std::regex("\\d{4}-\\d\\d-\\d\\dT\\d\\d:\\d\\d:\\d\\dZ")));
  CHECK(record["features"][0]["kind"] == "outside");
}

TEST_CASE("option --save adds and replaces features and keeps the record before", "[cli][save]") {
  const SavingFit bench;
  REQUIRE(bench.save("outside").exit_code == 0);
  const std::string before = bench.folder.read("roller.json");
  const Run run = bench.save("idler");
  REQUIRE(run.exit_code == 0);
  CHECK_THAT(run.out, Catch::Contains("as 'idler'"));
  CHECK(bench.folder.read("roller.json.bak") == before);
  REQUIRE(bench.save("idler").exit_code == 0);
  const Json record = bench.saved();
  REQUIRE(record["features"].size() == 2);
  CHECK(record["features"][0]["name"] == "outside");
  CHECK(record["features"][1]["name"] == "idler");
}

TEST_CASE("option --save without --feature replaces only what came from the same file", "[cli][save]") {
  const SavingFit bench;
  const std::string other = bench.folder.write("bore.csv", twelve_readings(6));
  const auto save = [&](const std::string& points) {
    return rondure_run({"fit", points, "--save", bench.record, "--kind", "outside", "--quiet"}).exit_code;
  };
  REQUIRE(save(bench.points) == 0);
  REQUIRE(save(other) == 0);
  REQUIRE(save(bench.points) == 0);
  const Json record = bench.saved();
  REQUIRE(record["features"].size() == 2);
  CHECK(record["features"][0]["source"]["file"] == bench.points);
  CHECK(record["features"][1]["source"]["file"] == other);
}

TEST_CASE("option --save refuses a damaged record with what and where, and leaves it", "[cli][save]") {
  const SavingFit bench;
  for (const std::string& damaged :
       {std::string("{\"format\":\"rondure-part\",\n\"version\":1,\n\"features\":[{}"),
        std::string("{\"format\":\"other\"}"), std::string("not a record"), std::string(),
        std::string("{\"format\":\"rondure-part\",\"version\":1,\"features\":\n[{\"name\":5}]}")}) {
    bench.folder.write("roller.json", damaged);
    const Run run = bench.save("outside");
    INFO(damaged << " -> " << run.err);
    CHECK(run.exit_code == 1);
    CHECK(run.one_line_on_error());
    CHECK_THAT(run.err, Catch::Contains("roller.json"));
    CHECK(bench.folder.read("roller.json") == damaged);
    CHECK(bench.folder.names() == std::vector<std::string>{"points.csv", "roller.json"});
  }
}

TEST_CASE("outputs that cannot be written: one line, exit 1, nothing half-written", "[cli][save][json]") {
  const SavingFit bench;
  const auto refused = [&](const Run& run, const std::string& about) {
    INFO(run.err);
    CHECK(run.exit_code == 1);
    CHECK(run.one_line_on_error());
    CHECK_THAT(run.err, Catch::Contains(about));
    CHECK(bench.folder.names() == std::vector<std::string>{"points.csv"});
  };
  refused(rondure_run({"fit", bench.points, "--json", "/dev/full"}), "/dev/full");
  refused(rondure_run({"fit", bench.points, "--json", bench.folder.path("no/such/out.json")}),
          "no/such/out.json");
  refused(rondure_run({"fit", bench.points, "--json", bench.folder.path()}), "folder");
  refused(rondure_run(
              {"fit", bench.points, "--save", bench.folder.path("no/such/roller.json"), "--feature", "a"}),
          "no/such");
  RunOptions full;
  full.out_file = "/dev/full";
  refused(rondure_run({"fit", bench.points}, full), "standard output");
  refused(rondure_run({"fit", bench.points, "--json", "-"}, full), "standard output");
}

TEST_CASE("option --save with no room left on the disk keeps the old record", "[cli][save][fault]") {
  const SavingFit bench;
  REQUIRE(bench.save("outside").exit_code == 0);
  const std::string before = bench.folder.read("roller.json");
  RunOptions no_room;
  no_room.prepare = [] {
    const rlimit bytes{100, 100};
    setrlimit(RLIMIT_FSIZE, &bytes);
    signal(SIGXFSZ, SIG_IGN);
  };
  const Run run = bench.save("bore", {}, no_room);
  CHECK(run.exit_code == 1);
  CHECK(run.one_line_on_error());
  CHECK(bench.folder.read("roller.json") == before);
  CHECK(bench.folder.names() == std::vector<std::string>{"points.csv", "roller.json"});
}

TEST_CASE("a reader that goes away does not crash the program", "[cli][json]") {
  const SavingFit bench;
  RunOptions options;
  options.program = "/bin/sh";
  const Run run = rondure_run(
      {"-c", std::string(RONDURE_PROGRAM) + " fit " + bench.points + " --json - | true"}, options);
  CHECK(run.exit_code == 0);
}
