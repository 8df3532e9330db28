#include <catch2/catch.hpp>
#include <fstream>
#include <limits>
#include <nlohmann/json.hpp>

#include "full_record.hpp"
#include "rondure/record/plan_section.hpp"

using namespace rondure;
using Json = nlohmann::json;

TEST_CASE("record: every field survives writing and reading", "[record]") {
  const std::string once = to_json(full_record());
  const auto read = parse_part_record(once);
  REQUIRE(read);
  PartRecord again = *read;
  again.preserved_json.clear();  // what is written comes from the fields alone
  CHECK(to_json(again) == once);
  CHECK(read->features.size() == 2);
  CHECK(read->features[0].circle->diameter_mm == 12.345678901234567);
  CHECK(read->features[0].excluded[0].lines == std::vector<int>{17, 18});
  CHECK_FALSE(read->features[0].profile[1].used);
  CHECK(read->original->features[0].candidates[1].label == "31/64 in");
}

TEST_CASE("record: keys are those of the contract", "[record]") {
  const Json j = Json::parse(to_json(full_record()));
  CHECK(j["format"] == "rondure-part");
  CHECK(j["version"] == 1);
  CHECK(j["part"]["name"] == "film-advance roller");
  CHECK(j["part"]["material"] == "POM-C");
  const Json& f = j["features"][0];
  for (const char* pointer : {"/name",
                              "/kind",
                              "/source/type",
                              "/source/file",
                              "/source/sha256",
                              "/source/calibration",
                              "/source/time",
                              "/points/count",
                              "/points/used",
                              "/points/coverage_deg",
                              "/circle/diameter_mm",
                              "/circle/u_diameter_mm",
                              "/circle/center_mm/1",
                              "/circle/rms_mm",
                              "/circle/interval95_mm/1",
                              "/ellipse/major_diameter_mm",
                              "/ellipse/minor_diameter_mm",
                              "/ellipse/major_angle_deg",
                              "/ellipse/center_mm/0",
                              "/ellipse/ovality_mm",
                              "/ellipse/u_ovality_mm",
                              "/ellipse/ovality_interval95_mm/0",
                              "/ellipse/p_round",
                              "/roundness/LSCI/RONt_mm",
                              "/roundness/LSCI/diameter_mm",
                              "/roundness/MZCI/RONt_mm",
                              "/roundness/MCCI/RONt_mm",
                              "/roundness/MICI/RONt_mm",
                              "/harmonics/0/upr",
                              "/harmonics/0/amplitude_mm",
                              "/harmonics/0/phase_deg",
                              "/harmonics/0/u_amplitude_mm",
                              "/excluded/0/from_deg",
                              "/excluded/0/to_deg",
                              "/excluded/0/height_mm",
                              "/excluded/0/points",
                              "/budget/0/source",
                              "/budget/0/u_mm",
                              "/height_mm",
                              "/u_height_mm",
                              "/verdict"}) {
    INFO(pointer);
    CHECK(f.contains(Json::json_pointer(pointer)));
  }
  for (const char* pointer :
       {"/original/unit_system/metric", "/original/unit_system/inch", "/original/shrinkage/mean",
        "/original/shrinkage/interval95/1", "/original/features/0/name",
        "/original/features/0/candidates/0/label", "/original/features/0/candidates/0/size_mm",
        "/original/features/0/candidates/0/probability", "/original/features/0/undecided",
        "/original/measure_next/0/what", "/original/measure_next/0/expected_gain_bits",
        "/replacement/sizes/0/lower_mm", "/warnings/0/code", "/warnings/0/text"}) {
    INFO(pointer);
    CHECK(j.contains(Json::json_pointer(pointer)));
  }
}

TEST_CASE("record: what is not known leaves no key, and nothing is null", "[record]") {
  PartRecord r;
  Feature f;
  f.name = "crown";
  f.circle = CircleResult{};
  f.circle->diameter_mm = 26.0;
  r.features = {f};
  const std::string text = to_json(r);
  const Json j = Json::parse(text);
  CHECK(j["features"][0].size() == 2);  // name, circle
  CHECK_FALSE(j["features"][0]["circle"].contains("u_diameter_mm"));
  CHECK_FALSE(j.contains("original"));
  CHECK_FALSE(j.contains("replacement"));
  CHECK(text.find("null") == std::string::npos);
}

