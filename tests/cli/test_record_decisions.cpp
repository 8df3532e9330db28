// One decision about each reading: what the session says, its list, the saved record and `fit` of its file agree.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>
#include <random>
#include <sstream>
#include <vector>

#include "process.hpp"

namespace {

using Catch::Contains;
using nlohmann::json;

// Twelve readings of a round part, R 6.012 mm, scatter 0.003 mm; `off_mm`: how far one (counted from 1) lies outside.
std::string twelve(int slipped, double off_mm, const std::string& remark = "") {
  constexpr double kScatter_mm[] = {1, -2, 3, -1, 2, -3, 0, 2, -1, 1, -3, 2};
  std::string text;
  for (int i = 0; i < 12; ++i) {
    const double t = 2 * M_PI * i / 12 + 0.05 * (i % 3);
    const double r = 6.012 + 0.001 * kScatter_mm[i] + (i + 1 == slipped ? off_mm : 0);
    char line[64];
    std::snprintf(line, sizeof line, "%.4f,%.4f", 30.5 + r * std::cos(t), 21.25 + r * std::sin(t));
    text += std::string(line) + (i + 1 == slipped ? remark : "") + "\n";
  }
  return text;
}

json fitted(const Folder& folder, const std::string& file) {
  const Run run = rondure_run({"fit", folder.path(file), "--json", "-", "--quiet"});
  INFO(run.err);
  REQUIRE(run.exit_code == 0);
  return json::parse(run.out)["features"][0];
}

// Without the breaks of a terminal.
}  // namespace

TEST_CASE("record: 'keep' holds in the session, the record saved and the fit of the file alike",
          "[cli][record]") {
  const Folder folder;
  RunOptions options;
  options.in = twelve(9, 0.3);
  const Run before =
      rondure_run({"record", folder.path("r.csv"), "--json", folder.path("before.json")}, options);
  CHECK_THAT(before.out, Contains("without 9"));
  CHECK(json::parse(folder.read("before.json"))["features"][0]["points"]["used"] == 11);
  CHECK(fitted(folder, "r.csv")["points"]["used"] == 11);

  options.in = "keep 9\nlist\nquit\n";
  const Run kept = rondure_run({"record", folder.path("r.csv"), "--json", folder.path("kept.json")}, options);
  CHECK(kept.exit_code == 0);
  CHECK_THAT(kept.out, Contains("9 stands as read") && !Contains("without 9") && !Contains("in doubt"));
  const json saved = json::parse(folder.read("kept.json"))["features"][0], fit = fitted(folder, "r.csv");
  CHECK(saved["points"]["used"] == 12);
  CHECK(fit["points"]["used"] == 12);
  CHECK(saved["circle"]["diameter_mm"] == fit["circle"]["diameter_mm"]);
  CHECK(saved["circle"]["u_diameter_mm"] == fit["circle"]["u_diameter_mm"]);
  // the printed radius is that of the record, and stays so in a session that goes on, without one, and poured anew
  const double radius_mm = saved["circle"]["diameter_mm"].get<double>() / 2;
  const auto radius_said = [](const std::string& text) {
    return std::stod(text.substr(text.find("R 6.") + 2));
  };
  CHECK(radius_said(kept.out) == Approx(radius_mm).margin(6e-4));
  options.in = "list\n";
  const Run reloaded = rondure_run({"record", folder.path("r.csv")}, options);
  CHECK_THAT(reloaded.out, Contains("as read") && !Contains("in doubt"));
  options.in = folder.read("r.csv");
  const Run poured =
      rondure_run({"record", folder.path("again.csv"), "--json", folder.path("again.json")}, options);
  CHECK(json::parse(folder.read("again.json"))["features"][0]["circle"] == saved["circle"]);
}

