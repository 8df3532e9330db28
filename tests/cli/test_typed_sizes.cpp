// Sizes typed by hand, evidence beside them, and files that must survive a slip of the keys.
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>
#include <regex>

#include "process.hpp"

using nlohmann::json;

namespace {

const std::string kDrum = "name,kind,size,u,unit\ndrum,outside,12.435,0.005,mm\n";

bool has_warning(const json& warnings, const std::string& code) {
  for (const json& w : warnings)
    if (w.at("code") == code) return true;
  return false;
}

json original_with(const std::string& sizes, std::vector<std::string> more) {
  std::vector<std::string> arguments{"original", "--sizes", sizes, "--json", "-"};
  arguments.insert(arguments.end(), more.begin(), more.end());
  const Run run = rondure_run(arguments);
  INFO(run.err);
  REQUIRE(run.exit_code == 0);
  return json::parse(run.out).at("original");
}

json record_of(std::initializer_list<json> features, const json& more = json::object()) {
  json j{{"format", "rondure-part"}, {"version", 1}};
  j["features"] = std::vector<json>(features);
  j.update(more);
  return j;
}
json typed_roller_size(double diameter_mm) {
  return {{"name", "roller"},
          {"kind", "outside"},
          {"circle", {{"diameter_mm", diameter_mm}, {"u_diameter_mm", 0.001}}}};
}

}  // namespace

// 2026-11: the motor's rpm typed for the part's made a drum of 12.435 mm "drawn as 0.030 in, 100 %".
TEST_CASE("original: evidence that contradicts the measured size is left out, named, and its odds shown",
          "[cli][original]") {
  const Folder folder;
  const std::string sizes = folder.write("drum.csv", kDrum);
  const json plain = original_with(sizes, {});
  const std::vector<std::vector<std::string>> contradicting = {
      {"--surface-speed", "4.75in/s", "--turns", "3000"},
      {"--evidence", "drum=14mm+-0.1mm"},
      {"--evidence", "drum=11mm+-0.05mm"}};  // it cannot have grown
  for (const auto& more : contradicting) {
    const json o = original_with(sizes, more);
    INFO(o.dump());
    CHECK(has_warning(o.at("warnings"), "evidence-contradicts"));
    CHECK(o.at("evidence")[0].at("left_out") == true);
    CHECK(o.at("evidence")[0].at("chance").get<double>() < 0.01);
    const json &c = o.at("features")[0].at("candidates"), &p = plain.at("features")[0].at("candidates");
    CHECK(c[0].at("label") == p[0].at("label"));
    CHECK(c[0].at("probability").get<double>() == Approx(p[0].at("probability").get<double>()).epsilon(1e-9));
  }
  // Named with its odds, and both answers, in the terminal and on the page.
  const std::string part = folder.path("drum.json");
  const Run text =
      rondure_run({"original", "--sizes", sizes, "--evidence", "drum=14mm+-0.1mm", "--save", part});
  const json& best = plain.at("features")[0].at("candidates")[0];
  const std::string words = one_line(text.out);
  INFO(words);
  CHECK_THAT(words,
             Catch::Contains("CONTRADICTS the measured size, odds more than 1,000,000 to 1") &&
                 Catch::Contains("Without it " + best.at("label").get<std::string>() + " (" +
                                 std::to_string(std::lround(100 * best.at("probability").get<double>())) +
                                 " %, as above)") &&
                 Catch::Contains("believed all the same it would make 14 mm"));
  REQUIRE(rondure_run({"report", part, "-o", folder.path("drum.html")}).exit_code == 0);
  CHECK_THAT(folder.read("drum.html"), Catch::Contains("odds more than 1,000,000 to 1 against it") &&
                                           Catch::Contains("would make 14 mm"));
  // Odds of what is nearer are finite, and those of its chance.
  const std::vector<std::string> near{"--evidence", "drum=11.9mm+-0.05mm"};
  const json o = original_with(sizes, near);
  const double chance = o.at("evidence")[0].at("chance").get<double>();
  REQUIRE(o.at("evidence")[0].at("left_out") == true);
  std::smatch odds;
  const std::string warning = o.at("warnings")[0].at("text");
  REQUIRE(std::regex_search(warning, odds, std::regex("odds about ([0-9]+) to 1 against")));
  CHECK(std::stod(odds[1]) == Approx((1 - chance) / chance).margin(0.5));
  // What agrees is used as before, and moves the answer.
  const json agreeing = original_with(sizes, {"--evidence", "drum=12.5mm+-0.02mm"});
  CHECK_FALSE(has_warning(agreeing.value("warnings", json::array()), "evidence-contradicts"));
  CHECK(agreeing.at("evidence")[0].at("chance").get<double>() > 0.05);
  CHECK(agreeing.at("features")[0].at("candidates")[0].at("label") == "12.5 mm");
  CHECK(agreeing.at("features")[0].at("candidates")[0].at("probability").get<double>() >
        plain.at("features")[0].at("candidates")[0].at("probability").get<double>() + 0.1);
}