TEST_CASE("record: a value that is not finite is left out", "[record]") {
  const double nan = std::numeric_limits<double>::quiet_NaN(), inf = std::numeric_limits<double>::infinity();
  PartRecord r = full_record();
  Feature& f = r.features[0];
  f.circle->u_diameter_mm = nan;
  f.circle->diameter95_mm = Interval{1, inf};
  f.ellipse->major_diameter_mm = nan;  // no ellipse without it
  f.harmonics[0].amplitude_mm = inf;
  f.pixel_from_part = {nan, 0, 0, 0, 0, 0};
  r.features[1].circle->diameter_mm = -inf;
  const std::string text = to_json(r);
  const auto read = parse_part_record(text);
  REQUIRE(read);
  CHECK_FALSE(read->features[0].circle->u_diameter_mm);
  CHECK_FALSE(read->features[0].circle->diameter95_mm);
  CHECK_FALSE(read->features[0].ellipse);
  CHECK(read->features[0].harmonics.size() == 1);
  CHECK_FALSE(read->features[0].pixel_from_part);
  CHECK_FALSE(read->features[1].circle);
}

TEST_CASE("record: a section that forgets to look writes no NaN either", "[record]") {
  PartRecord r = full_record();
  r.original->drive.push_back(
      {"12.5 mm", std::numeric_limits<double>::quiet_NaN(), std::numeric_limits<double>::infinity()});
  r.original->drive.push_back({"31/64 in", 12.3, 0.01});
  const std::string text = to_json(r);
  const Json written = Json::parse(text);
  REQUIRE(written["original"]["drive"].size() == 1);  // one without its size could not be read back
  CHECK(written["original"]["drive"][0]["label"] == "31/64 in");
  CHECK(parse_part_record(text));
}

TEST_CASE("record: a damaged file is refused with what and where", "[record]") {
  const auto message = [](const std::string& text) {
    const auto read = parse_part_record(text);
    REQUIRE_FALSE(read);
    CHECK(read.error().code == ErrorCode::kFileDamaged);
    return read.error().detail;
  };
  const std::string head = R"({"format":"rondure-part","version":1,)";
  CHECK_THAT(message(""), Catch::Contains("empty"));
  CHECK_THAT(message("{\n\"format\":\"rondure-part\",\n\"version\":1,\n"), Catch::Contains("line 4, column"));
  CHECK_THAT(message(R"({"version":1})"), Catch::Contains("format"));
  CHECK_THAT(message(R"({"format":"rondure-part","version":0})"), Catch::Contains("version"));
  CHECK_THAT(message(head + "\n\"features\":[{\"name\":\"a\",\n  \"circle\":{\"diameter_mm\":\"12,7\"}}]}"),
             Catch::Contains("line 3,") && Catch::Contains("features[0].circle.diameter_mm") &&
                 Catch::Contains("found \"12,7\", needed a number"));
  CHECK_THAT(message(head + R"("features":[{},{"harmonics":[{"upr":2.5,"amplitude_mm":1,"phase_deg":0}]}]})"),
             Catch::Contains("features[1].harmonics[0].upr"));
  CHECK_THAT(message(head + R"("features":[{"circle":{"diameter_mm":1e999}}]})"), Catch::Contains("1e999"));
  CHECK_THAT(message(head + R"("features":[{"circle":{"diameter_mm":NaN}}]})"), Catch::Contains("column"));
  CHECK_THAT(message(head + R"("features":[{"circle":{"diameter_mm":1,"interval95_mm":[3,2]}}]})"),
             Catch::Contains("lower limit first"));
  CHECK_THAT(message(head + R"("features":{}})"), Catch::Contains("needed an array"));
  CHECK_THAT(message(head + "\"x\":" + std::string(100000, '[')), Catch::Contains("nested more than"));
  CHECK_THAT(message("[]"), Catch::Contains("needed an object"));
}

