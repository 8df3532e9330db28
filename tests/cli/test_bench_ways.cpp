// Other ways of taking a picture at the bench, on its side and on a scanner, and two records side by side: the answers
// are those of the commands.
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "bench_server.hpp"
#include "demo_files.hpp"
#include "process.hpp"
#include "web_driver.hpp"

namespace fs = std::filesystem;
using json = nlohmann::json;

namespace {

json features_by_command(std::vector<std::string> arguments) {
  arguments.insert(arguments.begin(), "measure");
  arguments.insert(arguments.end(), {"--json", "-"});
  return json::parse(rondure_run(arguments).out);
}

std::string reflowed(Browser& browser) {
  return browser.run("return document.documentElement.scrollWidth > 360 ? 'wider than the screen' : ''")
      .get<std::string>();
}

}  // namespace

TEST_CASE("bench: a side view and a scan are measured as by the command", "[cli][bench]") {
  const Folder folder;
  for (const char* name : {"roller-side.jpg", "scan_idler.png"}) fs::copy_file(demo(name), folder.path(name));
  BenchServer server(folder.path());
  server.pair();
  const json side{{"picture", "roller-side.jpg"}, {"scale", "60.00px/mm+-0.02"}, {"side", "yes"},
                  {"distance", "200mm"},          {"profile", "rim,hub"},        {"part", "side.json"}};
  const HttpReply kept = server.post("/api/measure", side.dump());
  REQUIRE(kept.status == 200);
  const json found = json::parse(kept.body),
             command =
                 features_by_command({folder.path("roller-side.jpg"), "--side", "--scale", "60.00px/mm+-0.02",
                                      "--distance", "200mm", "--profile", "rim,hub"});
  CHECK(found["record"]["profile"] == command["profile"]);
  CHECK(found["outlines"]["edges"].size() == 1);
  CHECK(found["outlines"]["edges"][0]["outline_px"].size() > 500);
  CHECK(json::parse(server.get("/api/part?file=side.json").body)["profile"]["segments"].size() ==
        command["profile"]["segments"].size());

  const HttpReply scanned =
      server.post("/api/measure", json{{"picture", "scan_idler.png"}, {"scan", "as the file says"}}.dump());
  REQUIRE(scanned.status == 200);
  CHECK(json::parse(scanned.body)["record"]["features"][0]["circle"] ==
        features_by_command({folder.path("scan_idler.png"), "--scan"})["features"][0]["circle"]);
  const HttpReply stated =
      server.post("/api/measure", json{{"picture", "scan_idler.png"}, {"scan", "1200dpi"}}.dump());
  CHECK(json::parse(stated.body)["record"]["features"][0]["circle"] ==
        features_by_command({folder.path("scan_idler.png"), "--scan=1200dpi"})["features"][0]["circle"]);
  // the command would take a file's name there for one more picture: here it is refused
  for (const json& hostile : {json{{"picture", "scan_idler.png"}, {"scan", demo("roller.jpg")}},
                              json{{"picture", "scan_idler.png"}, {"scan", "roller-side.jpg"}},
                              json{{"picture", "scan_idler.png"}, {"board", "../board.json"}}})
    CHECK(server.post("/api/measure", hostile.dump()).status == 400);
}

TEST_CASE("bench: two records are compared as by the command, what is missing is said without its place",
          "[cli][bench]") {
  const Folder folder;
  for (const char* name : {"roller-2014.json", "roller-2026.json"})
    fs::copy_file(demo(std::string("two-dates/") + name), folder.path(name));
  BenchServer server(folder.path());
  server.pair();
  const HttpReply compared =
      server.get("/api/compare?part=roller-2014.json&other=roller-2026.json&tolerance=0.02mm&unit=mm");
  REQUIRE(compared.status == 200);
  const std::string text = json::parse(compared.body)["text"];
  CHECK(text.find("smaller, within") != std::string::npos);
  CHECK(text.find(folder.path()) == std::string::npos);
  CHECK(server.get("/api/compare?part=roller-2014.json&other=../x.json").status == 400);
  CHECK(server.get("/api/compare?part=roller-2014.json&other=roller-2026.json&tolerance=wide").status == 422);
  for (const std::string where :
       {"part?file=none.json", "limits?part=none.json", "picture?file=none.jpg", "report?file=none.json",
        "sheet?part=none.json", "readings?file=none.csv", "compare?part=none.json&other=none.json"})
    CHECK(server.get("/api/" + where).body.find(folder.path()) == std::string::npos);
  CHECK(server.get("/api/part?file=none.json").status == 404);
}

