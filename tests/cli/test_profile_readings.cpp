// A profile read by hand along the axis: record takes it, fit cuts it as a side view is cut.
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>
#include <random>

#include "process.hpp"

namespace {

using Catch::Contains;

struct TypedAlong {
  double z_mm, r_mm;
};

// Two flanges of diameter 14 with a crown of R 12.94 over 6 mm between them, 9 mm long, faces read too.
std::vector<TypedAlong> typed_roller() {
  std::vector<TypedAlong> out;
  for (const double r : {6.2, 6.45, 6.7, 6.9}) out.push_back({0, r});
  for (const double z : {0.2, 0.5, 0.8, 1.1, 1.3}) out.push_back({z, 7});
  for (const double r : {6.85, 6.6, 6.35}) out.push_back({1.5, r});
  const double center = 6 - std::sqrt(12.94 * 12.94 - 9);
  for (int k = 0; k < 13; ++k) {
    const double z = 1.75 + 5.5 * k / 12;
    out.push_back({z, center + std::sqrt(12.94 * 12.94 - (z - 4.5) * (z - 4.5))});
  }
  for (const double r : {6.35, 6.6, 6.85}) out.push_back({7.5, r});
  for (const double z : {7.7, 8.0, 8.3, 8.6, 8.8}) out.push_back({z, 7});
  for (const double r : {6.9, 6.7, 6.45, 6.2}) out.push_back({9, r});
  return out;
}

// As a comparator is read: 0.001 mm, scattered by 0.001 mm.
std::string lines(const std::vector<TypedAlong>& points, double times, double plus) {
  std::mt19937 random(5);
  std::normal_distribution<double> noise(0, 0.001);
  std::string text;
  for (const TypedAlong& p : points) {
    char line[64];
    std::snprintf(line, sizeof line, "%.3f %.3f\n", p.z_mm + noise(random),
                  times * (p.r_mm + noise(random)) + plus);
    text += line;
  }
  return text;
}

nlohmann::json profile_in(const std::string& file) {
  std::ifstream in(file);
  return nlohmann::json::parse(in).at("profile");
}

std::string kinds(const nlohmann::json& profile) {
  std::string text;
  for (const auto& s : profile.at("segments")) text += s.at("kind").get<std::string>() + " ";
  return text;
}

constexpr const char* kRollerPieces = "face cylinder face arc face cylinder face ";

}  // namespace

TEST_CASE("record --along: crown, flanges and width in one session, into the record",
          "[cli][record][profile]") {
  for (const auto& [word, times] : {std::pair{"radius", 1.0}, {"diameter", 2.0}}) {
    INFO(word);
    const Folder folder;
    RunOptions options;
    options.in = lines(typed_roller(), times, 0) + "quit\n";
    const Run run = rondure_run(
        {"record", folder.path("r.csv"), "--along", word, "--save", folder.path("part.json")}, options);
    INFO(run.out << run.err);
    REQUIRE(run.exit_code == 0);
    CHECK_THAT(run.out, Contains("pieces so far: face cylinder (14.00"));
    CHECK_THAT(run.out, Contains("face arc (R 12.9"));
    const auto profile = profile_in(folder.path("part.json"));
    REQUIRE(kinds(profile) == kRollerPieces);
    const auto& crown = profile.at("segments").at(3);
    const double u = crown.at("u_radius_mm");
    CHECK(std::abs(crown.at("radius_mm").get<double>() - 12.94) < 2.5 * u);
    CHECK(u < 0.07);  // 0.043 were the scatter known: R^2 sigma sqrt(720 / n) / chord^2
    CHECK(std::abs(crown.at("width_mm").get<double>() - 6) < 0.003);
    CHECK(std::abs(profile.at("length_mm").get<double>() - 9) < 0.003);
    CHECK(std::abs(profile.at("segments").at(1).at("diameter_mm").get<double>() - 14) < 0.003);
    // The file is taken up again, and fitted, as what it is.
    options.in = "quit\n";
    CHECK_THAT(rondure_run({"record", folder.path("r.csv")}, options).out, Contains("readings"));
    const Run fit = rondure_run({"fit", folder.path("r.csv"), "--save", folder.path("again.json")});
    REQUIRE(fit.exit_code == 0);
    CHECK(profile_in(folder.path("again.json")).at("segments") == profile.at("segments"));
  }
}