TEST_CASE("record: undo takes a 'keep' back, and a reading kept and deleted leaves no mark",
          "[cli][record]") {
  const Folder folder;
  RunOptions options;
  options.in = twelve(9, 0.3);
  rondure_run({"record", folder.path("r.csv")}, options);
  options.in = "keep 9\nundo\nlist\n";
  CHECK_THAT(rondure_run({"record", folder.path("r.csv")}, options).out, Contains("in doubt"));
  CHECK(fitted(folder, "r.csv")["points"]["used"] == 11);
  options.in = "keep 9\ndelete 9\nlist\n";
  rondure_run({"record", folder.path("r.csv")}, options);
  CHECK_THAT(folder.read("r.csv"), !Contains("kept"));
  CHECK(fitted(folder, "r.csv")["points"]["count"] == 11);
}

TEST_CASE("a remark beside a reading decides nothing, in fit and in record", "[cli][fit][record]") {
  const Folder folder;
  for (const std::string remark :
       {"not sure, as read in bad light", "as read", "keep 9", "kept: 1,2", "yes"}) {
    INFO(remark);
    folder.write("remark.csv", twelve(9, 0.3, "  # " + remark));
    CHECK(fitted(folder, "remark.csv")["points"]["used"] == 11);
    RunOptions options;
    options.in = "list\n";
    CHECK_THAT(rondure_run({"record", folder.path("remark.csv")}, options).out, Contains("in doubt"));
  }
}

TEST_CASE("record --quiet: says what asks for an answer or was not kept, and nothing else", "[cli][record]") {
  const Folder folder;
  RunOptions options;
  options.in = twelve(-1, 0);
  const Run quiet = rondure_run({"record", folder.path("clean.csv"), "--quiet"}, options);
  CHECK(quiet.exit_code == 0);
  CHECK(quiet.out.empty());
  options.in = twelve(9, 0.3) + "words that are no reading but a remark\n";
  const Run asks = rondure_run({"record", folder.path("slip.csv"), "--quiet"}, options);
  CHECK_THAT(asks.out, Contains("9 kept, but") && Contains("not kept: found") && !Contains("10 kept"));
  CHECK(std::count(asks.out.begin(), asks.out.end(), '\n') == 2);
}

TEST_CASE("fit: readings left out have the numbers that 'record' gives them", "[cli][fit]") {
  const Folder folder;
  folder.write("r.csv", "# unit: mm\n# deleted: 1,1\n" + twelve(9, 0.3));
  const Run run = rondure_run({"fit", folder.path("r.csv")});
  CHECK_THAT(one_line(run.out), Contains("left out: reading 10 (line 11)"));
}

TEST_CASE(
    "fit: a diameter without an uncertainty beside coordinates does not count, and nothing is no number",
    "[cli][fit]") {
  const Folder folder;
  folder.write("r.csv", twelve(0, 0) + "two-point 12.02 at 30\n");
  const Run run = rondure_run({"fit", folder.path("r.csv"), "--json", folder.path("r.json")});
  CHECK(run.exit_code == 0);
  CHECK_THAT(run.out, !Contains("nan") && Contains("came without an uncertainty"));
  const json combined = json::parse(folder.read("r.json"))["features"][0]["combination"];
  REQUIRE(combined.size() == 2);
  CHECK(combined[0]["weight"] == 1);
  CHECK(combined[1]["weight"] == 0);
  CHECK(combined[0]["u_radius_mm"] > 0);
  CHECK_FALSE(combined[1].contains("u_radius_mm"));  // nobody told it: 0 would read as exact
  const Run all = rondure_run({"fit", folder.path("r.csv"), "--all"});
  CHECK_THAT(one_line(all.out), Contains("(no uncertainty told)") && !Contains("+- 0.000 mm"));
}

