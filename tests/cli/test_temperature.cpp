// --temperature: sizes are brought to 20 degrees C (ISO 1: the reference temperature of dimensional
// measurement; from memory).
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>

#include "demo_files.hpp"
#include "process.hpp"

namespace {

nlohmann::json feature_of(std::vector<std::string> words) {
  words.insert(words.end(), {"--json", "-"});
  const Run run = rondure_run(words);
  INFO(run.err);
  REQUIRE(run.exit_code == 0);
  return nlohmann::json::parse(run.out)["features"][0];
}

double u_of(const nlohmann::json& feature, const std::string& source) {
  for (const auto& line : feature["budget"])
    if (line["source"] == source) return line["u_mm"];
  return 0;
}

}  // namespace

TEST_CASE("temperature: a warm part is given smaller, and what is not known of it is in the budget",
          "[cli][temperature]") {
  constexpr double kExpansion = 105e-6,
                   kRange = 35e-6;  // POM-C in src/data/material_properties.csv: 85 to 120
  const std::vector<std::vector<std::string>> commands{
      {"fit", demo("two-dates/outside-2026.csv")}, {"measure", demo("drum.png"), "--scale", "38.00px/mm"}};
  for (auto words : commands) {
    INFO(words[0]);
    const auto cold = feature_of(words);
    words.insert(words.end(), {"--temperature", "30C", "--material", "POM-C"});
    const auto warm = feature_of(words);
    const double d_cold = cold["circle"]["diameter_mm"], d_warm = warm["circle"]["diameter_mm"];
    CHECK(d_warm == Approx(d_cold / (1 + 10 * kExpansion)).epsilon(1e-9));
    CHECK(u_of(cold, "temperature") == 0);
    // 1 K of thermometer, and ten degrees of an expansion known to its range (rectangular, GUM 4.3.7)
    CHECK(u_of(warm, "temperature") ==
          Approx(d_cold * std::hypot(kExpansion, 10 * kRange / std::sqrt(12.0))).epsilon(2e-3));
    CHECK(warm["circle"]["u_diameter_mm"] > cold["circle"]["u_diameter_mm"]);
  }
}

TEST_CASE("temperature: readings taken by hand are brought to 20 C as those of a file",
          "[cli][temperature]") {
  const Folder folder;
  const std::string readings = folder.path("warm.csv");
  RunOptions typed;
  for (int i = 0; i < 12; ++i)
    typed.in += std::to_string(10 + 6 * std::cos(i * 0.5236)) + " " +
                std::to_string(8 + 6 * std::sin(i * 0.5236)) + "\n";
  const std::vector<std::string> warm{"--temperature", "30C", "--material", "POM-C"};
  std::vector<std::string> record{"record", readings, "--json", folder.path("warm.json")},
      fit{"fit", readings};
  record.insert(record.end(), warm.begin(), warm.end());
  fit.insert(fit.end(), warm.begin(), warm.end());
  const Run run = rondure_run(record, typed);
  INFO(run.out << run.err);
  REQUIRE(run.exit_code == 0);
  CHECK(run.out.find("12 kept: R 5.993") != std::string::npos);  // 6 mm less 10 K of 105e-6
  const auto recorded = nlohmann::json::parse(folder.read("warm.json"))["features"][0],
             fitted = feature_of(fit);
  CHECK(recorded["circle"] == fitted["circle"]);
  CHECK(double(recorded["circle"]["diameter_mm"]) == Approx(12 / (1 + 10 * 105e-6)).epsilon(1e-6));
}

TEST_CASE("temperature: needs a material, and one that is known", "[cli][temperature]") {
  for (const std::vector<std::string>& more : {std::vector<std::string>{"--temperature", "26C"},
                                               {"--temperature", "26C", "--material", "unobtainium"},
                                               {"--temperature", "warm", "--material", "POM-C"},
                                               {"--temperature", "400C", "--material", "POM-C"}}) {
    std::vector<std::string> words{"fit", demo("two-dates/outside-2026.csv")};
    words.insert(words.end(), more.begin(), more.end());
    const Run run = rondure_run(words);
    INFO(run.err);
    CHECK(run.exit_code == 2);
    CHECK(run.one_line_on_error());
  }
}
