// rondure compare, as a user runs it.
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "process.hpp"

using Json = nlohmann::json;

namespace {

std::string sha(char c) { return std::string(64, c); }

Json feature(const std::string& name, const std::string& kind, double diameter_mm, double u_mm) {
  return {{"name", name},
          {"kind", kind},
          {"source",
           {{"type", "readings"},
            {"calibration", "stage.json"},
            {"calibration_sha256", sha('c')},
            {"time", "2026-03-01T10:00:00Z"}}},
          {"circle", {{"diameter_mm", diameter_mm}, {"u_diameter_mm", u_mm}}},
          {"budget",
           {{{"source", "scale"}, {"u_mm", u_mm * 0.8}}, {{"source", "edge noise"}, {"u_mm", u_mm * 0.6}}}}};
}

std::string record(std::initializer_list<Json> features, const Json& more = Json::object()) {
  Json j{{"format", "rondure-part"}, {"version", 1}};
  j["features"] = std::vector<Json>(features);
  j.update(more);
  return j.dump();
}

struct TwoRecords {
  Folder folder;
  std::string a = folder.write("a.json", record({feature("roller", "outside", 12.400, 0.0010),
                                                 feature("bore", "bore", 6.000, 0.0010)}));
  std::string b = folder.write("b.json", record({feature("roller", "outside", 12.380, 0.0010),
                                                 feature("knob", "outside", 20, 0.0010)}));
};

}  // namespace

TEST_CASE("compare: one look in both units, with uncertainty, shrinkage and what is missing",
          "[cli][compare]") {
  const TwoRecords bench;
  const Run run = rondure_run({"compare", bench.a, bench.b});
  REQUIRE(run.exit_code == 0);
  CHECK(run.err.empty());
  CHECK_THAT(run.out, Catch::Contains("-0.0200 +- 0.0008") && Catch::Contains("smaller"));
  CHECK_THAT(run.out, Catch::Contains("same calibration: scale cancels"));
  CHECK_THAT(run.out, Catch::Contains("shrinkage since A 0.161"));
  CHECK_THAT(run.out, Catch::Contains("only in A: bore") && Catch::Contains("only in B: knob"));
}

TEST_CASE("compare: --tolerance gives the verdict of the decision rule", "[cli][compare]") {
  const TwoRecords bench;
  const auto verdict = [&](const std::string& tolerance) {
    const Run run = rondure_run({"compare", bench.a, bench.b, "--tolerance", tolerance, "--json", "-"});
    REQUIRE(run.exit_code == 0);
    const Json f = Json::parse(run.out)["features"][0];
    CHECK(f["guard_mm"].get<double>() == Approx(1.65 * f["u_difference_mm"].get<double>()));
    return f["verdict"].get<std::string>();
  };
  CHECK(verdict("0.03mm") == "within");
  CHECK(verdict("0.02mm") == "cannot tell");
  CHECK(verdict("0.01mm") == "outside");
  CHECK(verdict("0.0012in") == "within");
}

TEST_CASE("compare: JSON keys", "[cli][compare]") {
  const TwoRecords bench;
  const Run run =
      rondure_run({"compare", bench.a, bench.b, "--quiet", "--json", bench.folder.path("c.json")});
  REQUIRE(run.exit_code == 0);
  CHECK(run.out.empty());
  const Json c = Json::parse(bench.folder.read("c.json"));
  CHECK(c["format"] == "rondure-comparison");
  const Json f = c["features"][0];
  CHECK(f["difference_mm"].get<double>() == Approx(-0.02));
  CHECK(f["shared"][0] == "scale");
  CHECK(f["change"] == "smaller");
  CHECK_FALSE(f.contains("verdict"));  // no limits, no verdict
  CHECK(c["shrinkage"]["mean"].get<double>() == Approx(0.02 / 12.4));
  CHECK(c["only_in_b"][0] == "knob");
}

TEST_CASE("compare: the copy against the plan of the old part", "[cli][compare]") {
  const TwoRecords bench;
  const Json plan{
      {"replacement",
       {{"sizes",
         {{{"name", "roller"},
           {"kind", "outside"},
           {"target_mm", 12.5},
           {"lower_mm", 12.49},
           {"upper_mm", 12.51}},
          {{"name", "crown"}, {"kind", "arc"}, {"target_mm", 13.0}, {"lower_mm", 12.9}, {"upper_mm", 13.1}}}},
        {"check_sheet", {{{"name", "roller"}, {"kind", "outside"}, {"u_mm", 0.002}}}}}}};
  const std::string old =
      bench.folder.write("old.json", record({feature("roller", "outside", 12.38, 0.001)}, plan));
  const std::string copy = bench.folder.write(
      "copy.json",
      record({feature("roller", "outside", 12.503, 0.001), feature("crown", "arc", 26.4, 0.02)}));
  const Run run = rondure_run({"compare", old, copy, "--json", "-"});
  REQUIRE(run.exit_code == 0);
  Json c = Json::parse(run.out);
  CHECK(c["features"][0]["verdict"] == "within");
  CHECK(c["features"][0]["planned"]["upper_mm"] == 12.51);
  CHECK_FALSE(c.contains("shrinkage"));
  CHECK(c["features"][1]["verdict"] == "outside");  // the plan gives arcs by radius: 25.8 to 26.2 mm
  CHECK(c["features"][1]["difference_mm"].get<double>() == Approx(0.4));

  const Run other = rondure_run({"compare", old, copy, "--against", "other", "--json", "-"});
  c = Json::parse(other.out);
  CHECK(c["features"].size() == 1);
  CHECK_FALSE(c["features"][0].contains("verdict"));

  const std::string sheet = bench.folder.write(
      "sheet.csv",
      "# Check sheet: roller\nname,kind,target,lower,upper,measured,u,unit,instrument,when\n"
      "roller,outside,12.5,12.49,12.51,12.5090,,mm,\"micrometer, 0.001 mm\",\"before parting off\"\n"
      "crown,arc,13,12.9,13.1,,,mm,radius gauge,\n"
      "run-out,run-out,0,,0.02,0.001,0.0002,in,dial,on the shaft\n");
  const Run filled = rondure_run({"compare", old, sheet, "--json", "-"});
  INFO(filled.err);
  REQUIRE(filled.exit_code == 0);
  c = Json::parse(filled.out);
  REQUIRE(c["features"].size() == 2);
  CHECK(c["features"][0]["u_b_mm"] == 0.002);           // of the instrument
  CHECK(c["features"][0]["verdict"] == "cannot tell");  // 0.001 mm from the limit
  CHECK(c["features"][1]["b_mm"].get<double>() == Approx(0.0254));
  CHECK_FALSE(c.contains("shrinkage"));  // the copy is another piece
  CHECK_THAT(rondure_run({"compare", old, sheet}).out, !Catch::Contains("shrinkage since A"));
  const std::string bare =
      bench.folder.write("bare.csv", "name,kind,measured,u,unit\nroller,outside,12.509,0.002,mm\n");
  CHECK_THAT(rondure_run({"compare", old, bare, "--against", "other"}).out,
             !Catch::Contains("shrinkage since A"));
}

