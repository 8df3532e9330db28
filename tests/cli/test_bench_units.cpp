// The page at the bench with inches in front, its limits as they are printed, verdicts of form and run-out, and the
// dialogue on a file of readings that is kept open between two lines.
#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "bench_server.hpp"
#include "demo_files.hpp"
#include "process.hpp"

namespace fs = std::filesystem;
using json = nlohmann::json;

namespace {

json answered(const HttpReply& reply) { return json::parse(reply.body, nullptr, false); }

json row_of(const json& state, const std::string& name) {
  for (const json& row : state["rows"])
    if (row["name"] == name) return row;
  return {};
}

std::string verdict_of(const json& state, const std::string& name) {
  for (const json& one : state["compared"]["features"])
    if (one["name"] == name) return one.value("verdict", "none");
  return "not compared";
}

// A record with a plan, served.
class Planned {
public:
  Planned() {
    fs::copy_file(demo("two-dates/roller-2026.json"), folder.path("r.json"));
    server = std::make_unique<BenchServer>(folder.path());
    server->pair();
    original = server->post("/api/original", json{{"part", "r.json"}, {"on_metal", "bore"}}.dump());
  }
  HttpReply plan(const std::string& unit) const {
    return server->post("/api/plan",
                        json{{"part", "r.json"}, {"shaft", "3.000mm+-0.002mm"}, {"unit", unit}}.dump());
  }
  json fill(const std::string& row, const std::string& figure, const std::string& u = "") const {
    return answered(server->post(
        "/api/sheet", json{{"part", "r.json"}, {"row", row}, {"measured", figure}, {"u", u}}.dump()));
  }
  json sheet() const { return answered(server->get("/api/sheet?part=r.json")); }

  Folder folder;
  std::unique_ptr<BenchServer> server;
  HttpReply original;
};

}  // namespace

TEST_CASE("bench: limits are shown as the check sheet prints them, in mm and inches", "[cli][bench]") {
  const Planned made;
  for (const std::string unit : {"mm", "in"}) {
    REQUIRE(made.plan(unit).status == 200);
    const json limits = answered(made.server->get("/api/limits?part=r.json"));
    const json sheet = made.sheet();
    int compared = 0;
    for (const json& row : sheet["rows"]) {
      const std::string name = row["name"];
      INFO(name);
      CHECK(row["unit"] == unit);
      if (!limits.contains(name)) continue;  // roundness and run-out stand under their size
      CHECK(limits[name][unit]["lower"] == row["lower"]);
      CHECK(limits[name][unit]["upper"] == row["upper"]);
      ++compared;
    }
    CHECK(compared >= 2);
  }
  CHECK(made.server->get("/api/limits?part=none.json").status == 404);
  CHECK(made.server->get("/api/limits?part=..%2Fr.json").status == 400);
}

TEST_CASE("bench: figures on the check sheet go into the unit of a new plan", "[cli][bench]") {
  const Planned made;
  REQUIRE(made.plan("mm").status == 200);
  made.fill("outside", "12.491", "0.002");
  REQUIRE(verdict_of(made.sheet(), "outside") == "within");
  REQUIRE(made.plan("in").status == 200);
  const json row = row_of(made.sheet(), "outside");
  CHECK(row["unit"] == "in");
  CHECK(std::stod(row["measured"].get<std::string>()) * 25.4 == Approx(12.491).margin(2e-5));
  CHECK(std::stod(row["u"].get<std::string>()) * 25.4 == Approx(0.002).margin(2e-5));
  CHECK(verdict_of(made.sheet(), "outside") == "within");
  REQUIRE(made.plan("mm").status == 200);
  CHECK(std::stod(row_of(made.sheet(), "outside")["measured"].get<std::string>()) ==
        Approx(12.491).margin(2e-5));
}

