// Many photographs in one command: order kept, a bad one does not stop the rest, all cores give what one
// gives.
#include <catch2/catch.hpp>
#include <map>
#include <nlohmann/json.hpp>
#include <sstream>

#include "demo_files.hpp"
#include "process.hpp"

using nlohmann::json;

namespace {

// `count` photographs in a folder, number `broken` of them cut short.
std::vector<std::string> photographs(const Folder& folder, int count, int broken) {
  const std::string bytes = text_of(demo("drum.png"));
  std::vector<std::string> files;
  for (int i = 0; i < count; ++i) {
    char name[32];
    std::snprintf(name, sizeof name, "photo_%03d.png", i);
    files.push_back(folder.path(name));
    folder.write(name, i == broken ? bytes.substr(0, bytes.size() / 3) : bytes);
  }
  return files;
}

}  // namespace

TEST_CASE("measure: a batch keeps its order, goes past the bad one and sums up",
          "[cli][measure][batch][repeats]") {
  const Folder folder;
  const std::vector<std::string> files = photographs(folder, 8, 5);
  const auto words = [&](const std::string& csv, const std::string& threads) {
    std::vector<std::string> all{"measure"};
    all.insert(all.end(), files.begin(), files.end());
    all.insert(all.end(), {"--scale", "38.00px/mm+-0.02", "--csv", folder.path(csv), "--threads", threads});
    return all;
  };
  const Run run = rondure_run(words("all.csv", "0"));
  INFO(run.out << run.err);
  CHECK(run.exit_code == 1);
  CHECK(run.one_line_on_error());
  CHECK(run.err.find("photo_005.png") != std::string::npos);
  CHECK(lines_of(run.out).back().starts_with("7 of 8 photographs measured, "));
  CHECK(lines_of(run.out).back().ends_with("; 1 could not be measured"));

  const auto rows = lines_of(folder.read("all.csv"));
  std::vector<std::string> order;
  for (std::size_t i = 1; i < rows.size(); ++i)
    if (const std::string file = rows[i].substr(0, rows[i].find(',')); order.empty() || order.back() != file)
      order.push_back(file);
  CHECK(order == files);
  for (const std::string& row : rows)
    if (row.starts_with(files[5])) CHECK(row.starts_with(files[5] + ",,,"));

  REQUIRE(rondure_run(words("one.csv", "1")).exit_code == 1);
  CHECK(folder.read("one.csv") == folder.read("all.csv"));
}

// Every figure of the table stands in the record by the same value, its uncertainty too.
TEST_CASE("measure: the table of a batch tells what the record tells", "[cli][measure][batch]") {
  const Folder folder;
  const Run run = rondure_run({"measure", demo("drum.png"), "--scale", "38.00px/mm+-0.02", "--csv",
                               folder.path("t.csv"), "--json", folder.path("t.json")});
  INFO(run.err);
  REQUIRE(run.exit_code == 0);
  const auto cells = [](const std::string& row) {
    std::vector<std::string> found;
    std::istringstream line(row);
    for (std::string cell; std::getline(line, cell, ',');) found.push_back(cell);
    return found;
  };
  const auto rows = lines_of(folder.read("t.csv"));
  const json features = json::parse(folder.read("t.json")).at("features");
  REQUIRE(features.size() >= 1);
  REQUIRE(rows.size() == features.size() + 1);
  const auto heads = cells(rows[0]);
  for (std::size_t i = 0; i < features.size(); ++i) {
    std::map<std::string, std::string> told;
    const auto row = cells(rows[i + 1]);
    for (std::size_t c = 0; c < std::min(row.size(), heads.size()); ++c) told[heads[c]] = row[c];
    const json &circle = features[i].at("circle"), &ellipse = features[i].at("ellipse");
    INFO(rows[i + 1]);
    CHECK(told.at("feature") == features[i].at("name"));
    for (const char* figure : {"diameter_mm", "u_diameter_mm"}) {
      REQUIRE_FALSE(told.at(figure).empty());
      CHECK(std::stod(told.at(figure)) == Approx(circle.at(figure).get<double>()).margin(6e-7));
    }
    for (const char* figure : {"ovality_mm", "u_ovality_mm"}) {
      REQUIRE_FALSE(told.at(figure).empty());
      CHECK(std::stod(told.at(figure)) == Approx(ellipse.at(figure).get<double>()).margin(6e-7));
    }
  }
}

TEST_CASE("measure: a batch with a table on standard output sums up on standard error",
          "[cli][measure][batch]") {
  const Run run =
      rondure_run({"measure", demo("drum.png"), demo("drum.png"), "--scale", "38.00px/mm", "--csv", "-"});
  CHECK(run.exit_code == 0);
  CHECK(run.out.starts_with("file,feature,"));
  CHECK(run.out.find("photographs measured") == std::string::npos);
  CHECK(run.err.find("2 of 2 photographs measured") != std::string::npos);
}
