// The page at the bench at work: edges of a photograph, evidence, plan and check sheet, readings from two sides, work
// that is stopped, and who else is let in.
#include <catch2/catch.hpp>
#include <chrono>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <functional>
#include <nlohmann/json.hpp>
#include <sstream>
#include <thread>

#include "bench_server.hpp"
#include "demo_files.hpp"
#include "dialogue.hpp"
#include "process.hpp"

namespace fs = std::filesystem;
using json = nlohmann::json;

namespace {

json answer(const HttpReply& reply) { return json::parse(reply.body, nullptr, false); }

std::string reading(int i) {
  std::ostringstream text;
  text.precision(4);
  text << std::fixed << 20 + 6.2 * std::cos(0.3 * i) << ' ' << 15 + 6.2 * std::sin(0.3 * i);
  return text.str();
}

std::vector<std::string> standing(const fs::path& file) {
  std::ifstream in(file);
  std::vector<std::string> all;
  for (std::string line; std::getline(in, line);)
    if (!line.empty() && line[0] != '#') all.push_back(line);
  return all;
}

json measure_roller(BenchServer& server, json more = json::object()) {
  json fields{{"picture", "roller.jpg"}, {"board", "9x6"}, {"square", "5mm"}, {"height", "6mm"}};
  fields.update(more);
  return answer(server.post("/api/measure", fields.dump()));
}

// What a question is answered that another thread stops as soon as it is known under the name "j1"; asked again, at most
// four times, where the answer was there before the word to stop (404: no such work any more).
HttpReply stopped_in_the_middle(
    BenchServer& server, const std::function<HttpReply()>& ask,
    const std::function<void()>& meanwhile = [] {}) {
  HttpReply reply;
  int heard = 404;
  for (int tries = 0; tries < 5 && heard == 404; ++tries) {
    std::thread at_work([&] { reply = ask(); });
    json state;
    for (int i = 0; i < 400 && !state.contains("passed_s"); ++i) {
      state = answer(server.get("/api/progress?job=j1"));
      std::this_thread::sleep_for(std::chrono::milliseconds(1));
    }
    meanwhile();
    heard = server.post("/api/stop", json{{"job", "j1"}}.dump()).status;
    at_work.join();
  }
  CHECK(heard == 200);
  return reply;
}

}  // namespace

TEST_CASE("bench: edges of a photograph are named, left out in part and brought back", "[cli][bench]") {
  const Folder folder;
  fs::copy_file(demo("roller.jpg"), folder.path("roller.jpg"));
  BenchServer server(folder.path());
  server.pair();
  const json found = measure_roller(server);
  REQUIRE(found["outlines"]["edges"].size() == 3);
  CHECK(found["outlines"]["edges"][1]["found_as"] == "hub step");
  const json chosen = measure_roller(server, {{"call", "hub step=foot"},
                                              {"leave_out", "outside@180.0..230.0\noutside@300..310"},
                                              {"part", "r.json"}});
  CHECK(chosen["outlines"]["edges"].size() == 2);
  CHECK(chosen["outlines"]["not_the_part"][0]["called"] == "foot");
  CHECK(chosen["record"]["features"][0]["excluded"].size() == 3);  // two by hand, and the nib
  CHECK(answer(server.get("/api/part?file=r.json"))["features"].size() == 2);
  const HttpReply none = server.post(
      "/api/measure", json{{"picture", "roller.jpg"}, {"board", "30x20"}, {"square", "5mm"}}.dump());
  CHECK(none.status == 422);
  CHECK(answer(none)["outlines"]["corners_px"].size() >= 54);
}

TEST_CASE("bench: several photographs of one part, at rest or turned, by the same command", "[cli][bench]") {
  const Folder folder;
  for (const char* name : {"a.jpg", "b.jpg"}) fs::copy_file(demo("roller.jpg"), folder.path(name));
  const Folder outside;
  fs::copy_file(demo("roller.jpg"), outside.path("secret.jpg"));
  BenchServer server(folder.path());
  server.pair();
  const json asked{{"picture", "a.jpg"}, {"others", "b.jpg"}, {"board", "9x6"},
                   {"square", "5mm"},    {"height", "6mm"},   {"several", "turned"}};
  const auto with = [&](const json& more) {
    json fields = asked;
    fields.update(more);
    return server.post("/api/measure", fields.dump());
  };
  // the same picture twice is a part that was not turned: said as the command says it
  const Run by_hand = rondure_run({"measure", folder.path("a.jpg"), folder.path("b.jpg"), "--board", "9x6",
                                   "--square", "5mm", "--height", "6mm", "--turned=0,72", "--json", "-"});
  const HttpReply turned = with({{"angles", "0,72"}});
  CHECK(turned.status == (by_hand.exit_code == 0 ? 200 : 422));
  if (by_hand.exit_code == 0)
    CHECK(answer(turned)["record"]["features"][0]["circle"] ==
          json::parse(by_hand.out)["features"][0]["circle"]);
  // neither an angle nor a further photograph is a way out of the folder
  CHECK(with({{"angles", outside.path("secret.jpg")}}).status == 400);
  CHECK(with({{"others", outside.path("secret.jpg")}}).status == 400);
  CHECK(with({{"others", "../secret.jpg"}}).status == 400);
  CHECK(with({{"others", "b.jpg\n--save=x.json"}}).status == 400);
  CHECK(folder.names().size() == 2);
}