TEST_CASE("bench: roundness and run-out have verdicts of their own, with no size typed", "[cli][bench]") {
  const Planned made;
  REQUIRE(made.plan("mm").status == 200);
  const double limit = std::stod(row_of(made.sheet(), "outside run-out")["upper"].get<std::string>());
  const auto text = [](double mm) { return std::to_string(mm).substr(0, 6); };
  CHECK(verdict_of(made.fill("outside run-out", text(2 * limit), "0.001"), "outside run-out") == "outside");
  CHECK(verdict_of(made.fill("outside roundness", text(0.3 * limit), "0.001"), "outside roundness") ==
        "within");
  CHECK(verdict_of(made.fill("outside run-out", text(0.3 * limit), "0.001"), "outside run-out") == "within");
  CHECK(verdict_of(made.fill("outside run-out", text(limit), "0.004"), "outside run-out") == "cannot tell");
}

TEST_CASE("bench: what the bench file says is told to the page, and inches stand first in the report",
          "[cli][bench]") {
  const Folder folder;
  fs::copy_file(demo("two-dates/roller-2026.json"), folder.path("r.json"));
  folder.write("bench.toml", "unit = \"in\"\nboard = \"9x6\"\nsquare = \"5mm\"\n");
  BenchServer server(folder.path());
  server.pair();
  const json all = answered(server.get("/api/parts"));
  CHECK(all["bench"]["unit"] == "in");
  CHECK(all["bench"]["board"] == "9x6");
  const std::string in_inches = all["parts"][0]["sentence_in"], in_mm = all["parts"][0]["sentence"];
  CHECK(in_inches.find(" in (") != std::string::npos);
  CHECK(in_mm.find(" mm (") != std::string::npos);
  const std::string in = server.get("/api/report?file=r.json&unit=in").body,
                    mm = server.get("/api/report?file=r.json&unit=mm").body;
  CHECK(in.find("outside 0.48748 \u00b1 0.00003 in (12.3820 ") != std::string::npos);
  CHECK(mm.find("outside 12.3820 \u00b1 0.0008 mm (0.48748 ") != std::string::npos);
  CHECK(server.get("/api/report?file=r.json&unit=furlong").status == 422);
}

TEST_CASE("bench: readings go on where they were, and are taken anew when somebody changed the file",
          "[cli][bench]") {
  const Folder folder;
  BenchServer server(folder.path());
  server.pair();
  const auto type = [&](const std::string& line) {
    return answered(server.post("/api/readings", json{{"file", "r.csv"}, {"line", line}}.dump()));
  };
  for (const char* line : {"10 0", "0 10", "-10 0", "0 -10", "7.0711 7.0711"}) type(line);
  // the answer of the open dialogue is that of the file
  json now = type("-7.0711 -7.0711");
  const json read_again = answered(server.get("/api/readings?file=r.csv"));
  CHECK(now["record"] == read_again["record"]);
  CHECK(now["text"] == read_again["text"]);
  // a line added by hand counts
  { std::ofstream(folder.path("r.csv"), std::ios::app) << "-7.0711,7.0711\n"; }
  now = type("7.0711 -7.0711");
  CHECK(now["answer"].get<std::string>().starts_with("8 kept"));
  CHECK(now["record"] == answered(server.get("/api/readings?file=r.csv"))["record"]);
  // a line that was taken out by hand stays out, nothing comes back
  std::string text = folder.read("r.csv");
  text.erase(text.find("0,10\n"), 5);
  folder.write("r.csv", text);
  now = type("0 10.001");
  CHECK(now["text"].get<std::string>().find("\n0,10\n") == std::string::npos);
  CHECK(folder.names().size() == 1);
  // a file that is gone begins anew
  fs::remove(folder.path("r.csv"));
  now = type("1 2");
  CHECK(now["answer"].get<std::string>().starts_with("1 kept"));
  CHECK(folder.read("r.csv").find("10,0") == std::string::npos);
  // a line that is refused changes nothing, the next is taken
  CHECK(server.post("/api/readings", json{{"file", "r.csv"}, {"line", "what 1"}}.dump()).status == 422);
  CHECK(type("3 4")["answer"].get<std::string>().starts_with("2 kept"));
}
