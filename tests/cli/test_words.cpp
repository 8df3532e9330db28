// Lengths, speeds, headers, materials and tools as people type them, and what they read back.
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>
#include <regex>
#include <set>
#include <sstream>

#include "demo_files.hpp"
#include "process.hpp"

using nlohmann::json;

namespace {

json told_record(const std::vector<std::string>& arguments) {
  const Run run = rondure_run(arguments);
  INFO(run.err);
  REQUIRE(run.exit_code == 0);
  return json::parse(run.out);
}
double diameter_of(const std::vector<std::string>& arguments) {
  return told_record(arguments).at("features")[0].at("circle").at("diameter_mm").get<double>();
}

// Columns that a line takes: the texts have no signs beyond ASCII but these few.
std::size_t columns(const std::string& line) {
  return std::size_t(
      std::ranges::count_if(line, [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
}

}  // namespace

TEST_CASE("lengths as people type them", "[cli][words]") {
  const Folder folder;
  const auto typed = [&](const std::string& size) {
    return diameter_of({"add", folder.path("part.json"), "s " + size, size, "--json", "-"});
  };
  CHECK(typed("1/8in") == Approx(3.175));
  CHECK(typed("3/16\"") == Approx(4.7625));
  CHECK(typed("1-1/8in") == Approx(28.575));
  CHECK(typed("1 1/8in") == Approx(28.575));
  CHECK(typed("1.25cm") == Approx(12.5));
  CHECK(typed("1.25cm+-0.001cm") == Approx(12.5));
  CHECK(typed("3/16\"+-0.0005\"") == Approx(4.7625));
  for (const char* wrong : {"1/0in", "/8in", "1/in", "3/16furlong"}) {
    INFO(wrong);
    const Run run = rondure_run({"add", folder.path("part.json"), "wrong", wrong});
    CHECK(run.exit_code == 2);
    CHECK(run.one_line_on_error());
  }
  // a resolution as a scale
  const double by_dpi = diameter_of({"measure", demo("drum.png"), "--scale", "965.2dpi+-0.5", "--json", "-"});
  CHECK(by_dpi ==
        Approx(diameter_of({"measure", demo("drum.png"), "--scale", "38px/mm+-0.02", "--json", "-"})));
}

TEST_CASE("speeds as people type them, and a belt's speed through the mating pulley", "[cli][words]") {
  const Folder folder;
  const std::string sizes = folder.write("s.csv", "name,kind,size,u,unit\ndrum,outside,12.435,0.005,mm\n");
  const auto evidence = [&](const std::vector<std::string>& drive) {
    std::vector<std::string> arguments{"original", "--sizes", sizes, "--json", "-"};
    arguments.insert(arguments.end(), drive.begin(), drive.end());
    return told_record(arguments).at("original").at("evidence")[0].at("size_mm").get<double>();
  };
  const double in_s = evidence({"--surface-speed", "1.875in/s", "--turns", "72.8"});
  CHECK(evidence({"--surface-speed", "1.875ips", "--turns", "72.8"}) == Approx(in_s));
  CHECK(evidence({"--surface-speed", "2.8575m/min", "--turns", "72.8"}) == Approx(in_s));
  CHECK(evidence({"--surface-speed", "4.7625cm/s", "--turns", "72.8"}) == Approx(in_s));
  CHECK(evidence({"--mating", "25mm", "--mating-turns", "36.4", "--turns", "72.8"}) == Approx(12.5));
  const Run open =
      rondure_run({"original", "--sizes", sizes, "--surface-speed", "1.875ips", "--mating", "25mm"});
  CHECK(open.exit_code == 2);
  CHECK_THAT(open.err, Catch::Contains("36.38 times a minute") && Catch::Contains("--ratio"));
  const Run plan = rondure_run({"plan", demo("two-dates/roller-2026.json"), "--speed", "1.875ips"});
  CHECK(plan.exit_code == 0);
}

TEST_CASE("headers as tables have them", "[cli][words]") {
  const Folder folder;
  const double plain =
      diameter_of({"fit", folder.write("a.csv", "x,y\n6,0\n0,6.1\n-6,0\n0,-6\n4.2,4.3\n"), "--json", "-"});
  CHECK(diameter_of({"fit", folder.write("b.csv", "y;x\n0;6\n6,1;0\n0;-6\n-6;0\n4,3;4,2\n"), "--json",
                     "-"}) == Approx(plain));
  CHECK(diameter_of({"fit",
                     folder.write("c.csv", "Nr;X [mm];Y [mm]\n1;6;0\n2;0;6,1\n3;-6;0\n4;0;-6\n5;4,2;4,3\n"),
                     "--unit", "in", "--json", "-"}) == Approx(plain));
  // a height or a remark behind them is no uncertainty; axes by other words
  const std::string rows = "6,0,2.1\n0,6.1,2.1\n-6,0,2.1\n0,-6,2.1\n4.2,4.3,2.1\n";
  const std::vector<std::string> alone{"fit", folder.path("a.csv"), "--json", "-"};
  const json told = told_record(alone).at("features")[0].at("circle");
  for (const char* header : {"X,Y,Z\n", "Pos X,Pos Y,remark\n", "horizontal,vertical,height\n"}) {
    INFO(header);
    CHECK(told_record({"fit", folder.write("z.csv", header + rows), "--json", "-"})
              .at("features")[0]
              .at("circle") == told);
  }
  CHECK(told_record({"fit", folder.write("u.csv", "x,y,uncertainty\n" + rows), "--json", "-"})
            .at("features")[0]
            .at("circle") != told);
  const std::string deviations = "angle;indicator [um]\n0;0\n60;3\n120;-2\n180;1\n240;-1\n300;2\n";
  const double by_nominal =
      diameter_of({"fit", folder.write("d.csv", deviations), "--nominal", "12.5mm", "--json", "-"});
  CHECK(by_nominal == Approx(12.501).margin(0.0005));
  CHECK(diameter_of({"fit", folder.write("e.csv", "# nominal: 12.5mm\n" + deviations), "--json", "-"}) ==
        Approx(by_nominal));
  const Run open = rondure_run({"fit", folder.path("d.csv")});
  CHECK(open.exit_code == 1);
  CHECK_THAT(open.err, Catch::Contains("nominal"));
  CHECK(open.one_line_on_error());
}

TEST_CASE("several files to fit, and - for what is piped", "[cli][words]") {
  const Folder folder;
  const std::string outside = demo("two-dates/outside-2026.csv"), bore = demo("two-dates/bore-2026.csv");
  const Run both = rondure_run({"fit", outside, bore, "--save", folder.path("part.json")});
  INFO(both.out << both.err);
  REQUIRE(both.exit_code == 0);
  const json record = json::parse(folder.read("part.json"));
  REQUIRE(record["features"].size() == 2);
  CHECK(record["features"][0]["name"] == "outside-2026");
  CHECK(record["features"][1]["name"] == "bore-2026");
  const Run one_bad = rondure_run({"fit", outside, folder.write("bad.csv", "a\n"), "--json", "-"});
  CHECK(one_bad.exit_code == 1);
  CHECK(json::parse(one_bad.out)["features"].size() == 1);
  // standard input and output
  RunOptions piped;
  piped.in = folder.read("part.json");
  const Run original = rondure_run({"original", "-", "--json", "-"}, piped);
  REQUIRE(original.exit_code == 0);
  piped.in = original.out;
  const Run page = rondure_run({"report", "-", "-o", "-"}, piped);
  REQUIRE(page.exit_code == 0);
  CHECK_THAT(page.out, Catch::StartsWith("<!DOCTYPE html>") && Catch::Contains("outside-2026"));
  piped.in = "name,kind,size,u,unit\ndrum,outside,12.435,0.005,mm\n";
  CHECK(rondure_run({"original", "--sizes", "-"}, piped).exit_code == 0);
}

TEST_CASE("name, mark, date and note of the part stand in record and page", "[cli][words]") {
  const Folder folder;
  const std::string part = folder.path("part.json");
  REQUIRE(rondure_run({"add", part, "drum", "12.44mm", "--part", "focus drum", "--mark",
                       "three stars in a ring", "--date", "1963", "--note", "second reader"})
              .exit_code == 0);
  const json said = json::parse(folder.read("part.json")).at("part");
  CHECK(said.at("name") == "focus drum");
  CHECK(said.at("mark") == "three stars in a ring");
  CHECK(said.at("date") == "1963");
  CHECK(said.at("note") == "second reader");
  REQUIRE(rondure_run({"add", part, "bore", "3.00mm", "--kind", "bore"}).exit_code == 0);  // stays
  CHECK(json::parse(folder.read("part.json")).at("part") == said);
  REQUIRE(rondure_run({"report", part, "-o", folder.path("part.html")}).exit_code == 0);
  for (const char* words : {"focus drum", "three stars in a ring", "1963", "second reader"})
    CHECK_THAT(folder.read("part.html"), Catch::Contains(words));
}

TEST_CASE("materials by their everyday names", "[cli][words]") {
  const Run list = rondure_run({"original", "--materials"});
  REQUIRE(list.exit_code == 0);
  for (const char* word : {"bakelite", "celluloid", "ebonite", "polyamide 6.6", "POM-C"})
    CHECK_THAT(list.out, Catch::Contains(word));
  for (const std::string& line : lines_of(list.out)) CHECK(columns(line) <= 80);
  const Folder folder;
  const std::string sizes = folder.write("s.csv", "name,kind,size,u,unit\ndrum,outside,12.435,0.005,mm\n");
  for (const char* word : {"Bakelite", "celluloid", "ebonite", "PA 6.6", "nylon 6/6"}) {
    INFO(word);
    const Run run = rondure_run({"original", "--sizes", sizes, "--material", word});
    CHECK(run.exit_code == 0);
    CHECK(run.out.find("not known") == std::string::npos);
    CHECK(run.out.find("unknown") == std::string::npos);
  }
  CHECK_THAT(rondure_run({"plan", demo("two-dates/roller-2026.json"), "--material-old", "celluloid"}).out,
             Catch::Contains("ellulose nitrate"));  // it burns: the caution
}

TEST_CASE("a wrong word on the shelf of tools is named, and the rest is used", "[cli][words]") {
  const Folder folder;
  const std::string shelf =
      folder.write("tools.csv",
                   "# my shelf\nname,kind,radius,diameter,thickness,unit\nball cutter 25,cutter,,25,,mm\n"
                   "old wheel,whel,13,,,mm\narbor 1 inch,arbor,,1,,in\n");
  const Run plan = rondure_run({"plan", demo("two-dates/roller-2026.json"), "--radius", "13mm", "--arc-width",
                                "5mm", "--tools", shelf, "--all"});
  INFO(plan.out << plan.err);
  REQUIRE(plan.exit_code == 0);
  const std::string said = std::regex_replace(plan.out, std::regex("\\s+"), " ");
  CHECK_THAT(said, Catch::Contains("line 4: found the kind 'whel'") &&
                       Catch::Contains("cutter, wheel, gauge") && Catch::Contains("ball cutter 25") &&
                       Catch::Contains("arbor 1 inch"));
  CHECK_THAT(rondure_run({"plan", "--help"}).out,
             Catch::Contains("cutter, wheel, gauge, arbor, paper, cloth"));
  const Run none = rondure_run({"plan", demo("two-dates/roller-2026.json"), "--radius", "13mm", "--tools",
                                folder.write("bad.csv", "name,kind,radius\na,whel,3\n")});
  CHECK(none.exit_code != 0);
  CHECK(none.one_line_on_error());
  // 2026-11: where no line was a tool, only the first was told, and a wrong word behind it never
  const Run sizes = rondure_run({"plan", demo("two-dates/roller-2026.json"), "--radius", "13mm", "--tools",
                                 folder.write("bare.csv", "name,kind\nball,cutter\nold wheel,whel\n")});
  INFO(sizes.err);
  CHECK(sizes.exit_code != 0);
  CHECK(sizes.one_line_on_error());
  CHECK_THAT(sizes.err,
             Catch::Contains("line 2: found the cutter 'ball' with no size, needed a radius or a diameter") &&
                 Catch::Contains("line 3: found the kind 'whel', needed cutter, wheel, gauge"));
}

TEST_CASE("plan: a shaft without a bore in the record plans the bore", "[cli][words]") {
  const Folder folder;
  const std::string part = folder.path("part.json");
  REQUIRE(rondure_run({"add", part, "drum", "12.44mm+-0.01mm"}).exit_code == 0);
  const Run plan =
      rondure_run({"plan", part, "--shaft", "3.000mm+-0.002mm", "--width", "6mm", "--json", "-"});
  INFO(plan.err);
  REQUIRE(plan.exit_code == 0);
  const json replacement = json::parse(plan.out).at("replacement");
  CHECK(replacement.at("sizes")[0].at("kind") == "bore");
  CHECK(replacement.at("sizes")[0].at("upper_mm").get<double>() < 3.0);  // tight
  CHECK(replacement.dump().find("bore-from-shaft") != std::string::npos);
  const Run running = rondure_run(
      {"plan", part, "--shaft", "3.000mm+-0.002mm", "--width", "6mm", "--fit", "bore=H7/g6", "--json", "-"});
  REQUIRE(running.exit_code == 0);
  CHECK(json::parse(running.out).at("replacement").at("sizes")[0].at("lower_mm").get<double>() >= 3.0);
}

TEST_CASE("plan: a shaft of the record is not passed over, nor one that --shaft contradicts",
          "[cli][words]") {
  const Folder folder;
  const std::string part = folder.path("part.json");
  const auto planned = [&](std::vector<std::string> more) {
    std::vector<std::string> words{"plan", part, "--json", "-"};
    words.insert(words.end(), more.begin(), more.end());
    const Run run = rondure_run(words);
    INFO(run.err);
    REQUIRE(run.exit_code == 0);
    return json::parse(run.out).at("replacement");
  };
  const auto add = [&](const std::string& name, const std::string& size) {
    REQUIRE(
        rondure_run({"add", part, name, size, "--kind", name == "drum" ? "outside" : "metal"}).exit_code ==
        0);
  };
  add("drum", "12.44mm+-0.01mm");
  add("gauge ring", "40.000mm+-0.002mm");  // larger than the part: no shaft of it
  CHECK(planned({}).at("sizes").size() == 1);
  add("shaft", "3.000mm+-0.002mm");
  const json alone = planned({});
  CHECK(alone.at("sizes")[0].at("kind") == "bore");
  CHECK(alone.at("sizes")[0].at("upper_mm").get<double>() < 3.0);
  CHECK(alone.dump().find("planned for the shaft 'shaft' of the record alone") != std::string::npos);
  CHECK(planned({"--shaft", "4mm+-0.002mm"})
            .dump()
            .find("--shaft says 4.000 mm, 'shaft' of the record measures 3.000 mm") != std::string::npos);
  CHECK(planned({"--shaft", "3.003mm+-0.002mm"}).dump().find("--shaft says") == std::string::npos);
  add("pin", "2.000mm+-0.002mm");
  const json two = planned({});
  CHECK(two.at("sizes").size() == 1);
  CHECK(two.dump().find("'shaft' and 'pin' may each be the shaft") != std::string::npos);
}

TEST_CASE("plan: the limits of a radius stand in the plan as on the check sheet, those asked for too",
          "[cli][words]") {
  const Folder folder;
  const std::string part = folder.path("part.json");
  REQUIRE(rondure_run({"add", part, "drum", "12.44mm+-0.01mm"}).exit_code == 0);
  REQUIRE(rondure_run({"add", part, "crown", "13mm+-0.1mm", "--kind", "arc"}).exit_code == 0);
  const auto limits = [&](std::vector<std::string> more) {
    std::vector<std::string> words{"plan", part, "--width", "6mm", "--json", "-"};
    words.insert(words.end(), more.begin(), more.end());
    const json plan = json::parse(rondure_run(words).out).at("replacement");
    std::pair<double, double> size, sheet;
    for (const json& s : plan.at("sizes"))
      if (s.at("kind") == "arc") size = {s.at("lower_mm"), s.at("upper_mm")};
    for (const json& s : plan.at("check_sheet"))
      if (s.at("kind") == "arc") sheet = {s.at("lower_mm"), s.at("upper_mm")};
    CHECK(size == sheet);
    return size;
  };
  const auto [lower, upper] = limits({});
  CHECK(upper - lower == Catch::Detail::Approx(2 * 0.75));  // 0.02 mm of depth: 0.16 R^2 / width^2 = 0.751
  const auto [asked_lower, asked_upper] = limits({"--fit", "crown=+-0.1mm"});
  CHECK(asked_lower == Catch::Detail::Approx(12.9));
  CHECK(asked_upper == Catch::Detail::Approx(13.1));
}

TEST_CASE("compare: outside what is allowed gives an exit status when asked for", "[cli][words]") {
  const std::string a = demo("two-dates/roller-2014.json"), b = demo("two-dates/roller-2026.json");
  CHECK(rondure_run({"compare", a, b, "--tolerance", "0.001mm"}).exit_code == 0);
  CHECK(rondure_run({"compare", a, b, "--tolerance", "0.001mm", "--fail-outside"}).exit_code == 3);
  CHECK(rondure_run({"compare", a, b, "--tolerance", "0.1mm", "--fail-outside"}).exit_code == 0);
}

TEST_CASE("inches lead everywhere when asked for", "[cli][words]") {
  const Folder folder;
  const std::string part = folder.path("part.json");
  std::filesystem::copy_file(demo("two-dates/roller-2026.json"), part);
  std::filesystem::permissions(part, std::filesystem::perms::owner_write, std::filesystem::perm_options::add);
  REQUIRE(rondure_run({"plan", part, "--shaft", "3.000mm+-0.002mm", "--width", "6mm", "--save", "--quiet"})
              .exit_code == 0);
  REQUIRE(rondure_run({"report", part, "-o", folder.path("in.html"), "--unit", "in"}).exit_code == 0);
  const std::regex mm_figure(R"(\d mm\b)"), in_figure(R"(\d in\b)");
  const auto leads = [&](const std::string& text) {
    INFO(text.substr(0, 3000));
    for (const std::string& line : lines_of(text)) {
      std::smatch mm_at, in_at;
      if (line.starts_with("  note") || line.starts_with("     ") ||
          !std::regex_search(line, mm_at, mm_figure) || !std::regex_search(line, in_at, in_figure))
        continue;  // notes carry both units as they are kept in the record
      const auto mm = mm_at.position(), in = in_at.position();
      INFO(line);
      CHECK(in < mm);
    }
  };
  const Run fit = rondure_run({"add", folder.path("b.json"), "drum", "0.49in", "--unit", "in"});
  REQUIRE(fit.exit_code == 0);
  leads(fit.out);
  for (const std::vector<std::string>& arguments :
       {std::vector<std::string>{"plan", part, "--shaft", "3.000mm+-0.002mm", "--width", "6mm", "--unit",
                                 "in", "--all"},
        {"compare", demo("two-dates/roller-2014.json"), part, "--unit", "in", "--against", "other"},
        {"measure", demo("drum.png"), "--scale", "38px/mm+-0.02", "--unit", "in", "--all"}}) {
    const Run run = rondure_run(arguments);
    INFO(run.err);
    REQUIRE(run.exit_code == 0);
    leads(run.out);
    CHECK_THAT(run.out, Catch::Contains(" in"));
  }
  const std::string page = folder.read("in.html");
  CHECK_THAT(page, Catch::Contains("<strong>Diameter 0.") && Catch::Contains("<th scope=\"col\">in</th>"));
}

TEST_CASE("text keeps to 80 columns where the width is unknown, four lines a feature, a plan within 40",
          "[cli][words]") {
  const Folder folder;
  const std::string part = folder.path("part.json");
  const Run measured = rondure_run({"measure", demo("drum.png"), "--scale", "38px/mm+-0.02", "--save", part});
  REQUIRE(measured.exit_code == 0);
  const json record = json::parse(folder.read("part.json"));
  int headings = 0, rows = 0;
  for (const std::string& line : lines_of(measured.out)) {
    INFO(line);
    if (line.find("   from ") != std::string::npos)
      ++headings, rows = 0;  // a path may be as long as it likes
    else
      CHECK(columns(line) <= 80);
    if (line.starts_with("  note")) break;
    CHECK(++rows <= 4);
  }
  CHECK(headings >= int(record["features"].size()));
  REQUIRE(rondure_run({"fit", demo("crown_readings.csv"), "--sigma", "0.0002in", "--kind", "arc", "--feature",
                       "crown", "--save", folder.path("roller.json")})
              .exit_code == 0);
  std::filesystem::copy_file(demo("two-dates/roller-2026.json"), folder.path("r.json"));
  std::filesystem::permissions(folder.path("r.json"), std::filesystem::perms::owner_write,
                               std::filesystem::perm_options::add);
  REQUIRE(rondure_run({"fit", demo("crown_readings.csv"), "--sigma", "0.0002in", "--kind", "arc", "--feature",
                       "crown", "--save", folder.path("r.json"), "--quiet"})
              .exit_code == 0);
  REQUIRE(rondure_run({"original", folder.path("r.json"), "--on-metal", "bore", "--save",
                       folder.path("r.json"), "--quiet"})
              .exit_code == 0);
  const Run plan =
      rondure_run({"plan", folder.path("r.json"), "--shaft", "6.000mm+-0.002mm", "--tools", demo("tools.csv"),
                   "--steps", demo("roller_steps.csv"), "--belt", "0.13mm", "--speed", "150mm/s"});
  const Run plan2 =
      plan.exit_code == 0
          ? plan
          : rondure_run({"plan", folder.path("r.json"), "--shaft", "6.000mm+-0.002mm", "--tools",
                         demo("tools.csv"), "--width", "6mm", "--belt", "0.13mm", "--speed", "150mm/s"});
  INFO(plan2.out << plan2.err);
  REQUIRE(plan2.exit_code == 0);
  const auto lines = lines_of(plan2.out);
  CHECK(lines.size() <= 40);
  for (const std::string& line : lines) {
    INFO(line);
    CHECK(columns(line) <= 80);
  }
  CHECK_THAT(plan2.out,
             Catch::Contains("eyes covered") && Catch::Contains("licensed practice"));  // never left out
  const Run original = rondure_run({"original", folder.path("r.json"), "--on-metal", "bore"});
  for (const std::string& line : lines_of(original.out)) {
    INFO(line);
    CHECK(columns(line) <= 80);
  }
}

TEST_CASE("a wrong command line is told in the program's own words", "[cli][words]") {
  const std::vector<std::pair<std::vector<std::string>, std::string>> slips = {
      {{"compare"}, "needed A.json"},
      {{"fit"}, "needed POINTS.csv"},
      {{"fit", "a.csv", "--unit", "furlong"}, "found 'furlong', needed"},
      {{"fit", "a.csv", "--json"}, "needed a value behind --json (FILE)"},
      {{"fit", "a.csv", "--sigmma", "1"}, "found '--sigmma', which it does not know"},
      {{"fit", "a.csv", "--part", "idler"},
       "found '--part', which it does not know (add and original know it)"},
      {{"original", "a.json", "--metric-prior", "many"}, "found 'many'"},
      {{"calibrate"}, "needed"}};
  for (const auto& [arguments, words] : slips) {
    const Run run = rondure_run(arguments);
    INFO(run.err);
    CHECK(run.exit_code == 2);
    CHECK(run.one_line_on_error());
    CHECK_THAT(run.err, Catch::Contains(words));
    for (const char* foreign :
         {"is required", "required ", "not in {", "following argument", "Could not convert"})
      CHECK(run.err.find(foreign) == std::string::npos);
  }
}

TEST_CASE("overlay: --overlay never writes over a photograph or another kind of file", "[cli][words]") {
  const Folder folder;
  const std::string photo = folder.path("drum.png"), other = folder.path("other.png");
  std::filesystem::copy_file(demo("drum.png"), photo);
  std::filesystem::copy_file(demo("drum.png"), other);
  const std::string before = folder.read("drum.png");
  const auto measure = [&](const std::string& overlay) {
    return rondure_run({"measure", photo, "--scale", "38px/mm+-0.02", "--overlay", overlay});
  };
  for (const std::string& overlay :
       {photo, other,
        folder.path("") + "/../" + std::filesystem::path(folder.path()).filename().string() + "/drum.png",
        folder.write("notes.csv", "name,kind,size,u\n")}) {
    const Run run = measure(overlay);
    INFO(overlay << ": " << run.err);
    CHECK(run.exit_code != 0);
    CHECK(run.one_line_on_error());
  }
  CHECK(folder.read("drum.png") == before);
  CHECK(folder.read("other.png") == before);
  CHECK(measure(folder.path("found.png")).exit_code == 0);
  CHECK(measure(folder.path("found.png")).exit_code == 0);  // drawn again over its own drawing
}

TEST_CASE("two parts in a picture: a record each, names alike in record, table and picture", "[cli][words]") {
  const Folder folder;
  const std::string part = folder.path("part.json");
  const Run run = rondure_run({"measure", demo("drum.png"), "--scale", "38px/mm+-0.02", "--save", part,
                               "--csv", folder.path("t.csv"), "--json", folder.path("all.json")});
  INFO(run.out << run.err);
  REQUIRE(run.exit_code == 0);
  const json all = json::parse(folder.read("all.json"));
  std::set<int> numbers;
  std::set<std::string> names;
  for (const json& f : all.at("features")) {
    CHECK(names.insert(f.at("name")).second);
    CHECK_THAT(folder.read("t.csv"), Catch::Contains(f.at("name").get<std::string>()));
    if (f.contains("part_number")) numbers.insert(f.at("part_number").get<int>());
  }
  if (numbers.empty()) return;  // one part alone
  for (const int n : numbers) {
    const std::string file = n == 1 ? "part.json" : "part-" + std::to_string(n) + ".json";
    INFO(file);
    const json record = json::parse(folder.read(file));
    for (const json& f : record.at("features")) CHECK(f.value("part_number", 1) == n);
    CHECK(rondure_run({"report", folder.path(file), "-o", folder.path("p.html")}).exit_code == 0);
  }
}

// 2026-11: 600dpi, taken from a photograph's file, passed for its scale without a word.
TEST_CASE("words: dpi as the scale of a photograph is cautioned, once", "[cli][words]") {
  const Run run = rondure_run({"measure", demo("drum.png"), "--scale", "965.2dpi+-0.5"});
  REQUIRE(run.exit_code == 0);
  const auto at = run.out.find("a photograph has no dpi");
  REQUIRE(at != std::string::npos);
  CHECK(run.out.find("a photograph has no dpi", at + 1) == std::string::npos);
  CHECK(rondure_run({"measure", demo("drum.png"), "--scale", "38px/mm+-0.02"}).out.find("no dpi") ==
        std::string::npos);
}

TEST_CASE("words: report --quiet says nothing of sources that are gone, and writes the same page",
          "[cli][words]") {
  const Folder folder;
  const std::string part = folder.write("part.json", text_of(demo("two-dates/roller-2026.json")));
  const auto page = [&](std::vector<std::string> more) {
    std::vector<std::string> words{"report", part, "-o", folder.path("page.html")};
    words.insert(words.end(), more.begin(), more.end());
    const Run run = rondure_run(words);
    REQUIRE(run.exit_code == 0);
    CHECK(run.out.empty());
    return run.err;
  };
  CHECK_THAT(page({}), Catch::Contains("note: ") && Catch::Contains("is no longer there"));
  CHECK(page({"--quiet"}).empty());
  CHECK_THAT(folder.read("page.html"), Catch::Contains("is NO LONGER the file that was measured"));
}

// 1/4in as the size of a pin was believed to no better than 1.8 mm.
TEST_CASE("words: a fraction of an inch is read as a rule's mark, a width is called one", "[cli][words]") {
  const Folder folder;
  const std::string part = folder.path("part.json");
  REQUIRE(rondure_run({"add", part, "shaft", "1/4in", "--kind", "metal", "--quiet"}).exit_code == 0);
  const json f = json::parse(folder.read("part.json")).at("features")[0];
  CHECK(f.at("circle").at("u_diameter_mm").get<double>() ==
        Approx(25.4 / 32 / std::sqrt(12.0)).epsilon(0.02));
  const Run width = rondure_run({"add", part, "rim", "0.375in", "--kind", "width", "--unit", "in"});
  REQUIRE(width.exit_code == 0);
  CHECK_THAT(width.out, Catch::Contains("  width  ") && !Catch::Contains("  diameter  "));
  CHECK(width.out.find(" in (0.0") < width.out.find("is taken"));  // inches lead in the note too
}

// 2026-11: 59.7mm typed for 5.97mm made 12.44 mm 8.8 without a word; 12in gave "no edges at all".
TEST_CASE("words: a height that the part or the camera cannot have is told",
          "[cli][words][measure][repeats]") {
  const auto at = [](const std::string& height) {
    return rondure_run(
        {"measure", demo("roller.jpg"), "--board", "9x6", "--square", "5mm", "--height", height});
  };
  const Run slip = at("59.7mm");
  CHECK(slip.exit_code == 1);  // nothing stands so far above the board without a wall
  CHECK(slip.one_line_on_error());
  CHECK_THAT(slip.err, Catch::Contains("59.7 mm above the board") && Catch::Contains("slip of the point"));
  const Run tall = at("30mm");  // could be meant
  CHECK(tall.exit_code == 0);
  CHECK_THAT(tall.out, Catch::Contains("30 mm above the board") && Catch::Contains("slip of the point"));
  CHECK(at("5.97mm").out.find("slip of the point") == std::string::npos);
  const Run beyond = at("12in");
  CHECK(beyond.exit_code == 2);
  CHECK(beyond.one_line_on_error());
  CHECK_THAT(beyond.err, Catch::Contains("below the camera"));
}

// 2026-11: what was said of the part was lost when its sizes came from a file.
TEST_CASE(
    "words: original --sizes --save keeps what is said of the part, and its plan stays within 80 columns",
    "[cli][words][save]") {
  const Folder folder;
  const std::string part = folder.path("part.json");
  REQUIRE(rondure_run({"original", "--sizes", demo("roller_sizes.csv"), "--part", "advance roller", "--mark",
                       "XY 12", "--date", "1962", "--note", "from the attic", "--save", part, "--quiet"})
              .exit_code == 0);
  const json record = json::parse(folder.read("part.json"));
  CHECK(record.at("part").at("name") == "advance roller");
  REQUIRE(rondure_run({"report", part, "-o", folder.path("part.html"), "--quiet"}).exit_code == 0);
  CHECK_THAT(folder.read("part.html"), Catch::Contains("advance roller") && Catch::Contains("XY 12") &&
                                           Catch::Contains("1962") && Catch::Contains("from the attic"));
  const Run plan = rondure_run({"plan", part});
  REQUIRE(plan.exit_code == 0);
  std::istringstream lines(plan.out);
  for (std::string line; std::getline(lines, line);) {
    INFO(line);
    CHECK(line.size() <= 80);
  }
}
