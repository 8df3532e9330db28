#include <sys/resource.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>

#include "dialogue.hpp"
#include "process.hpp"

namespace {

using Catch::Contains;
using Catch::StartsWith;

// A point of a roller of radius 6.012 mm round (30.5, 21.25), typed with three decimals.
std::string typed(double angle_deg, double out_mm = 0) {
  const double t = angle_deg * M_PI / 180, r = 6.012 + out_mm;
  char text[64];
  std::snprintf(text, sizeof text, "%.3f %.3f", 30.5 + r * std::cos(t), 21.25 + r * std::sin(t));
  return text;
}

std::string round_the_part(int n, double from_deg = 0) {
  std::string text;
  for (int i = 0; i < n; ++i) text += typed(from_deg + 360.0 * i / n) + "\n";
  return text;
}

}  // namespace

TEST_CASE("record: from a pipe every line gets one line, and the file is plain points", "[cli][record]") {
  const Folder folder;
  RunOptions options;
  options.in = "# unit: mm\nx,y\n" + round_the_part(8) +
               "\nnot a reading\nnote oil on the stage\nlist\nhelp\nfit\nwhere\nquit\n";
  const Run run = rondure_run({"record", folder.path("r.csv")}, options);
  CHECK(run.exit_code == 1);  // one line was not understood
  CHECK(run.err.empty());
  const auto out = lines_of(run.out);
  REQUIRE(out.size() == lines_of(options.in).size());
  CHECK(out[2] == "1 kept: 2 more for a radius");
  CHECK_THAT(out[4], StartsWith("3 kept: R about 6.01"));
  CHECK_THAT(out[9], StartsWith("8 kept: R 6.01") && Contains("+-") && Contains("mm (0.236") &&
                         Contains("; seen 315"));
  CHECK_THAT(out[11], StartsWith("not kept: found 'not a reading'"));
  CHECK_THAT(out.back(), Contains("8 readings in"));
  const Run fit = rondure_run({"fit", folder.path("r.csv"), "--json", "-", "--quiet"});
  REQUIRE(fit.exit_code == 0);
  const auto j = nlohmann::json::parse(fit.out);
  CHECK(j["features"][0]["circle"]["diameter_mm"].get<double>() == Approx(12.024).margin(0.002));
  CHECK(folder.names() == std::vector<std::string>{"r.csv"});
}

TEST_CASE("record: where the next reading helps most", "[cli][record]") {
  const Folder folder;
  Dialogue desk({"record", folder.path("r.csv")});
  for (const double at : {0.0, 40.0, 80.0, 120.0, 160.0}) desk.ask(typed(at));
  CHECK_THAT(desk.ask(typed(200)), Contains("; seen 200, next near 280"));
  CHECK_THAT(desk.ask("where"), StartsWith("next near 280 degrees"));
  CHECK(desk.end() == 0);
}

TEST_CASE("record: a slip is questioned at once, corrected by a word, and what was typed stays",
          "[cli][record]") {
  const Folder folder;
  Dialogue desk({"record", folder.path("r.csv")});
  for (int i = 0; i < 6; ++i) desk.ask(typed(60 * i));
  SECTION("axes swapped") {
    CHECK_THAT(desk.ask("25.501 34.751"),
               StartsWith("7 kept, but is ") && Contains("was 34.751,25.501 meant (x and y swapped)?"));
    CHECK_THAT(desk.ask("yes"), StartsWith("7 is 34.751,25.501 now: R 6.01"));
    CHECK_THAT(folder.read("r.csv"), Contains("# corrected: 25.501,34.751\n34.751,25.501\n"));
  }
  SECTION("inch for mm") {
    CHECK_THAT(desk.ask("1.3681 1.0040"), Contains("(typed in inch)? yes / keep / delete"));
  }
  SECTION("a digit") {
    CHECK_THAT(desk.ask("34.751 26.501"), Contains("was 34.751,25.501 meant (one digit of y)?"));
    CHECK_THAT(desk.ask(typed(100)), StartsWith("8 kept: R 6.01") && Contains("without 7"));
    CHECK_THAT(desk.ask("keep 7"), StartsWith("7 stands as read"));
    CHECK_THAT(folder.read("r.csv"), Contains("34.751,26.501\n# kept: 34.751,26.501\n"));
  }
  SECTION("no slip explains it: kept, asked, and deleted on request") {
    CHECK_THAT(desk.ask("32.2 22.9"), StartsWith("7 kept, but is ") && Contains("read it once more"));
    CHECK_THAT(folder.read("r.csv"), Contains("\n32.2,22.9\n"));
    CHECK_THAT(desk.ask("delete"), StartsWith("7 is out (32.2,22.9)"));
    CHECK_THAT(folder.read("r.csv"), Contains("# deleted: 32.2,22.9\n"));
    CHECK_THAT(desk.ask(typed(45)), StartsWith("8 kept"));
  }
  SECTION("typed twice") { CHECK_THAT(desk.ask(typed(60)), Contains("it equals 2 to the last digit")); }
  CHECK(desk.end() == 0);
}

