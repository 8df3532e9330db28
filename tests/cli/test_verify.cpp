// rondure verify: the installed program against published sets.
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "cli/process.hpp"

TEST_CASE("verify: every built-in published set agrees, and the page shows it", "[cli][verify]") {
  const Run run = rondure_run({"verify"});
  INFO(run.err);
  CHECK(run.exit_code == 0);
  CHECK(run.err.empty());
  CHECK(run.out.find("Gander, Golub & Strebel") != std::string::npos);
  CHECK(run.out.find("4.714226") != std::string::npos);                                 // as printed
  CHECK(run.out.find("4.71422603779211       4.71422603779211") != std::string::npos);  // certified, and ours
  CHECK(run.out.find("none falls short") != std::string::npos);
}

TEST_CASE("verify: the comparison as JSON", "[cli][verify]") {
  const Run run = rondure_run({"verify", "--json", "-"});
  REQUIRE(run.exit_code == 0);
  const auto sets = nlohmann::json::parse(run.out);
  CHECK(sets.size() > 30);
  int values = 0;
  for (const auto& set : sets)
    for (const auto& value : set["values"]) {
      INFO(set["set"] << " " << value["quantity"]);
      CHECK(value["passed"].get<bool>());
      ++values;
    }
  CHECK(values > 200);
}

TEST_CASE("verify: a value that falls short is marked and the exit status is 1", "[cli][verify]") {
  const Folder folder;
  folder.write("sets.txt",
               "set square\nsource four corners\nvalue circle.r 1.5 1e-9 1.5\nvalue ellipse.a 1 1e-9\n"
               "point 1 1\npoint -1 1\npoint -1 -1\npoint 1 -1\n");
  const Run run = rondure_run({"verify", "--sets", folder.path("sets.txt")});
  CHECK(run.exit_code == 1);
  CHECK(run.one_line_on_error());
  CHECK(run.out.find("FALLS SHORT") != std::string::npos);
  CHECK(run.out.find("refused: too few points") != std::string::npos);
}

TEST_CASE("verify: sets that cannot be read are named by their line", "[cli][verify]") {
  const Folder folder;
  folder.write("bad.txt", "set one\nvalue circle.radius 1 1e-9\n");
  const Run bad = rondure_run({"verify", "--sets", folder.path("bad.txt")});
  CHECK(bad.exit_code == 1);
  CHECK(bad.one_line_on_error());
  CHECK(bad.err.find("line 2") != std::string::npos);
  const Run missing = rondure_run({"verify", "--sets", folder.path("none.txt")});
  CHECK(missing.exit_code == 1);
  CHECK(missing.one_line_on_error());
}