TEST_CASE("bench: who comes second is told, and nothing of the first is lost", "[cli][bench]") {
  const Folder folder;
  fs::copy_file(demo("two-dates/roller-2026.json"), folder.path("r.json"));
  BenchServer server(folder.path());
  server.pair();
  const HttpReply seen = server.get("/api/part?file=r.json");
  const auto at = seen.head.find("ETag: \"") + 7;
  const std::string revision = seen.head.substr(at, 16);
  // a command writes the record meanwhile
  REQUIRE(rondure_run({"add", folder.path("r.json"), "hub", "9.95mm"}).exit_code == 0);
  const json fields{{"part", "r.json"}, {"material", "POM-C"}, {"seen", revision}};
  const HttpReply refused = server.post("/api/original", fields.dump());
  CHECK(refused.status == 409);
  CHECK(refused.body.find("changed elsewhere") != std::string::npos);
  CHECK_FALSE(answer(server.get("/api/part?file=r.json")).contains("original"));
  CHECK(server.post("/api/original", json{{"part", "r.json"}, {"material", "POM-C"}}.dump()).status == 200);
  const json now = answer(server.get("/api/part?file=r.json"));
  CHECK(now.contains("original"));
  CHECK(now["features"].back()["name"] == "hub");
}

TEST_CASE("bench: a plan's check sheet is kept as it is filled in, its verdicts are those of 'compare'",
          "[cli][bench]") {
  const Folder folder;
  fs::copy_file(demo("two-dates/roller-2026.json"), folder.path("r.json"));
  BenchServer server(folder.path());
  server.pair();
  CHECK(answer(server.get("/api/sheet?part=r.json"))["rows"].empty());
  REQUIRE(server.post("/api/original", json{{"part", "r.json"}, {"on_metal", "bore"}}.dump()).status == 200);
  const json make{{"part", "r.json"},
                  {"shaft", "3.000mm+-0.002mm"},
                  {"fit", "bore=H7/s6"},
                  {"material_new", "brass"},
                  {"choose", "outside=12.5mm"}};
  const HttpReply planned = server.post("/api/plan", make.dump());
  REQUIRE(planned.status == 200);
  CHECK(server.get("/api/drawing?id=" + answer(planned)["drawing"].get<std::string>()).body.find("<svg") !=
        std::string::npos);
  const auto fill = [&](const std::string& row, const std::string& figure) {
    return server.post("/api/sheet", json{{"part", "r.json"}, {"row", row}, {"measured", figure}}.dump());
  };
  const json within = answer(fill("outside", "12,491"));
  CHECK(within["rows"][1]["measured"] == "12.491");
  const Run compared =
      rondure_run({"compare", folder.path("r.json"), folder.path("r-check.csv"), "--json", "-"});
  CHECK(within["compared"]["features"][0]["verdict"] == json::parse(compared.out)["features"][0]["verdict"]);
  CHECK(within["compared"]["features"][0]["verdict"] == "within");
  CHECK(answer(fill("outside", "12.60"))["compared"]["features"][0]["verdict"] == "outside");
  CHECK(fill("outside", "about 12").status == 422);
  CHECK(fill("no such row", "1").status == 422);
  // 2026-11, found by fuzzing: without its column a figure went into the row's last cell
  const std::string sheet = folder.read("r-check.csv");
  const std::string no_columns = "name,kind,target\noutside,outside,12.5,,,\n";
  folder.write("r-check.csv", no_columns);
  CHECK(fill("outside", "12.49").status == 422);
  CHECK(folder.read("r-check.csv") == no_columns);
  folder.write("r-check.csv", sheet);
  // another plan lays a new sheet and carries the figures over
  REQUIRE(server.post("/api/plan", make.dump()).status == 200);
  CHECK(answer(server.get("/api/sheet?part=r.json"))["rows"][1]["measured"] == "12.60");
}