TEST_CASE("record: two digits swapped are questioned with the swap named", "[cli][record]") {
  const Folder folder;
  Dialogue desk({"record", folder.path("r.csv")});
  for (int i = 0; i < 9; ++i) desk.ask(typed(40 * i));
  // meant 26.249,25.501 (135 degrees)
  CHECK_THAT(desk.ask("26.429 25.501"), StartsWith("10 kept, but is ") &&
                                            Contains("was 26.249,25.501 meant (two digits of x swapped)?"));
  CHECK_THAT(desk.ask("y"), StartsWith("10 is 26.249,25.501 now: R 6.01"));
  CHECK(desk.end() == 0);
}

TEST_CASE(
    "record: a reading is answered within 80 columns, with the deviation, the ovality and where to go on",
    "[cli][record]") {
  const Folder folder;
  Dialogue desk({"record", folder.path("r.csv")});
  const auto oval = [](int i) { return typed(5 + 15 * i, 0.012 * std::cos(2 * (15 * i - 28) * M_PI / 180)); };
  for (int i = 0; i < 24; ++i) {
    const std::string said = desk.ask(oval(i));
    INFO(said);
    CHECK(said.size() <= 80);
    CHECK((i < 3 || said.find(", this ") != std::string::npos));
    CHECK((i < 3 || i > 20 || said.find(", next near ") != std::string::npos));
    CHECK((i < 22 || said.find(", oval 0.0") != std::string::npos));
  }
  CHECK(desk.end() == 0);
}

TEST_CASE("record: numbers in another unit are converted, and what was typed is noted", "[cli][record]") {
  const Folder folder;
  Dialogue desk({"record", folder.path("r.csv"), "--unit", "mm"});
  CHECK_THAT(desk.ask("0.5in 3mm"), StartsWith("1 kept as 12.700,3 mm: "));
  CHECK_THAT(desk.ask("0.5123in 118.1thou"), StartsWith("2 kept as 13.012,3.000 mm: "));
  CHECK_THAT(desk.ask("12.7mm 3"), StartsWith("3 kept: "));
  CHECK_THAT(desk.ask("0.5ft 3"), StartsWith("not kept: "));
  CHECK(desk.end() == 1);
  CHECK_THAT(folder.read("r.csv"),
             Contains("12.700,3\n# note: 1 typed as 0.5in 3mm\n13.012,3.000\n# note: 2 typed as") &&
                 Contains("\n12.7,3\n"));
}

TEST_CASE("record: an arc alone stays one when the file is taken up again", "[cli][record]") {
  const Folder folder;
  {
    Dialogue desk({"record", folder.path("r.csv"), "--arc"});
    for (int i = 0; i < 6; ++i) CHECK_THAT(desk.ask(typed(10 * i)), !Contains("next near 205"));
    CHECK(desk.end() == 0);
  }
  Dialogue desk({"record", folder.path("r.csv")});
  const std::string said = desk.ask(typed(60));
  CHECK_THAT(said, !Contains("next near 210"));
  CHECK_THAT(desk.ask("where"), Contains("next near"));
  CHECK_THAT(desk.ask("undo"), StartsWith("undone: reading 7"));
  CHECK(desk.end() == 0);
  CHECK_THAT(folder.read("r.csv"), Contains("# arc alone\n"));
  // a word does the same, and undo takes it back
  Dialogue other({"record", folder.path("s.csv")});
  for (int i = 0; i < 6; ++i) other.ask(typed(10 * i));
  CHECK_THAT(other.ask("arc"), StartsWith("readings are proposed on this arc alone"));
  CHECK_THAT(other.ask("undo"), StartsWith("undone: the arc alone") && Contains("next near 205"));
}