TEST_CASE(
    "record: two neighbouring readings with digits swapped are marked as they come, in the list and in fit",
    "[cli][record]") {
  // R 0.2367 in; two neighbours typed 0.009 and 0.018 in wrong. 2026-11: neither was marked, the deviations in the list came
  // from a fit that held both, and R jumped by 10 u.
  for (const int at : {2, 7, 10}) {
    INFO("readings " << at + 1 << " and " << at + 2);
    const Folder folder;
    std::string text;
    for (int i = 0; i < 16; ++i) {
      const double t = 2 * M_PI * i / 16, r = 0.2367 + 0.0001 * ((i * 7) % 3 - 1);
      char line[64];
      std::snprintf(line, sizeof line, "%.4f %.4f\n",
                    1.2 + r * std::cos(t) -
                        (i == at       ? 0.009
                         : i == at + 1 ? 0.018
                                       : 0),
                    0.8 + r * std::sin(t));
      text += line;
    }
    RunOptions options;
    options.in = text + "list\n";
    const Run run = rondure_run(
        {"record", folder.path("r.csv"), "--unit", "in", "--json", folder.path("r.json")}, options);
    INFO(run.out);
    const json feature = json::parse(folder.read("r.json"))["features"][0];
    CHECK(feature["points"]["used"] == 14);
    CHECK(feature["circle"]["diameter_mm"].get<double>() == Approx(2 * 0.2367 * 25.4).margin(0.004));
    CHECK(fitted(folder, "r.csv")["circle"] == feature["circle"]);
    // fit names the readings as record does, with their lines in the file (two comment lines stand above)
    CHECK_THAT(one_line(rondure_run({"fit", folder.path("r.csv")}).out),
               Contains("left out: reading " + std::to_string(at + 1) + " (line " + std::to_string(at + 3) +
                        "), reading " + std::to_string(at + 2) + " (line " + std::to_string(at + 4) + ")"));
    // the list: these two, and the deviations of the others as the fit without them has it
    std::string list = run.out.substr(run.out.find("\n1 1.4") + 1);
    list = list.substr(0, list.find('\n'));
    std::istringstream entries(list);
    int number = 0;
    for (std::string entry; std::getline(entries, entry, ';');) {
      ++number;
      const double deviation = std::stod(entry.substr(entry.find('(') + 1));
      const bool doubted = entry.find("in doubt") != std::string::npos;
      CHECK(doubted == (number == at + 1 || number == at + 2));
      if (!doubted) CHECK(std::abs(deviation) < 0.0005);
    }
    CHECK(number == 16);
    // live, from the pair on: R stays where it was, by the doubt of both answers, unless something is said of a reading
    std::istringstream said(run.out);
    double before = 0, u_before = 0;
    for (std::string line; std::getline(said, line);)
      if (const auto r = line.find("kept: R 0.");
          r != std::string::npos && line.find("+-") != std::string::npos) {
        const double radius = std::stod(line.substr(r + 8)), u = std::stod(line.substr(line.find("+-") + 3));
        if (before > 0 && u < 0.001) CHECK(std::abs(radius - before) < 1.5 * std::hypot(u, u_before));
        if (u < 0.001) before = radius, u_before = u;
      }
  }
}

TEST_CASE("fit: two neighbouring swaps among ten readings do not move the answer where the scatter is told",
          "[cli][fit]") {
  // 0.009 and 0.018 in beside --sigma 0.0002in. 2026-11: "oval" or "irregular", no reading named, R off by up to 14 u.
  for (int at = 0; at < 10; ++at) {
    INFO("readings " << at + 1 << " and " << (at + 1) % 10 + 1);
    const Folder folder;
    std::string text = "# unit: in\nx,y\n";
    const double middle = 2 * M_PI * (at + 0.5) / 10;
    const bool in_x = std::abs(std::cos(middle)) > 0.7;  // the axis that the swap moves off the circle
    for (int i = 0; i < 10; ++i) {
      const double t = 2 * M_PI * i / 10, r = 0.2450 + 0.0001 * ((i * 7) % 5 - 2);
      const double swap = i == at ? 0.009 : i == (at + 1) % 10 ? 0.018 : 0;
      char line[64];
      std::snprintf(line, sizeof line, "%.4f,%.4f\n", 0.5 + r * std::cos(t) + (in_x ? swap : 0),
                    0.3 + r * std::sin(t) + (in_x ? 0 : swap));
      text += line;
    }
    folder.write("r.csv", text);
    const Run run =
        rondure_run({"fit", folder.path("r.csv"), "--sigma", "0.0002in", "--json", folder.path("r.json")});
    INFO(run.out);
    const json circle = json::parse(folder.read("r.json"))["features"][0]["circle"];
    CHECK(circle["interval95_mm"][0] < 2 * 0.2450 * 25.4);
    CHECK(circle["interval95_mm"][1] > 2 * 0.2450 * 25.4);
    CHECK(circle["u_diameter_mm"] < 0.008);
    CHECK_THAT(one_line(run.out), Contains("left out: reading"));
  }
}

