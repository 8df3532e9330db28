// Readings typed to a whole division: what is typed may be anything within half a step, u = step/sqrt(12) (GUM 4.3.7).
// 2026-11: four whole-number corners of a 10 mm square gave "R 7.1 +- 0.0" in record and 14.14214 +- 0.00000 in fit.
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>
#include <regex>

#include "process.hpp"

using Json = nlohmann::json;

namespace {
bool shows_zero_u(const std::string& text) {
  static const std::regex kZero(R"re(\+- 0\.?0*([^0-9.]|$))re");
  return std::regex_search(text, kZero);
}

Json circle_of(const std::vector<std::string>& arguments, const std::string& in = {}) {
  RunOptions options;
  options.in = in;
  std::vector<std::string> all = arguments;
  all.insert(all.end(), {"--json", "-", "--quiet"});
  const Run run = rondure_run(all, options);
  INFO(run.err << run.out);
  REQUIRE(run.exit_code == 0);
  return Json::parse(run.out.substr(run.out.find('{')))["features"][0]["circle"];
}

constexpr const char* kSquare = "0,0\n10,0\n10,10\n0,10\n";
}  // namespace

TEST_CASE("whole numbers: the rounding of what was typed is in u, by fit and by record",
          "[cli][fit][record]") {
  const Folder folder;
  folder.write("square.csv", kSquare);
  folder.write("polar.csv", "polar 5 at 0\npolar 5 at 90\npolar 5 at 180\npolar 5 at 270\n");
  folder.write("diameters.csv", "two-point 10 at 0\ntwo-point 10 at 60\ntwo-point 10 at 120\n");
  folder.write("inch.csv", "# unit: in\n0,0\n10,0\n10,10\n0,10\n");
  // Four evenly spread readings of u each give a radius of u/sqrt(4), a diameter of u.
  const double least_mm = 1 / std::sqrt(12.0);
  for (const char* file : {"square.csv", "polar.csv", "diameters.csv"})
    for (const std::vector<std::string>& how :
         {std::vector<std::string>{}, {"--plain"}, {"--form", "none"}}) {
      std::vector<std::string> arguments{"fit", folder.path(file)};
      arguments.insert(arguments.end(), how.begin(), how.end());
      INFO(file << (how.empty() ? "" : how[0]));
      CHECK(circle_of(arguments)["u_diameter_mm"].get<double>() >= 0.99 * least_mm);
      CHECK_FALSE(shows_zero_u(rondure_run(arguments).out));
    }
  CHECK(circle_of({"fit", folder.path("inch.csv")})["u_diameter_mm"].get<double>() >= 0.99 * 25.4 * least_mm);
  // by record as by fit, and in its own line
  const std::string typed = "0 0\n10 0\n10 10\n0 10\n";
  CHECK(circle_of({"record", folder.path("r.csv")}, typed)["u_diameter_mm"].get<double>() >= 0.99 * least_mm);
  RunOptions pipe;
  pipe.in = typed;
  const Run record = rondure_run({"record", folder.path("again.csv")}, pipe);
  INFO(record.out);
  CHECK(record.out.find("4 kept: R 7.1 +- 0.") != std::string::npos);
  CHECK_FALSE(shows_zero_u(record.out));
}

TEST_CASE("whole numbers: an uncertainty that was stated counts instead, and that is said", "[cli][fit]") {
  const Folder folder;
  folder.write("square.csv", kSquare);
  folder.write("own.csv", "0,0,0.001\n10,0,0.001\n10,10,0.001\n0,10,0.001\n");
  for (const std::vector<std::string>& how :
       {std::vector<std::string>{"square.csv", "--sigma", "0.001mm"}, {"own.csv"}}) {
    std::vector<std::string> arguments{"fit", folder.path(how[0])};
    arguments.insert(arguments.end(), how.begin() + 1, how.end());
    CHECK(circle_of(arguments)["u_diameter_mm"].get<double>() < 0.01);
    CHECK(rondure_run(arguments).out.find("whole numbers") != std::string::npos);
  }
}

TEST_CASE("no redundancy: without a stated uncertainty there is none, and that is said", "[cli][fit]") {
  const Folder folder;
  folder.write("three.csv", "0.00,0.00\n10.00,0.00\n10.00,10.00\n");
  folder.write("one.csv", "two-point 10.00 at 0\n");
  for (const std::vector<std::string>& how :
       {std::vector<std::string>{"three.csv"}, {"three.csv", "--plain"}, {"one.csv"}}) {
    std::vector<std::string> arguments{"fit", folder.path(how[0])};
    arguments.insert(arguments.end(), how.begin() + 1, how.end());
    INFO(how[0]);
    const Json circle = circle_of(arguments);
    CHECK_FALSE(circle.contains("u_diameter_mm"));
    CHECK_FALSE(circle.contains("interval95_mm"));
    const std::string text = rondure_run(arguments).out;
    CHECK(text.find("--sigma") != std::string::npos);
    CHECK(text.find("+- 0") == std::string::npos);
  }
}