TEST_CASE("record: fields of a newer version are kept at every level", "[record]") {
  Json newer = Json::parse(to_json(full_record()));
  newer["version"] = 3;
  newer["later"] = {{"deep", {1, 2, {{"x", 1}}}}};
  newer["part"]["colour"] = "black";
  newer["features"][1]["texture"] = "fine";
  newer["features"][1]["circle"]["torsion"] = 4.5;
  newer["features"][1]["harmonics"][0]["confidence"] = 0.9;
  newer["features"][1]["budget"][1]["degrees_of_freedom"] = 12;
  newer["original"]["features"][0]["candidates"][1]["catalogue"] = "B";
  newer["replacement"]["balance"] = {{"grade", "G6.3"}};
  newer["replacement"]["sizes"][0]["surface"] = "Ra 0.8";
  newer["warnings"][0]["since"] = "2031";
  auto read = parse_part_record(newer.dump());
  REQUIRE(read);
  read->features.erase(read->features.begin());  // its place in the list changes
  read->features[0].circle->diameter_mm = 11;
  read->material = "PA66";
  const Json again = Json::parse(to_json(*read));
  CHECK(again["version"] == 3);
  CHECK(again["later"] == newer["later"]);
  CHECK(again["part"]["colour"] == "black");
  CHECK(again["part"]["material"] == "PA66");
  REQUIRE(again["features"].size() == 1);
  CHECK(again["features"][0]["texture"] == "fine");
  CHECK(again["features"][0]["circle"]["torsion"] == 4.5);
  CHECK(again["features"][0]["circle"]["diameter_mm"] == 11);
  CHECK(again["features"][0]["harmonics"][0]["confidence"] == 0.9);
  CHECK(again["features"][0]["budget"][1]["degrees_of_freedom"] == 12);
  CHECK(again["original"]["features"][0]["candidates"][1]["catalogue"] == "B");
  CHECK(again["replacement"] == newer["replacement"]);
  CHECK(again["warnings"][0]["since"] == "2031");
}

TEST_CASE("record: the code of a warning that is not known keeps its word", "[record]") {
  Json newer = Json::parse(to_json(full_record()));
  newer["warnings"][0]["code"] = "light-of-the-lamp";
  newer["features"][1]["warnings"][0]["code"] = "dust-on-the-glass";
  newer["replacement"]["cautions"] = {{{"code", "magnets"}, {"text", "Keep the magnets away."}}};
  const auto read = parse_part_record(newer.dump());
  REQUIRE(read);
  CHECK(read->warnings[0].code == WarningCode());
  const Json again = Json::parse(to_json(*read));
  for (const char* place : {"/warnings", "/features/1/warnings", "/replacement/cautions"})
    CHECK(again[Json::json_pointer(place)] == newer[Json::json_pointer(place)]);
}

TEST_CASE("record: a plan made anew leaves nothing of a newer version's plan", "[record]") {
  Json newer = Json::parse(to_json(full_record()));
  newer["later"] = 1;
  newer["replacement"]["balance"] = {{"grade", "G6.3"}};
  auto read = parse_part_record(newer.dump());
  REQUIRE(read);
  plan::ReplacementPlan plan = *read->replacement;
  plan.material_new = "steel";
  put_plan(*read, plan);
  const Json again = Json::parse(to_json(*read));
  CHECK(again["later"] == 1);
  CHECK(again["replacement"]["material_new"] == "steel");
  CHECK_FALSE(again["replacement"].contains("balance"));
}

TEST_CASE("record: a source of uncertainty that is not known keeps its words", "[record]") {
  Json newer = Json::parse(to_json(full_record()));
  newer["features"][1]["budget"][0]["source"] = "light of the lamp";
  const auto read = parse_part_record(newer.dump());
  REQUIRE(read);
  CHECK(read->features[1].budget[0].source == UncertaintySource::kOther);
  CHECK(read->features[1].budget[1].source == UncertaintySource::kScale);
  CHECK(Json::parse(to_json(*read))["features"][1]["budget"] == newer["features"][1]["budget"]);
}

TEST_CASE("record: SHA-256 of the standard's example", "[record]") {
  // FIPS 180-4 example message "abc" and the empty message (values from memory, confirmed by sha256sum).
  CHECK(sha256_hex("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  CHECK(sha256_hex("") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

TEST_CASE("record: SHA-256 of a file is that of its bytes", "[record]") {
  const std::string long_text(100'001, 'a');  // over several blocks
  const auto file = std::filesystem::temp_directory_path() / "rondure-digest-of-a-long-file";
  std::ofstream(file) << long_text;
  CHECK(sha256_of_file(file) == sha256_hex(long_text));
  std::filesystem::remove(file);
  CHECK(sha256_of_file(file) == std::nullopt);
  CHECK(sha256_of_file(std::filesystem::temp_directory_path()) == std::nullopt);
}
