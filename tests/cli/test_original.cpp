// rondure original, run as a user would.
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "process.hpp"

using nlohmann::json;

namespace {

const std::string kRollerSizes =
    "name,kind,size,u,unit\noutside,outside,12.444,0.004,mm\nhub,outside,6.969,0.005,mm\n"
    "bore,bore-on-metal,3.001,0.004,mm\nflange height,width,5.973,0.005,mm\n";

json original_of(const Run& run) { return json::parse(run.out).at("original"); }

const json& feature_of(const json& original, const std::string& name) {
  for (const json& f : original.at("features"))
    if (f.at("name") == name) return f;
  throw std::runtime_error("no feature " + name);
}

}  // namespace

TEST_CASE("original: the demo roller from a file of sizes", "[cli][original]") {
  const Folder folder;
  const std::string sizes = folder.write("sizes.csv", kRollerSizes);
  const Run run = rondure_run({"original", "--sizes", sizes, "--material", "POM-C", "--json", "-"});
  REQUIRE(run.exit_code == 0);
  CHECK(run.err.empty());
  const json o = original_of(run);
  CHECK(o.at("unit_system").at("metric").get<double>() > 0.99);
  CHECK(o.at("unit_system").at("metric").get<double>() + o.at("unit_system").at("inch").get<double>() ==
        Approx(1).margin(1e-12));
  const json& outside = feature_of(o, "outside");
  CHECK(outside.at("candidates")[0].at("label") == "12.5 mm");
  CHECK(outside.at("candidates")[0].at("size_mm").get<double>() == Approx(12.5));
  double sum = outside.at("rest_probability");
  for (const json& c : outside.at("candidates")) sum += c.at("probability").get<double>();
  CHECK(sum == Approx(1).margin(1e-9));
  CHECK(outside.at("share_of_shrinkage").get<double>() == Approx(0.91).margin(0.02));
  CHECK(feature_of(o, "bore").at("share_of_shrinkage") == 0.0);
  CHECK(o.at("shrinkage").at("interval95")[0].get<double>() < o.at("shrinkage").at("mean").get<double>());
  CHECK_FALSE(o.at("measure_next").empty());
  CHECK(o.at("measure_next")[0].at("expected_gain_bits").get<double>() > 0);
}

TEST_CASE("original: text names both units, the trap and the unit system", "[cli][original]") {
  const Folder folder;
  const std::string sizes = folder.write("sizes.csv", kRollerSizes);
  const Run run = rondure_run({"original", "--sizes", sizes, "--material", "POM-C"});
  REQUIRE(run.exit_code == 0);
  for (const char* words :
       {"12.5 mm", "0.4921 in", "|###", "Unit system", "Shrinkage", "moulding shrinkage", "measure next"})
    CHECK(run.out.find(words) != std::string::npos);
  CHECK(run.out.find("nan") == std::string::npos);
  const Run help = rondure_run({"original", "--help"});
  CHECK(help.exit_code == 0);
  for (const char* words :
       {"never undo it", "--shrinkage", "--crack-gap", "--evidence", "--metric-prior", "--grids", "Examples"})
    CHECK(help.out.find(words) != std::string::npos);
}

// n/32 in is 0.8 n mm x 0.9921875: parts of 4, 8, 12, 16 mm that shrank by 0.78 % read exactly 5/32, 5/16,
// 15/32, 5/8 in.
TEST_CASE("original: the inch-metric trap is left to the unshrinkable shaft", "[cli][original]") {
  const Folder folder;
  const std::string trap =
      "name,kind,size,u,unit,u_made\nhub,width,0.3125,0.0001,in,0.0004\nrim,outside,0.46875,0.0001,in,0."
      "0004\n"
      "flange,width,0.625,0.0001,in,0.0004\n";
  const std::vector<std::string> options{"--shrinkage", "0.5%+-0.4%", "--json", "-"};
  const auto metric_share = [&](const std::string& extra) {
    std::vector<std::string> arguments{"original", "--sizes", folder.write("trap.csv", trap + extra)};
    arguments.insert(arguments.end(), options.begin(), options.end());
    const Run run = rondure_run(arguments);
    REQUIRE(run.exit_code == 0);
    return original_of(run).at("unit_system").at("metric").get<double>();
  };
  const double plastic_alone = metric_share("");
  CHECK(plastic_alone > 0.02);
  CHECK(plastic_alone < 0.98);
  CHECK(metric_share("shaft,metal,0.1181,0.0001,in,0.0003\n") > 0.99);  // 3 mm
  CHECK(metric_share("shaft,metal,0.1250,0.0001,in,0.0003\n") < 0.01);  // 1/8 in
}