TEST_CASE("original: --sizes adds to the record it saves into", "[cli][original][save]") {
  const Folder folder;
  const std::string part = folder.path("part.json");
  REQUIRE(rondure_run({"original", "--sizes", folder.write("drum.csv", kDrum), "--save", part}).exit_code ==
          0);
  const std::string bore = folder.write("bore.csv", "name,kind,size,u,unit\nbore,bore,3.00,0.005,mm\n");
  const Run second = rondure_run({"original", "--sizes", bore, "--save", part});
  REQUIRE(second.exit_code == 0);
  CHECK_THAT(second.out, Catch::Contains("in place of the answer"));
  json record = json::parse(folder.read("part.json"));
  REQUIRE(record["features"].size() == 2);
  CHECK(record["features"][0]["name"] == "drum");
  const std::string before = folder.read("part.json");
  const std::string other = folder.write("other.csv", "name,kind,size,u,unit\ndrum,outside,9,0.005,mm\n");
  const Run clash = rondure_run({"original", "--sizes", other, "--save", part});
  CHECK(clash.exit_code == 2);
  CHECK(clash.one_line_on_error());
  CHECK(folder.read("part.json") == before);
}

TEST_CASE("original: smallest and largest diameter of an oval part are kept", "[cli][original][save]") {
  const Folder folder;
  const std::string part = folder.path("part.json");
  const std::string sizes =
      folder.write("oval.csv", "name,kind,size,u,unit,minor\ndrum,outside,12.47,0.005,mm,12.40\n");
  REQUIRE(rondure_run({"original", "--sizes", sizes, "--save", part, "--quiet"}).exit_code == 0);
  const json f = json::parse(folder.read("part.json"))["features"][0];
  CHECK(f["ellipse"]["major_diameter_mm"].get<double>() == Approx(12.47));
  CHECK(f["ellipse"]["minor_diameter_mm"].get<double>() == Approx(12.40));
  CHECK(f["verdict"] == "oval");
  REQUIRE(rondure_run({"report", part, "-o", folder.path("part.html")}).exit_code == 0);
  CHECK_THAT(folder.read("part.html"), !Catch::Contains("may be straight") && !Catch::Contains("0 of 0"));
}

TEST_CASE("files of another kind are never written over", "[cli][save]") {
  const Folder folder;
  const std::string part = folder.path("part.json"), sizes = folder.write("drum.csv", kDrum);
  REQUIRE(rondure_run({"original", "--sizes", sizes, "--save", part, "--quiet"}).exit_code == 0);
  const std::string record = folder.read("part.json");
  const std::vector<std::pair<std::vector<std::string>, std::string>> slips = {
      {{"report", part, "-o", part}, "part.json"},
      {{"report", part, "-o", sizes}, "drum.csv"},
      {{"plan", part, "--width", "5mm", "--drawing", part}, "part.json"},
      {{"plan", part, "--width", "5mm", "--check-sheet", sizes}, "drum.csv"},
      {{"compare", part, part, "--json", part}, "part.json"},
      {{"original", part, "--json", sizes}, "drum.csv"}};
  for (const auto& [arguments, file] : slips) {
    const std::string before = folder.read(file);
    const Run run = rondure_run(arguments);
    INFO(run.err);
    CHECK(run.exit_code == 1);
    CHECK(run.one_line_on_error());
    CHECK(run.err.find(" a HTML") == std::string::npos);  // an HTML page, an SVG drawing
    CHECK(run.err.find(" a SVG") == std::string::npos);
    CHECK(folder.read(file) == before);
  }
  CHECK(rondure_run({"report", part, "-o", folder.path("a.html")}).exit_code == 0);
  CHECK(rondure_run({"report", part, "-o", folder.path("a.html")}).exit_code == 0);  // its own kind is
}