// Every field of the page that names an option of a command reaches it: the record is what the command makes of it.
TEST_CASE("bench: what is said of a size and of readings reaches the commands", "[cli][bench]") {
  const Folder page, by_hand;
  for (const Folder* folder : {&page, &by_hand})
    for (const char* name : {"roller-2026.json", "outside-2026.csv", "stage.json"})
      fs::copy_file(demo(std::string("two-dates/") + name), folder->path(name));
  const auto record = [](const Folder& folder) {
    std::ifstream in(folder.path("roller-2026.json"));
    json read = json::parse(in);
    for (json& feature : read["features"]) feature["source"].erase("time"), feature["source"].erase("file");
    return read;
  };
  BenchServer server(page.path());
  server.pair();
  REQUIRE(server
              .post("/api/add", json{{"part", "roller-2026.json"},
                                     {"name", "rim"},
                                     {"at", "0\n60\n120"},
                                     {"sizes", "12.40mm 12.41mm 12.39mm"},
                                     {"same", "rims"}}
                                    .dump())
              .status == 200);
  REQUIRE(rondure_run({"add", by_hand.path("roller-2026.json"), "rim", "12.40mm", "12.41mm", "12.39mm",
                       "--at", "0", "--at", "60", "--at", "120", "--same", "rims"})
              .exit_code == 0);
  CHECK(record(page) == record(by_hand));
  REQUIRE(server
              .post("/api/add", json{{"part", "roller-2026.json"},
                                     {"name", "hub"},
                                     {"sizes", "9.95mm"},
                                     {"called", "drum"},
                                     {"mark", "K 4"},
                                     {"date", "1974"},
                                     {"note", "left"}}
                                    .dump())
              .status == 200);
  REQUIRE(rondure_run({"add", by_hand.path("roller-2026.json"), "hub", "9.95mm", "--part", "drum", "--mark",
                       "K 4", "--date", "1974", "--note", "left"})
              .exit_code == 0);
  CHECK(record(page) == record(by_hand));
  REQUIRE(server
              .post("/api/keep", json{{"file", "outside-2026.csv"},
                                      {"part", "roller-2026.json"},
                                      {"feature", "q"},
                                      {"calibration", "stage.json"},
                                      {"temperature", "30C"},
                                      {"material", "POM-C"}}
                                     .dump())
              .status == 200);
  REQUIRE(rondure_run({"fit", by_hand.path("outside-2026.csv"), "--save", by_hand.path("roller-2026.json"),
                       "--feature", "q", "--calibration", by_hand.path("stage.json"), "--temperature", "30C",
                       "--material", "POM-C"})
              .exit_code == 0);
  const auto last = [&](const Folder& folder) { return record(folder)["features"].back()["circle"]; };
  CHECK(last(page) == last(by_hand));
}

TEST_CASE("bench in a browser: a part on its side and a scan, on a phone", "[cli][bench][browser][repeats]") {
  const Folder folder;
  BenchServer server(folder.path());
  Browser browser(360, 740, true);
  browser.go(server.address());
  browser.press("Take a photograph");
  browser.type("#f-file", demo("roller-side.jpg"));
  browser.until("document.querySelector('#f-way')");
  const auto way = [&](const std::string& value) {
    browser.run(
        "const s = document.querySelector('#f-way'); s.value = arguments[0]; "
        "s.dispatchEvent(new Event('change'))",
        {value});
  };
  way("side");
  browser.type("#f-scale", "60.00px/mm+-0.02");
  browser.type("#f-distance", "200mm");
  browser.type("#f-profile", "rim,hub");
  browser.press("Measure");
  browser.until("document.querySelector('svg.profile') && document.querySelectorAll('.edge').length === 1");
  CHECK(browser.text(".side").find("12.94") != std::string::npos);  // radius of the crown
  CHECK(browser.text(".side").find("5.9729") != std::string::npos);
  CHECK(reflowed(browser) == "");
  browser.type("#f-part", "roller.json");
  browser.press("Keep in the record");
  browser.until("document.querySelector('.tabs') && document.querySelector('svg.profile')");
  CHECK(reflowed(browser) == "");
  browser.go("http://" + server.host() + "/#/photo");
  browser.type("#f-file", demo("scan_idler.png"));
  browser.until("location.hash === '#/photo/scan_idler.png' && document.querySelector('#f-way')");
  browser.run("document.querySelector('#f-way').closest('details').open = true");
  way("scan");
  CHECK(browser.run("return document.querySelector('#f-board').checkVisibility()") == false);
  browser.until(
      "document.querySelectorAll('.edge').length > 0 && "
      "document.querySelector('.edge-row').innerText.includes('15.91')");
}
