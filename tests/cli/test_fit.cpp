// rondure fit, as a user runs it.
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>
#include <sstream>

#include "process.hpp"

using Json = nlohmann::json;

namespace {
// 24 readings in inches round a tread of 0.8 in, 0.004 in oval (major minus minor), one digit slip in line 12.
std::string oval_with_slip() {
  std::ostringstream text;
  text.precision(4);
  text << std::fixed << "# unit: in\nx,y\n";
  for (int i = 0; i < 24; ++i) {
    const double t = 2 * 3.14159265358979 * i / 24,
                 r = 0.4 + 0.001 * std::cos(2 * (t - 0.5)) + 0.0002 * std::sin(37.0 * i);
    text << 1.5 + r * std::cos(t) + (i == 9 ? 0.03 : 0) << ',' << 0.9 + r * std::sin(t) << '\n';
  }
  return text.str();
}
}  // namespace

TEST_CASE("fit: an oval part with a typing slip", "[cli][fit]") {
  const Folder folder;
  folder.write("tread.csv", oval_with_slip());
  const Run run = rondure_run({"fit", folder.path("tread.csv"), "--sigma", "0.0002in", "--json", "-"});
  REQUIRE(run.exit_code == 0);
  const Json feature = Json::parse(run.out)["features"][0];
  CHECK(feature["circle"]["diameter_mm"].get<double>() == Approx(20.32).margin(0.01));
  CHECK(feature["circle"]["interval95_mm"][0].get<double>() < 20.32);
  CHECK(feature["circle"]["interval95_mm"][1].get<double>() > 20.32);
  CHECK(feature["ellipse"]["ovality_mm"].get<double>() == Approx(0.1016).margin(0.02));
  CHECK(feature["verdict"] == "oval");
  REQUIRE(feature["excluded"].size() == 1);
  CHECK(feature["excluded"][0]["lines"][0] == 12);
  const Run text = rondure_run({"fit", folder.path("tread.csv"), "--sigma", "0.0002in"});
  CHECK(text.out.find("line 12") != std::string::npos);
}

TEST_CASE("fit: chord and sagitta from a file", "[cli][fit]") {
  // Common practice, no source: 0.250 in over 0.0155 in is R 0.512 in, good to 0.016 in for half a thou.
  const Folder folder;
  folder.write("crown.csv", "# unit: in\nchord 0.250 sagitta 0.0155+-0.0005\n");
  const Run run = rondure_run({"fit", folder.path("crown.csv"), "--json", "-"});
  REQUIRE(run.exit_code == 0);
  const Json circle = Json::parse(run.out)["features"][0]["circle"];
  CHECK(circle["diameter_mm"].get<double>() / 50.8 == Approx(0.5118).margin(1e-4));
  CHECK(circle["u_diameter_mm"].get<double>() / 50.8 == Approx(0.016).margin(5e-4));
}

TEST_CASE("fit: refusals are one line, exit 1 for the data and 2 for the command line", "[cli][fit]") {
  const Folder folder;
  folder.write("two.csv", "1,2\n3,4\n");
  folder.write("line.csv", "0,0\n1,1\n2,2\n3,3\n");
  folder.write("empty.csv", "# nothing yet\n");
  for (const char* file : {"two.csv", "line.csv", "empty.csv", "missing.csv"}) {
    const Run run = rondure_run({"fit", folder.path(file)});
    INFO(file);
    CHECK(run.exit_code == 1);
    CHECK(run.one_line_on_error());
  }
  const std::vector<std::vector<std::string>> wrong_options = {
      {"--sigma", "0"}, {"--form", "0mm"}, {"--form", "abc"}};
  for (const auto& wrong : wrong_options) {
    std::vector<std::string> arguments{"fit", folder.path("two.csv")};
    arguments.insert(arguments.end(), wrong.begin(), wrong.end());
    const Run run = rondure_run(arguments);
    CHECK(run.exit_code == 2);
    CHECK(run.one_line_on_error());
  }
}