TEST_CASE("bench: 'record' and the page write one file at once, and nothing is lost", "[cli][bench]") {
  const Folder folder;
  BenchServer server(folder.path());
  server.pair();
  const fs::path file = fs::path(folder.path()) / "r.csv";
  const auto type = [&](const std::string& line) {
    return server.post("/api/readings", json{{"file", "r.csv"}, {"line", line}}.dump());
  };
  Dialogue desk({"record", file.string()});
  int by_page = 0, by_desk = 0;
  std::thread page([&] {
    for (int i = 0; i < 12; ++i) by_page += type(reading(i)).status == 200;
  });
  for (int i = 12; i < 24; ++i) by_desk += desk.ask(reading(i)).find(" kept") != std::string::npos;
  page.join();
  CHECK(by_page == 12);
  CHECK(by_desk == 12);
  CHECK(standing(file).size() == 24);
  // what was seen before the other wrote is not good for a change, but good for a reading
  const json before = answer(server.get("/api/readings?file=r.csv"));
  desk.ask(reading(24));
  const auto late = [&](const std::string& line) {
    return server.post("/api/readings",
                       json{{"file", "r.csv"}, {"line", line}, {"seen", before["revision"]}}.dump());
  };
  CHECK(late("undo").status == 409);
  CHECK(standing(file).size() == 25);
  const HttpReply kept = late(reading(25));
  CHECK(kept.status == 200);
  CHECK(kept.body.find("elsewhere") != std::string::npos);
  CHECK(standing(file).size() == 26);
  desk.end();
  CHECK(fs::directory_iterator(folder.path()) != fs::directory_iterator());
  CHECK_FALSE(fs::exists(folder.path("r.kept-1.csv")));
}

TEST_CASE("bench: other kinds of reading, and where the next one helps", "[cli][bench]") {
  const Folder folder;
  BenchServer server(folder.path());
  server.pair();
  json state;
  const auto type = [&](const std::string& line) {
    state = answer(server.post("/api/readings", json{{"file", "r.csv"}, {"line", line}}.dump()));
    return state["answer"].get<std::string>();
  };
  for (int i = 0; i < 8; ++i) CHECK(type(reading(i)).find(" kept") != std::string::npos);
  CHECK(state["next_deg"].get<double>() > 130);  // 0 to 120 degrees have been read
  CHECK(type("two-point 12.401 at 30").find(" kept") != std::string::npos);
  CHECK(type("chord 10.000 sagitta 2.534").find(" kept") != std::string::npos);
  CHECK(type("note burr at the gate") == "noted");
  CHECK(type("delete 3").find("3 is out") != std::string::npos);
  CHECK(state["text"].get<std::string>().find("# deleted: ") != std::string::npos);
}

TEST_CASE("bench: work tells how far it is and is stopped, others are answered meanwhile", "[cli][bench]") {
  const Folder folder;
  for (int i = 0; i < 3; ++i)
    fs::copy_file(demo("roller.jpg"), folder.path("p" + std::to_string(i) + ".jpg"));
  BenchServer server(folder.path());
  server.pair();
  CHECK(answer(server.get("/api/progress?job=none"))["over"] == true);
  CHECK(server.post("/api/stop", json{{"job", "none"}}.dump()).status == 404);
  const HttpReply measured = stopped_in_the_middle(
      server,
      [&] {
        return server.post(
            "/api/measure",
            json{
                {"picture", "p0.jpg"}, {"board", "9x6"}, {"square", "5mm"}, {"part", "p.json"}, {"job", "j1"}}
                .dump());
      },
      [&] { CHECK(server.get("/api/parts").status == 200); });
  CHECK(measured.status == 422);
  CHECK(measured.body.find("stopped") != std::string::npos);
  CHECK_FALSE(fs::exists(folder.path("p.json")));
}

// Two records of 200,000 points each take a second; those of a part some hundredths.
TEST_CASE("bench: a comparison and the page to print tell how far they are and are stopped", "[cli][bench]") {
  const Folder folder;
  fs::copy_file(demo("two-dates/roller-2014.json"), folder.path("small.json"));
  std::ifstream in(folder.path("small.json"));
  json record = json::parse(in);
  json& profile = record["features"][0]["profile"];
  for (int i = int(profile.size()); i < 200000; ++i)
    profile.push_back({{"angle_deg", i * 360e-6}, {"deviation_mm", 1e-3}});
  folder.write("r.json", record.dump());
  BenchServer server(folder.path());
  server.pair();
  for (const bool page : {false, true}) {
    INFO(page);
    const HttpReply stopped = stopped_in_the_middle(server, [&] {
      return page ? server.post("/api/report", json{{"part", "r.json"}, {"job", "j1"}}.dump())
                  : server.get("/api/compare?part=r.json&other=small.json&turn=auto&job=j1");
    });
    CHECK(stopped.status == 422);
    CHECK(stopped.body.find("stopped") != std::string::npos);
  }
  RunOptions told;
  told.prepare = [] { setenv("RONDURE_PROGRESS", "1", 1); };
  CHECK(rondure_run({"report", folder.path("small.json"), "-o", folder.path("page.html")}, told)
            .err.find("progress: 1.000 0.0") != std::string::npos);
  // a page that was drawn up is shown once, then it is drawn up again
  const json drawn = answer(server.post("/api/report", json{{"part", "small.json"}, {"unit", "in"}}.dump()));
  const std::string address = "/api/report?file=small.json&unit=mm&drawn=" + drawn["page"].get<std::string>();
  const std::string first = server.get(address).body, again = server.get(address).body;
  CHECK(first.find("<html") != std::string::npos);
  CHECK(first != again);  // inches in front in the one, millimetres in the other
  CHECK(server.post("/api/report", json{{"part", "none.json"}}.dump()).status == 422);
}