TEST_CASE("original: evidence, drive ratio, crack gap and own grids", "[cli][original]") {
  const Folder folder;
  const std::string sizes = folder.write("s.csv",
                                         "name,kind,size,u,unit,u_made\nrim,outside,12.30,0.01,mm,0.08\n"
                                         "bore,bore-on-metal,3.00,0.005,mm,0.01\n");
  const auto best = [&](std::vector<std::string> more) {
    std::vector<std::string> arguments{"original", "--sizes", sizes, "--json", "-"};
    arguments.insert(arguments.end(), more.begin(), more.end());
    const Run run = rondure_run(arguments);
    INFO(run.err);
    REQUIRE(run.exit_code == 0);
    return original_of(run);
  };
  const json by_size = best({"--evidence", "rim=12.5mm+-0.05mm"});
  CHECK(feature_of(by_size, "rim").at("candidates")[0].at("label") == "12.5 mm");
  // (30 + 0.5)/(12.5 + 0.5) = 2.346
  const json by_ratio = best({"--ratio", "2.346+-0.2%", "--mating", "30mm+-0.01mm", "--belt", "0.5mm"});
  CHECK(feature_of(by_ratio, "rim").at("candidates")[0].at("label") == "12.5 mm");
  CHECK(by_ratio.at("evidence")[0].at("size_mm").get<double>() == Approx(12.5).margin(0.01));
  CHECK(std::abs(by_ratio.at("drive")[0].at("error_ratio").get<double>()) < 0.001);
  // pi 13 mm x 120/60 turns a second = 81.68 mm/s
  const json by_speed = best({"--surface-speed", "81.68mm/s", "--turns", "120", "--belt", "0.5mm"});
  CHECK(by_speed.at("evidence")[0].at("size_mm").get<double>() == Approx(12.5).margin(0.01));
  // gap/(pi d) = 2.12 %
  const json by_gap = best({"--crack-gap", "0.2mm", "--material", "POM-C"});
  CHECK(by_gap.at("shrinkage").at("mean").get<double>() == Approx(0.0212).margin(0.004));
  CHECK(feature_of(by_gap, "rim").at("share_of_shrinkage") == 1.0);  // a cracked hub holds nothing
  const std::string grids = folder.write("g.csv", "system,grid,step_mm,weight\nmetric,whole,1,1\n");
  const json own = best({"--grids", grids});
  CHECK(feature_of(own, "rim").at("candidates")[0].at("label") == "12 mm");
  CHECK(own.at("unit_system").at("metric").get<double>() == Approx(1).margin(1e-12));
}

TEST_CASE("original: a record in, the answer saved into it", "[cli][original]") {
  const Folder folder;
  const std::string sizes = folder.write("sizes.csv", kRollerSizes), part = folder.path("part.json");
  const Run made =
      rondure_run({"original", "--sizes", sizes, "--material", "POM-C", "--save", part, "--quiet"});
  REQUIRE(made.exit_code == 0);
  CHECK(made.out.empty());
  const json before = json::parse(folder.read("part.json"));
  CHECK(before.at("features").size() == 4);
  CHECK(before.at("part").at("material") == "POM-C");
  const Run again = rondure_run({"original", part, "--json", "-"});
  REQUIRE(again.exit_code == 0);
  const json o = original_of(again);
  CHECK(o.at("features")[0].at("candidates")[0].at("probability").get<double>() ==
        Approx(before.at("original").at("features")[0].at("candidates")[0].at("probability").get<double>())
            .epsilon(1e-9));
  // without --save the record stays as it was
  CHECK(json::parse(folder.read("part.json")) == before);
  const Run on_metal = rondure_run({"original", "--on-metal", "bore", "--quiet", part});
  CHECK(on_metal.exit_code == 0);
  const Run saved = rondure_run({"original", part, "--metric-prior", "0.3", "--save", part});
  REQUIRE(saved.exit_code == 0);
  CHECK(json::parse(folder.read("part.json")).at("features") == before.at("features"));
}

TEST_CASE("original: bad input is one line and the right exit status", "[cli][original]") {
  const Folder folder;
  const std::string sizes = folder.write("sizes.csv", kRollerSizes);
  const auto refused = [&](std::vector<std::string> arguments, int exit_code, const std::string& words) {
    arguments.insert(arguments.begin(), "original");
    const Run run = rondure_run(arguments);
    INFO(run.err);
    CHECK(run.exit_code == exit_code);
    CHECK(run.out.empty());
    CHECK(run.one_line_on_error());
    CHECK(run.err.find(words) != std::string::npos);
  };
  refused({}, 2, "needed either");
  refused({folder.path("missing.json")}, 1, "missing.json");
  refused({"--sizes", folder.path("missing.csv")}, 1, "missing.csv");
  refused({"--sizes", folder.write("bad.csv", kRollerSizes + "x,bore,abc,0.1,mm\n")}, 1, "line 6");
  refused({"--sizes", folder.write("empty.csv", "")}, 1, "no sizes");
  refused({folder.write("broken.json", "{\"format\":")}, 1, "broken.json");
  refused(
      {folder.write("bare.json", "{\"format\":\"rondure-part\",\"version\":1,\"part\":{},\"features\":[]}")},
      1, "no feature");
  refused({"--sizes", sizes, "--shrinkage", "lots"}, 2, "--shrinkage");
  refused({"--sizes", sizes, "--shrinkage", "-1%"}, 2, "shrinkage");
  refused({"--sizes", sizes, "--metric-prior", "7"}, 2, "metric-prior");
  refused({"--sizes", sizes, "--confidence", "0"}, 2, "--confidence");
  refused({"--sizes", sizes, "--evidence", "nothing"}, 2, "--evidence");
  refused({"--sizes", sizes, "--evidence", "rim=12mm+-0.1mm"}, 2, "'rim'");
  refused({"--sizes", sizes, "--evidence", "outside=12mm"}, 2, "uncertainty");
  refused({"--sizes", sizes, "--crack-gap", "9mm"}, 2, "crack gap");
  refused({"--sizes", sizes, "--ratio", "2.4"}, 2, "--mating");
  refused({"--sizes", sizes, "--on-metal", "hub"}, 2, "--on-metal");
  refused({"--sizes", sizes, "--worn", "nose"}, 2, "'nose'");
  refused({"--sizes", sizes, "--grids", folder.write("g.csv", "system,grid,step_mm,weight\nmetric,x,0,1\n")},
          1, "line 2");
  refused({"--sizes", sizes, "--save", folder.path("no/such/folder/p.json")}, 1, "p.json");
}