TEST_CASE("record: a nought typed behind, or one digit more, does not move the answer", "[cli][record]") {
  struct Said {
    double radius, u;
  };
  const auto said_after = [](const std::string& last) {
    const Folder folder;
    RunOptions options;
    std::istringstream lines(twelve(0, 0));
    for (std::string line; std::getline(lines, line);) options.in += line + "\n";
    options.in += last + "\n";
    const std::string out = rondure_run({"record", folder.path("r.csv")}, options).out;
    const std::string answer = out.substr(out.find("13 kept: R "));
    return Said{std::stod(answer.substr(11)), std::stod(answer.substr(answer.find("+-") + 3))};
  };
  const Said plain = said_after("36.3102,22.7805"), nought = said_after("36.31020,22.78050"),
             digit = said_after("36.31023,22.78049");
  CHECK(plain.u < 0.01);
  CHECK(nought.radius == plain.radius);
  CHECK(nought.u == plain.u);
  CHECK(digit.radius == Approx(plain.radius).margin(0.05 * plain.u));
  CHECK(digit.u == Approx(plain.u).epsilon(0.03));
}

TEST_CASE("record: a dozen files typed with 3, 4, 5 and 6 decimals give one answer",
          "[cli][record][repeats]") {
  // Scatter of one unit of the third decimal and more: below it the rounding itself moves the answer. Where a reading is
  // left out by one and not by the other (its chance is 1 % to a hair: file 10), the record names it.
  int decided_otherwise = 0;
  std::mt19937 random(5);
  const auto even = [&] { return static_cast<double>(random()) * 0x1p-32; };
  for (int file = 0; file < 12; ++file) {
    const int count = 8 + 4 * (file % 4), lobes = file % 3 + 1;  // round, oval 0.03, three lobes of 0.006 mm
    const double sigma_mm = 0.0015 * std::pow(4, even()), radius_mm = 3 + 15 * even();
    const double amplitude_mm = lobes == 1 ? 0 : lobes == 2 ? 0.0075 : 0.003;
    std::vector<std::pair<double, double>> readings;
    for (int i = 0; i < count; ++i) {
      const double t = 2 * M_PI * (i + 0.4 * even()) / count,
                   r = radius_mm + amplitude_mm * std::cos(lobes * t);
      const double off = sigma_mm * std::sqrt(-2 * std::log(1 - even())), way = 2 * M_PI * even();
      readings.emplace_back(40 + r * std::cos(t) + off * std::cos(way),
                            30 + r * std::sin(t) + off * std::sin(way));
    }
    double radius_before = 0, u_before = 0;
    int used_before = 0;
    for (int decimals = 3; decimals <= 6; ++decimals) {
      INFO("file " << file << ", " << count << " readings, " << decimals << " decimals");
      const Folder folder;
      RunOptions options;
      for (const auto& [x, y] : readings) {
        char line[64];
        std::snprintf(line, sizeof line, "%.*f,%.*f\n", decimals, x, decimals, y);
        options.in += line;
      }
      rondure_run({"record", folder.path("r.csv"), "--json", folder.path("r.json")}, options);
      const json feature = json::parse(folder.read("r.json"))["features"][0];
      const double radius = feature["circle"]["diameter_mm"].get<double>() / 2,
                   u = feature["circle"]["u_diameter_mm"].get<double>() / 2;
      const int used = feature["points"]["used"];
      CHECK((used == count || fitted(folder, "r.csv").dump().find("left out") != std::string::npos));
      if (decimals > 3 && used == used_before) {
        CHECK(std::abs(radius - radius_before) < 0.3 * u_before);
        CHECK(u > 0.7 * u_before);
        CHECK(u < 1.4 * u_before);
      } else if (decimals > 3) {
        ++decided_otherwise;
      }
      radius_before = radius, u_before = u, used_before = used;
    }
  }
  CHECK(decided_otherwise <= 2);
}