TEST_CASE("record: the words by which people end a session end it", "[cli][record]") {
  for (const char* word : {"quit", "q", "exit", "done", "end", "stop", "Done"}) {
    const Folder folder;
    RunOptions options;
    options.in = std::string("1 2\n") + word + "\n3 4\n";
    const Run run = rondure_run({"record", folder.path("r.csv")}, options);
    INFO(word << "\n" << run.out << run.err);
    CHECK(run.exit_code == 0);
    CHECK_THAT(run.out, Contains("1 reading in ") && !Contains("not kept"));
  }
}

TEST_CASE("record: undo, correct, again, turned", "[cli][record]") {
  const Folder folder;
  Dialogue desk({"record", folder.path("r.csv")});
  for (int i = 0; i < 8; ++i) desk.ask(typed(45 * i));
  CHECK_THAT(desk.ask("undo"), StartsWith("undone: reading 8"));
  CHECK_THAT(desk.ask(typed(315, 0.004)), StartsWith("8 kept"));
  CHECK_THAT(desk.ask("c 8 " + typed(315)), StartsWith("8 is 34.751,16.999 now"));
  CHECK_THAT(desk.ask("again " + typed(90, 0.003)),
             StartsWith("9 kept as 3 again, 0.003 mm away; readings repeat within 0.002"));
  CHECK_THAT(desk.ask("a 1 " + typed(0, -0.002)), Contains("2 re-readings"));
  CHECK_THAT(desk.ask("turned 45"), Contains("turned by 45 degrees"));
  CHECK_THAT(desk.ask(typed(0)), StartsWith("11 kept: 2 more for a radius"));
  CHECK_THAT(desk.ask("delete 99"), StartsWith("nothing done: there is no reading 99"));
  desk.end();
  CHECK_THAT(folder.read("r.csv"), Contains("# undone: 34.751,16.999\n") &&
                                       Contains("# corrected: 34.754,16.996\n34.751,16.999\n") &&
                                       Contains("  # again 30.500,27.262\n") &&
                                       Contains("# orientation: 45\n"));
}

TEST_CASE("record: dials without a decimal sign, decimal commas, inch", "[cli][record]") {
  const Folder folder;
  RunOptions options;
  options.in = "12345 8200\n1,2345 0,82\n1.2345;.82\n-50 7\nchord 0,25 sagitta 0,0155\n";
  const Run run = rondure_run({"record", folder.path("r.csv"), "--unit", "in", "--digits", "4"}, options);
  CHECK(run.exit_code == 0);
  CHECK_THAT(lines_of(run.out)[4], Contains("chord and sagitta give R 0.51178 in (13.0 mm)") ||
                                       Contains("R 0.51178 in (12.999 mm)"));
  CHECK_THAT(
      folder.read("r.csv"),
      Contains(
          "# unit: in\n1.2345,0.8200\n1.2345,0.82\n1.2345,.82\n-0.0050,0.0007\nchord 0.25 sagitta 0.0155\n"));
}

TEST_CASE("record: taken up again by the same command, and into the part record", "[cli][record]") {
  const Folder folder;
  RunOptions options;
  options.in = round_the_part(6);
  REQUIRE(rondure_run({"record", folder.path("r.csv")}, options).exit_code == 0);
  options.in = round_the_part(6, 30);
  const Run run = rondure_run(
      {"record", folder.path("r.csv"), "--save", folder.path("p.json"), "--feature", "tread"}, options);
  REQUIRE(run.exit_code == 0);
  CHECK_THAT(run.out, StartsWith("7 kept"));
  const auto j = nlohmann::json::parse(folder.read("p.json"));
  CHECK(j["features"][0]["name"] == "tread");
  CHECK(j["features"][0]["points"]["count"] == 12);
  CHECK(j["features"][0]["source"]["file"] == folder.path("r.csv"));
}

