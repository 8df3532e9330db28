// The documented schema (src/record/part_record.schema.json) against what is really written, by Debian's
// python3-jsonschema (JSON Schema draft 2020-12).
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "cli/demo_files.hpp"
#include "cli/process.hpp"
#include "full_record.hpp"

using Json = nlohmann::json;

namespace {

Run check(const std::vector<std::string>& files, bool strict) {
  std::vector<std::string> arguments{RONDURE_SOURCE "/tests/record/check_schema.py"};
  if (strict) arguments.push_back("--strict");
  arguments.push_back(RONDURE_SOURCE "/src/record/part_record.schema.json");
  arguments.insert(arguments.end(), files.begin(), files.end());
  RunOptions options;
  options.program = "/usr/bin/python3";
  return rondure_run(arguments, options);
}

}  // namespace

TEST_CASE("schema: describes every key that is written", "[record][schema]") {
  const Folder folder;
  rondure::PartRecord small;
  small.features = {{}};
  small.features[0].name = "crown";
  const Run run =
      check({folder.write("full.json", to_json(full_record())), folder.write("small.json", to_json(small)),
             folder.write("empty.json", to_json(rondure::PartRecord{}))},
            true);
  INFO(run.out << run.err);
  CHECK(run.exit_code == 0);
}

TEST_CASE("schema: describes every key of a plan and of a side view that the program writes",
          "[record][schema]") {
  const Folder folder;
  const auto tools = demo("tools.csv");
  const std::string part = folder.write("roller.json", text_of(demo("two-dates/roller-2026.json")));
  const Run plan =
      rondure_run({"plan",    part,          "--save",  "--tools",          tools,        "--belt",
                   "0.13mm",  "--speed",     "150mm/s", "--shaft",          "3mm+-0.002", "--material-new",
                   "brass",   "--radius",    "13mm",    "--form-tool",      "section",    "--rake",
                   "5",       "--frequency", "12Hz",    "--belt-stiffness", "2N/mm",      "--rest-inertia",
                   "500gmm2", "--width",     "6mm"});
  INFO(plan.err);
  REQUIRE(plan.exit_code == 0);
  const std::string side = folder.path("side.json");
  const Run seen = rondure_run({"measure", demo("roller-side.jpg"), "--side", "--scale", "60.00px/mm+-0.02",
                                "--distance", "200mm", "--save", side});
  INFO(seen.err);
  REQUIRE(seen.exit_code == 0);
  const Run run = check({part, side}, true);
  INFO(run.out << run.err);
  CHECK(run.exit_code == 0);
}

TEST_CASE("schema: refuses what a record must not hold", "[record][schema]") {
  const Folder folder;
  const Json good = Json::parse(to_json(full_record()));
  const auto refused = [&](const char* pointer, const Json& value) {
    Json bad = good;
    bad[Json::json_pointer(pointer)] = value;
    INFO(pointer);
    const Run run = check({folder.write("bad.json", bad.dump())}, false);
    CHECK(run.exit_code == 1);
    CHECK(run.err.empty());
  };
  refused("/format", "other");
  refused("/version", 0);
  refused("/features/0/circle/u_diameter_mm", -0.001);
  refused("/features/0/circle/diameter_mm", nullptr);
  refused("/features/0/ellipse/p_round", 1.5);
  refused("/features/0/verdict", "roundish");
  refused("/features/0/harmonics/0/phase_deg", 360);
}