TEST_CASE("compare: --turn brings the later part back", "[cli][compare]") {
  const TwoRecords bench;
  Json before = feature("roller", "outside", 12.4, 0.001), after = before;
  before["harmonics"] = {{{"upr", 2}, {"amplitude_mm", 0.01}, {"phase_deg", 10}, {"u_amplitude_mm", 0.0005}},
                         {{"upr", 3}, {"amplitude_mm", 0.01}, {"phase_deg", 10}, {"u_amplitude_mm", 0.0005}}};
  after["harmonics"] = {{{"upr", 2}, {"amplitude_mm", 0.01}, {"phase_deg", 40}, {"u_amplitude_mm", 0.0005}},
                        {{"upr", 3}, {"amplitude_mm", 0.01}, {"phase_deg", 40}, {"u_amplitude_mm", 0.0005}}};
  const std::string a = bench.folder.write("before.json", record({before})),
                    b = bench.folder.write("after.json", record({after}));
  CHECK_THAT(rondure_run({"compare", a, b}).out, Catch::Contains("--turn auto"));
  for (const std::string turn : {"auto", "30", "30deg"}) {
    const Run run = rondure_run({"compare", a, b, "--turn", turn});
    CHECK_THAT(run.out, Catch::Contains("turned back by 30.0 deg") && Catch::Contains("no change of shape"));
  }
}

TEST_CASE("compare: wrong inputs are one line and the right exit status", "[cli][compare]") {
  const TwoRecords bench;
  const std::string damaged =
      bench.folder.write("damaged.json", "{\"format\":\"rondure-part\",\n\"version\":1,");
  const std::string other =
      bench.folder.write("other.json", record({feature("x", "", 1, 1), feature("y", "", 1, 1)}));
  const std::string text = bench.folder.write("text.csv", "1,2\n3,4\n");
  const std::string sheet = bench.folder.write("sheet.csv", "name,measured,unit\nroller,12;5,mm\n");
  const std::string blank = bench.folder.write("blank.csv", "name,measured,unit\nroller,,mm\n");
  const std::string plan = bench.folder.write(
      "plan.json", record({feature("roller", "", 1, 1)},
                          {{"replacement", {{"sizes", {{{"name", "roller"}, {"target_mm", "12"}}}}}}}));
  struct Case {
    std::vector<std::string> arguments;
    int exit_code;
    std::string says;
  };
  for (const Case& wrong :
       {Case{{"compare"}, 2, "needed A.json"}, Case{{"compare", bench.a}, 2, "needed a second record"},
        Case{{"compare", bench.a, bench.folder.path("none.json")}, 1, "none.json"},
        Case{{"compare", bench.folder.path("none.json"), bench.b}, 1, "none.json"},
        Case{{"compare", bench.folder.path(), bench.b}, 1, "folder"},
        Case{{"compare", damaged, bench.b}, 1, "line 2, column"},
        Case{{"compare", bench.a, damaged}, 1, "damaged.json"},
        Case{{"compare", bench.a, other}, 1, "same name"}, Case{{"compare", bench.a, text}, 1, "line 1"},
        Case{{"compare", bench.a, sheet}, 1, "line 2"},
        Case{{"compare", bench.a, blank}, 1, "no measured value"},
        Case{{"compare", plan, bench.b}, 1, "replacement.sizes[0].target_mm"},
        Case{{"compare", bench.a, bench.b, "--tolerance", "0.02mn"}, 2, "0.02mn"},
        Case{{"compare", bench.a, bench.b, "--tolerance", "-1mm"}, 2, "--tolerance"},
        Case{{"compare", bench.a, bench.b, "--turn", "left"}, 2, "--turn"},
        Case{{"compare", bench.a, bench.b, "--against", "moon"}, 2, "against"},
        Case{{"compare", bench.a, bench.b, "--json", "/dev/full"}, 1, "/dev/full"}}) {
    const Run run = rondure_run(wrong.arguments);
    INFO(run.err << run.out);
    CHECK(run.exit_code == wrong.exit_code);
    CHECK(run.one_line_on_error());
    CHECK_THAT(run.err, Catch::Contains(wrong.says));
    CHECK(run.out.empty());
  }
}