TEST_CASE("compare: the same part a year later is not judged by the plan for its replacement",
          "[cli][compare]") {
  const Folder folder;
  const json plan{{"replacement",
                   {{"sizes",
                     {{{"name", "roller"},
                       {"kind", "outside"},
                       {"target_mm", 12.5},
                       {"lower_mm", 12.48},
                       {"upper_mm", 12.5}}}}}}};
  const std::string a = folder.write("a.json", record_of({typed_roller_size(12.400)}, plan).dump());
  const std::string later = folder.write("b.json", record_of({typed_roller_size(12.380)}).dump());
  const std::string copy = folder.write("c.json", record_of({typed_roller_size(12.490)}).dump());
  const auto compared = [&](std::vector<std::string> more) {
    std::vector<std::string> arguments{"compare", a};
    arguments.insert(arguments.end(), more.begin(), more.end());
    const Run run = rondure_run(arguments);
    INFO(run.err);
    REQUIRE(run.exit_code == 0);
    return run.out;
  };
  CHECK_THAT(compared({later}), Catch::Contains("shrinkage since A") && !Catch::Contains("planned 12.48") &&
                                    Catch::Contains("nearer to those of A"));
  CHECK_THAT(compared({later, "--tolerance", "0.05mm"}),
             Catch::Contains("allowed difference: within") && Catch::Contains("shrinkage since A"));
  CHECK_THAT(compared({copy}), Catch::Contains("planned 12.48") && !Catch::Contains("shrinkage since A"));
  CHECK_THAT(compared({later, "--against", "plan"}), Catch::Contains("outside"));
  CHECK_THAT(compared({copy, "--against", "plan", "--tolerance", "1mm"}),
             Catch::Contains("--tolerance judges only"));
}

TEST_CASE("add: calliper readings go straight into the record", "[cli][add]") {
  const Folder folder;
  const std::string part = folder.path("part.json");
  const auto add = [&](std::vector<std::string> more) {
    std::vector<std::string> arguments{"add", part};
    arguments.insert(arguments.end(), more.begin(), more.end());
    return rondure_run(arguments);
  };
  const auto feature = [&](std::size_t i) { return json::parse(folder.read("part.json"))["features"][i]; };
  REQUIRE(add({"shaft", "0.1875in+-0.0002in", "--kind", "metal"}).exit_code == 0);
  json shaft = feature(0);
  CHECK(shaft["kind"] == "metal");
  CHECK(shaft["circle"]["diameter_mm"].get<double>() == Approx(4.7625));
  CHECK(shaft["circle"]["u_diameter_mm"].get<double>() == Approx(0.00508));  // no form on a steel pin
  CHECK(shaft["source"]["type"] == "two-point");

  // Three directions: with their angles the ovality can be told, without them only the spread.
  REQUIRE(add({"drum", "12.44mm+-0.002mm", "12.41mm+-0.002mm", "12.47mm+-0.002mm", "--at", "0", "60", "120"})
              .exit_code == 0);
  const json drum = feature(1);
  CHECK(drum["circle"]["diameter_mm"].get<double>() == Approx(12.44).margin(0.005));
  // d(t) = 12.44 + x cos 2t + y sin 2t through 0, 60, 120 deg: x = 0, y = -0.06/sqrt(3), ovality 2 |y|
  CHECK(drum["ellipse"]["ovality_mm"].get<double>() == Approx(2 * 0.06 / std::sqrt(3.0)).margin(0.004));
  CHECK(drum["ellipse"]["major_angle_deg"].get<double>() == Approx(135).margin(1));
  const Run again = add({"drum", "12.44mm", "12.41mm", "12.47mm"});
  REQUIRE(again.exit_code == 0);
  CHECK_THAT(again.out, Catch::Contains("replaced"));
  const json plain = feature(1);
  CHECK_FALSE(plain.contains("ellipse"));
  CHECK(plain["circle"]["diameter_mm"].get<double>() == Approx(12.44).margin(1e-9));
  CHECK(plain["circle"]["u_diameter_mm"].get<double>() == Approx(std::hypot(0.01, 0.03 / std::sqrt(3.0))));
  CHECK(has_warning(plain["warnings"], "readings-differ"));
  CHECK(has_warning(plain["warnings"], "uncertainty-assumed"));
  CHECK(rondure_run({"original", part, "--quiet"}).exit_code == 0);
  // Without an uncertainty: the instrument's by its digits, or the last digit's rounding.
  struct Typed {
    const char* size;
    double u_mm;
  };
  for (const Typed& t : {Typed{"12mm", 1 / std::sqrt(12.0)},
                         {"12.4mm", 0.1 / std::sqrt(12.0)},
                         {"12.44mm", 0.01},
                         {"12,440mm", 0.002},
                         {"0.490in", 0.01},
                         {"0.4901in", 0.002},
                         {"1/8in", 25.4 / 32 / std::sqrt(12.0)}}) {
    INFO(t.size);
    REQUIRE(add({"knob", t.size, "--kind", "metal"}).exit_code == 0);
    const json all = json::parse(folder.read("part.json"))["features"];
    const auto knob = std::find_if(all.begin(), all.end(), [](const json& f) { return f["name"] == "knob"; });
    REQUIRE(knob != all.end());
    CHECK((*knob)["circle"]["u_diameter_mm"].get<double>() == Approx(t.u_mm).epsilon(1e-9));
    CHECK(has_warning((*knob)["warnings"], "uncertainty-assumed"));
  }

  const std::string before = folder.read("part.json");
  for (const std::vector<std::string>& wrong :
       std::vector<std::vector<std::string>>{{"drum", "12.4furlong"},
                                             {"drum", "0mm"},
                                             {"drum", "12.4mm", "12.5mm", "--at", "0"},
                                             {"drum", "12mm", "--kind", "lid"},
                                             {"drum", "12mm", "--at", "x"}}) {
    const Run run = add(wrong);
    CHECK(run.exit_code == 2);
    CHECK(run.one_line_on_error());
  }
  CHECK(folder.read("part.json") == before);
}