TEST_CASE("record: a readings file poured in keeps unit, orientation, notes and re-readings",
          "[cli][record]") {
  const Folder folder;
  RunOptions options;
  options.in =
      "# unit: in\nx,y\n0.5,0.25\n0.7,0.45\n0.5,0.65 # dent\n0.5002,0.2501 # again 0.5,0.25\n# orientation: "
      "90\n0.4,0.3\n";
  const Run run = rondure_run({"record", folder.path("r.csv")}, options);
  CHECK(run.exit_code == 0);
  CHECK(folder.read("r.csv") ==
        "# readings taken by hand, one a line\n# unit: in\n0.5,0.25\n0.7,0.45\n0.5,0.65\n# note: dent\n"
        "0.5002,0.2501  # again 0.5,0.25\n# orientation: 90\n0.4,0.3\n");
}

TEST_CASE("record: refusals are one line and change nothing", "[cli][record]") {
  const Folder folder;
  const auto bad = folder.write("bad.csv", "1,2\nthree,4\n");
  const auto inch = folder.write("inch.csv", "# unit: in\n0.1,0.2\n");
  const auto refused = [&](const std::vector<std::string>& arguments, int code, const std::string& words) {
    const Run run = rondure_run(arguments);
    INFO(run.err);
    CHECK(run.exit_code == code);
    CHECK(run.one_line_on_error());
    CHECK_THAT(run.err, Contains(words));
    CHECK(run.out.empty());
  };
  refused({"record", bad}, 1, "line 2");
  refused({"record", inch, "--unit", "mm"}, 1, "mixed units");
  refused({"record", folder.path()}, 1, "cannot be written");
  refused({"record", folder.path("no/r.csv")}, 1, "cannot be written");
  refused({"record", "/dev/full"}, 1, "plain file");
  refused({"record"}, 2, "FILE.csv");
  refused({"record", folder.path("r.csv"), "--digits", "20"}, 2, "digits");
  CHECK(folder.read("bad.csv") == "1,2\nthree,4\n");
  CHECK(folder.read("inch.csv") == "# unit: in\n0.1,0.2\n");
  CHECK(folder.names() == std::vector<std::string>{"bad.csv", "inch.csv"});
}

TEST_CASE("record: two at one file have each other's readings, and nothing is lost", "[cli][record]") {
  const Folder folder;
  Dialogue one({"record", folder.path("r.csv")}), other({"record", folder.path("r.csv")});
  one.ask(""), other.ask("");  // both have the file open
  CHECK_THAT(one.ask("1 2"), StartsWith("1 kept"));
  CHECK_THAT(other.ask("3 4"), StartsWith("2 kept") && Contains("elsewhere"));
  CHECK_THAT(one.ask("5 6"), StartsWith("3 kept") && Contains("elsewhere"));
  CHECK_THAT(one.ask("delete 2"), StartsWith("2 is out"));  // the other's
  CHECK_THAT(other.ask("7 8"), StartsWith("4 kept"));
  one.end(), other.end();
  CHECK(folder.read("r.csv") ==
        "# readings taken by hand, one a line\n# unit: mm\n1,2\n# deleted: 3,4\n5,6\n7,8\n");
  CHECK(folder.names() == std::vector<std::string>{"r.csv"});
}

TEST_CASE("record: a pipe of rubbish ends in refusals, not in a crash", "[cli][record]") {
  const Folder folder;
  RunOptions options;
  options.in = std::string("\0\1\2\n", 4) + std::string(100000, '7') + "\n\xff\xfe\n1e999 2\nnan nan\n1,2\n" +
               std::string(3000, ' ') + "\n";
  const Run run = rondure_run({"record", folder.path("r.csv")}, options);
  CHECK(run.exit_code == 1);
  CHECK(lines_of(run.out).size() == 7);
  CHECK(folder.read("r.csv") == "# readings taken by hand, one a line\n# unit: mm\n1,2\n");
}