TEST_CASE("fit --along edge: read from anywhere, widths and crown but no diameter", "[cli][fit][profile]") {
  const Folder folder;
  const std::string file = folder.write("edge.csv", lines(typed_roller(), 1, 31.4));
  const Run run = rondure_run({"fit", file, "--along", "edge", "--save", folder.path("part.json")});
  INFO(run.out << run.err);
  REQUIRE(run.exit_code == 0);
  const auto profile = profile_in(folder.path("part.json"));
  REQUIRE(kinds(profile) == kRollerPieces);
  for (const auto& s : profile.at("segments")) CHECK_FALSE(s.contains("diameter_mm"));
  CHECK(std::abs(profile.at("segments").at(3).at("radius_mm").get<double>() - 12.94) < 0.1);
  CHECK_THAT(run.out, Contains("no diameters"));
}

TEST_CASE("fit --along: a crown alone, and flanks whose step nobody read", "[cli][fit][profile]") {
  const Folder folder;
  const auto all = typed_roller();
  const std::string crown = folder.write("crown.csv", lines({all.begin() + 12, all.begin() + 25}, 1, 0));
  const Run one = rondure_run({"fit", crown, "--along", "radius", "--save", folder.path("crown.json")});
  INFO(one.out << one.err);
  REQUIRE(one.exit_code == 0);
  CHECK(kinds(profile_in(folder.path("crown.json"))) == "arc ");
  std::vector<TypedAlong> open;
  for (const TypedAlong& p : all)
    if (p.z_mm != 0 && p.z_mm != 1.5 && p.z_mm != 7.5 && p.z_mm != 9) open.push_back(p);
  const std::string file = folder.write("open.csv", lines(open, 1, 0));
  const Run run = rondure_run({"fit", file, "--along", "radius", "--save", folder.path("open.json")});
  REQUIRE(run.exit_code == 0);
  const auto profile = profile_in(folder.path("open.json"));
  REQUIRE(kinds(profile) == "cylinder arc cylinder ");
  const auto& width = profile.at("segments").at(1);
  CHECK(width.at("u_width_mm").get<double>() > 0.1);  // the step lies anywhere within 0.45 mm, at either end
  CHECK(std::abs(width.at("width_mm").get<double>() - 6) < 2 * width.at("u_width_mm").get<double>());
}

TEST_CASE("profile readings: what is none is refused in one line", "[cli][record][profile]") {
  const Folder folder;
  const auto refused = [&](const std::string& text, const std::string& along, const std::string& says) {
    const Run run = rondure_run({"fit", folder.write("bad.csv", text), "--along", along});
    INFO(run.err);
    CHECK(run.exit_code != 0);
    CHECK(run.out == "");
    CHECK(run.one_line_on_error());
    CHECK_THAT(run.err, Contains(says));
  };
  refused("0 5\n1 5\n2 5\n", "radius", "found 3 readings of a profile");
  refused("0 5\n1 5\n2 5\n0 5\n1 5\n2 5\n", "radius", "to the left of earlier ones");
  refused("0 5\n1 -5\n2 5\n3 5\n4 5\n", "radius", "below 0");
  refused("0 5\n1 5\n", "height", "needed radius, diameter or edge");
  const Run other = rondure_run({"record", folder.write("round.csv", "1,2\n3,4\n"), "--along", "radius"});
  CHECK(other.exit_code != 0);
  CHECK_THAT(other.err, Contains("round an outline"));
}