TEST_CASE("bench: slow and endless requests are cut off", "[cli][bench]") {
  const Folder folder;
  BenchServer server(folder.path(), {"--patience", "1"});
  server.pair();
  const std::string head =
      "GET /api/parts HTTP/1.1\r\nHost: " + server.host() + "\r\nCookie: " + server.cookie() + "\r\n";
  const auto begun = std::chrono::steady_clock::now();
  // a byte now and then, for ever
  CHECK(server.drip(head + std::string(1000, 'X'), 100, 60) < 30);
  // a head without an end
  std::string endless = head;
  for (int i = 0; i < 4000; ++i) endless += "X-" + std::to_string(i) + ": " + std::string(30, 'a') + "\r\n";
  CHECK(server.raw(endless).status / 100 != 2);
  // a body that does not come
  CHECK(server.raw("POST /api/readings HTTP/1.1\r\nHost: " + server.host() +
                   "\r\nCookie: " + server.cookie() + "\r\nOrigin: http://" + server.host() +
                   "\r\nContent-Type: application/json\r\nContent-Length: 100\r\n\r\n{\"file\"")
                .status /
            100 !=
        2);
  CHECK(std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count() < 20);
  CHECK(server.get("/api/parts").status == 200);
  CHECK(fs::is_empty(folder.path()));
}

TEST_CASE("bench: each device pairs once with a key of its own, and is dismissed by its number",
          "[cli][bench]") {
  const Folder folder;
  BenchServer server(folder.path());
  server.pair();
  const json one = answer(server.get("/api/devices"));
  REQUIRE(one["devices"].size() == 1);
  CHECK(one["devices"][0]["this"] == true);
  const std::string first = server.cookie(), next = one["next"];
  CHECK(next.substr(next.find("key=")) != "key=" + server.key());
  server.pair(next.substr(next.find("key=") + 4));
  CHECK(server.cookie() != first);
  CHECK(answer(server.get("/api/devices"))["devices"].size() == 2);
  CHECK(server.post("/api/devices", json{{"number", "1"}}.dump()).status == 200);
  CHECK(server.post("/api/devices", json{{"number", "1"}}.dump()).status == 404);
  CHECK(server.post("/api/devices", json{{"number", "x"}}.dump()).status == 404);
  CHECK(server.get("/api/parts").status == 200);
  CHECK(server
            .raw("GET /api/parts HTTP/1.1\r\nHost: " + server.host() + "\r\nCookie: " + first +
                 "\r\nConnection: close\r\n\r\n")
            .status == 403);
}

TEST_CASE("bench: with a certificate of the user's the page is encrypted", "[cli][bench]") {
  const Folder folder;
  const std::string key = folder.path("k.pem"), certificate = folder.path("c.pem");
  const std::string make =
      "openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -days 2 -subj /CN=localhost "
      "-keyout " +
      key + " -out " + certificate + " 2>/dev/null";
  REQUIRE(std::system(make.c_str()) == 0);
  fs::create_directory(folder.path("parts"));
  BenchServer server(folder.path("parts"), {"--certificate", certificate, "--key", key});
  const std::string ask =
      "printf 'GET /?key=" + server.key() + " HTTP/1.1\\r\\nHost: " + server.host() +
      "\\r\\nConnection: close\\r\\n\\r\\n' | timeout 20 openssl s_client -quiet -connect " + server.host() +
      " 2>/dev/null";
  FILE* pipe = popen(ask.c_str(), "r");
  REQUIRE(pipe);
  std::string head;
  char block[4096];
  for (std::size_t n; (n = fread(block, 1, sizeof block, pipe)) > 0;) head.append(block, n);
  pclose(pipe);
  CHECK(head.find("303") != std::string::npos);
  CHECK(head.find("Secure") != std::string::npos);
  CHECK(server.get("/").status == 0);  // plain is not understood
  const Run wrong = rondure_run({"bench", folder.path("parts"), "--certificate", key, "--key", key});
  CHECK(wrong.exit_code == 1);
  CHECK(wrong.one_line_on_error());
  CHECK(rondure_run({"bench", folder.path("parts"), "--key", key}).exit_code == 2);
}