TEST_CASE("a bare call, or one with a file alone, is told what to type", "[cli]") {
  const Folder folder;
  const auto told = [](const std::vector<std::string>& arguments) {
    const Run run = rondure_run(arguments);
    CHECK(run.exit_code == 2);
    CHECK(run.out.empty());
    CHECK(run.one_line_on_error());
    return run.err;
  };
  CHECK_THAT(told({}), Catch::Contains("rondure measure") && Catch::Contains("rondure --help"));
  CHECK_THAT(told({folder.write("a.JPG", "x")}), Catch::Contains("rondure measure"));
  CHECK_THAT(told({folder.write("a.csv", "1,2\n")}), Catch::Contains("rondure fit"));
  CHECK_THAT(told({folder.write("a.json", "{}")}), Catch::Contains("rondure report"));
  CHECK_THAT(told({"meassure"}), Catch::Contains("did you mean 'measure'"));
}

TEST_CASE("measure: a scale typed without an uncertainty is not exact, in either direction",
          "[cli][measure]") {
  const Folder folder;
  const auto drum = [&](const std::string& scale) {
    const Run run = rondure_run({"measure", std::string(RONDURE_SOURCE) + "/images-demo/drum.png", "--scale",
                                 scale, "--json", "-", "--quiet"});
    REQUIRE(run.exit_code == 0);
    return json::parse(run.out)["features"][0];
  };
  const json bare = drum("38px/mm"), stated = drum("38px/mm+-0.02");
  CHECK(bare["circle"]["u_diameter_mm"].get<double>() == Approx(0.003 * 24.89).epsilon(0.02));
  CHECK(bare["ellipse"]["u_ovality_mm"].get<double>() > 0.003 * 24.89 / 2);
  CHECK(stated["ellipse"]["u_ovality_mm"].get<double>() > 0.02 / 38 * 24.89 / 2);
  CHECK(stated["ellipse"]["u_ovality_mm"].get<double>() < 0.02 / 38 * 24.89 * 2);
}

TEST_CASE("plan: a size by calliper alone has no variation of the speed, and none is printed",
          "[cli][words]") {
  const Folder folder;
  const std::string part = folder.path("part.json"), page = folder.path("part.html");
  REQUIRE(rondure_run({"add", part, "drum", "12.44mm+-0.01mm"}).exit_code == 0);
  const Run plan = rondure_run({"plan", part, "--save"});
  REQUIRE(plan.exit_code == 0);
  CHECK_THAT(one_line(plan.out), Catch::Contains("how it varies in a turn is not known; planned:") &&
                                     !Catch::Contains("0.000 %"));
  REQUIRE(rondure_run({"report", part, "-o", page}).exit_code == 0);
  CHECK_THAT(folder.read("part.html"),
             Catch::Contains("how it varies in a turn is not known") && !Catch::Contains("0.000 %"));
}

TEST_CASE("add: a material that no table knows is said, and one that is replaced", "[cli][words]") {
  const Folder folder;
  const std::string part = folder.path("part.json");
  const auto out = [&](const std::string& material) {
    return one_line(rondure_run({"add", part, "drum", "12.44mm", "--material", material}).out);
  };
  CHECK_THAT(out("PA 6.6"), !Catch::Contains("not in the table") && !Catch::Contains("replaced by"));
  CHECK_THAT(out("bakelit"), Catch::Contains("material 'bakelit' is not in the table") &&
                                 Catch::Contains("'PA 6.6' replaced by 'bakelit'"));
}

TEST_CASE("add: an arc typed by its radius is kept as a diameter, with twice its uncertainty", "[cli][add]") {
  const Folder folder;
  const std::string part = folder.path("part.json");
  REQUIRE(rondure_run({"add", part, "crown", "13mm+-0.1mm", "--kind", "arc"}).exit_code == 0);
  const json crown = json::parse(folder.read("part.json")).at("features")[0];
  CHECK(crown.at("circle").at("diameter_mm").get<double>() == Approx(26));
  CHECK(crown.at("circle").at("u_diameter_mm").get<double>() == Approx(0.2));
}
