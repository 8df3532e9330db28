// What the machine itself tells a set: words for its drawings, a belt between two pulleys, its metal parts.
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdio>

#include "roller_record.hpp"

using nlohmann::json;

// The same said at the stage and at the bench, without a hand on the files.
TEST_CASE("record and add: a word for the drawing, which the set reads", "[cli][original][set][record]") {
  const Folder folder;
  const auto round = [](double diameter_mm) {
    std::string text;
    for (int i = 0; i < 12; ++i) {
      char line[64];
      std::snprintf(line, sizeof line, "%.3f %.3f\n", 20 + diameter_mm / 2 * std::cos(M_PI * i / 6),
                    20 + diameter_mm / 2 * std::sin(M_PI * i / 6));
      text += line;
    }
    return text;
  };
  const std::string a = folder.path("a.json"), b = folder.path("b.json");
  RunOptions typed;
  typed.in = "same\nsame  film roller\n" + round(12.475) + "undo\nsame roller\nquit\n";
  const Run session = rondure_run(
      {"record", folder.path("a.csv"), "--save", a, "--feature", "tread", "--material", "POM-C"}, typed);
  CHECK(session.out.find("nothing done: found no word") != std::string::npos);
  CHECK(session.out.find("drawn like the other parts marked 'film roller'") != std::string::npos);
  CHECK(json::parse(folder.read("a.json"))["features"][0]["same"] == "roller");
  CHECK(folder.read("a.csv").find("# same: roller") != std::string::npos);
  // Taken up again, without another word; and measured anew, the mark stays, without a remark.
  typed.in = "quit\n";
  const Run again = rondure_run({"record", folder.path("a.csv"), "--save", a, "--feature", "tread"}, typed);
  REQUIRE(again.exit_code == 0);
  REQUIRE(rondure_run({"fit", folder.path("a.csv"), "--save", a, "--feature", "tread"}).exit_code == 0);
  const json kept = json::parse(folder.read("a.json"))["features"][0];
  CHECK(kept["same"] == "roller");
  for (const json& w : kept.value("warnings", json::array())) CHECK(w["code"] != "kept-unknown-field");
  const Run added =
      rondure_run({"add", b, "rim", "12.45mm+-0.01mm", "--same", "roller", "--material", "POM-C"});
  REQUIRE(added.exit_code == 0);
  const Run set = rondure_run({"original", a, b, "--json", "-"});
  INFO(set.err);
  REQUIRE(set.exit_code == 0);
  CHECK(json::parse(set.out).at("same_drawing") == json{"roller"});
}

// Two pulleys on one belt: the drive ratio ties two unknown originals together.
TEST_CASE("original: two pulleys on one belt answer for each other", "[cli][original][set][repeats]") {
  const Folder folder;
  const std::string a = folder.write("small.json", roller(12.44)),
                    b = folder.write("large.json", roller(24.86));
  const auto probability = [&](std::vector<std::string> more) {
    more.insert(more.begin(), {"original", a, b});
    more.insert(more.end(), {"--json", "-"});
    const Run run = rondure_run(more);
    INFO(run.err);
    REQUIRE(run.exit_code == 0);
    std::vector<double> p;
    const json set = json::parse(run.out);
    for (const json& part : set.at("parts"))
      for (const json& c : part.at("original").at("features")[0].at("candidates"))
        if (c.at("label") == "12.5 mm" || c.at("label") == "25 mm") p.push_back(c.at("probability"));
    REQUIRE(p.size() == 2);
    return p;
  };
  const auto untied = probability({}),
             tied = probability({"--tie", "large:outside/small:outside=2.000+-0.05%"});
  CHECK(tied[0] > untied[0] + 0.05);
  CHECK(tied[1] > untied[1] + 0.05);
  // (25 + 0.3) / (12.5 + 0.3): the belt runs on its neutral line.
  const auto belt = probability({"--tie", "large:outside/small:outside=1.9766+-0.05%", "--belt", "0.3mm"});
  CHECK(belt[0] > untied[0] + 0.05);
}

// Forty pins on whole millimetres: the grid of 1 mm gains, half of the weight stays with the prior, and the
// file is read back by --grids.
TEST_CASE("original: --learn writes what metal parts teach of the grids", "[cli][original][set]") {
  const Folder folder;
  std::string sizes = "name,kind,size,u,unit,u_made\n";
  for (int i = 0; i < 40; ++i)
    sizes += "pin " + std::to_string(i) + ",metal," + std::to_string(2 + i % 9) + ".001,0.001,mm,0.002\n";
  const std::string file = folder.path("learned.csv");
  const Run run =
      rondure_run({"original", "--sizes", folder.write("pins.csv", sizes), "--learn", file, "--quiet"});
  INFO(run.err);
  REQUIRE(run.exit_code == 0);
  const std::string text = folder.read("learned.csv");
  CHECK(text.find("from 40 metal sizes: 40.0 metric, 0.0 inch") != std::string::npos);
  const auto weight_of = [&](const std::string& row) {
    const auto at = text.find(row);
    REQUIRE(at != std::string::npos);
    return std::stod(text.substr(at + row.size()));
  };
  // Built in 0.3 and 0.25; a whole millimetre lies on all metric grids: shares 1 x 0.3, 0.5 x 0.25, 0.25 x 0.05,
  // 0.2 x 0.1, 0.1 x 0.2, 0.05 x 0.07, 0.01 x 0.03 of 0.4813.
  CHECK(weight_of("metric,1 mm,1,") == Approx((20 * 0.3 + 40 * 0.3 / 0.4813) / 60).margin(1e-4));
  CHECK(weight_of("metric,0.5 mm,0.5,") == Approx((20 * 0.25 + 40 * 0.125 / 0.4813) / 60).margin(1e-4));
  CHECK(weight_of("inch,1/8 in,3.175,") == Approx(0.15).margin(1e-4));
  const std::string a = folder.write("a.json", roller(11.97));
  CHECK(text.find(
            "# Trust: the prior grids still count as 20 sizes of each system, so these sizes make up 50 %") !=
        std::string::npos);
  const auto chance_of_12_mm = [&](std::vector<std::string> more) {
    more.insert(more.begin(), {"original", a, "--json", "-"});
    const Run asked = rondure_run(more);
    REQUIRE(asked.exit_code == 0);
    const json answer = json::parse(asked.out);
    for (const json& c : answer["original"]["features"][0]["candidates"])
      if (c["label"] == "12 mm") return c["probability"].get<double>();
    return 0.0;
  };
  CHECK(chance_of_12_mm({"--grids", file}) > chance_of_12_mm({}) + 0.05);
  // Three pins leave the prior nearly as it was.
  const std::string few = folder.path("few.csv");
  REQUIRE(rondure_run({"original", "--sizes",
                       folder.write("three.csv",
                                    "name,kind,size,u,unit,u_made\np,metal,2.001,0.001,mm,0.002\n"
                                    "q,metal,3.001,0.001,mm,0.002\nr,metal,5.001,0.001,mm,0.002\n"),
                       "--learn", few, "--quiet"})
              .exit_code == 0);
  CHECK(folder.read("few.csv").find("from 3 metal sizes: 3.0 metric") != std::string::npos);
  CHECK(folder.read("few.csv").find("make up 7 %") != std::string::npos);
  const Run none = rondure_run({"original", a, "--learn", folder.path("no.csv")});
  CHECK(none.exit_code == 1);
  CHECK_FALSE(folder.has("no.csv"));
}
