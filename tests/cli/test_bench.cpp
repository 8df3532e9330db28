// The page at the bench: who may come in, that nothing is lost, and the way from a photograph to the printed page.
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <map>
#include <nlohmann/json.hpp>
#include <set>
#include <sstream>

#include "bench_server.hpp"
#include "demo_files.hpp"
#include "process.hpp"

namespace fs = std::filesystem;
using json = nlohmann::json;

namespace {

// Every file below a folder with its bytes.
std::set<std::string> snapshot(const fs::path& folder) {
  std::set<std::string> all;
  for (const auto& entry : fs::recursive_directory_iterator(folder))
    all.insert(entry.path().string() + "|" + (entry.is_regular_file() ? text_of(entry.path()) : ""));
  return all;
}

std::string line_of(int i) {
  const double t = 2 * M_PI * i / 24;
  std::ostringstream text;
  text.precision(4);
  text << std::fixed << 20 + 6.2 * std::cos(t) << ' ' << 15 + 6.2 * std::sin(t);
  return text.str();
}

}  // namespace

TEST_CASE("bench: the key lets one device in, once", "[cli][bench]") {
  const Folder folder;
  BenchServer server(folder.path());
  CHECK(server.get("/").status == 403);
  CHECK(server.get("/api/parts").status == 403);
  const HttpReply first = server.pair();
  CHECK(first.status == 303);
  CHECK(first.head.find("HttpOnly; SameSite=Strict") != std::string::npos);
  CHECK(server.get("/").status == 200);
  CHECK(server.get("/").head.find("script-src 'self'") != std::string::npos);
  CHECK(server.get("/api/parts").status == 200);
  CHECK(server
            .raw("GET /?key=" + server.key() + " HTTP/1.1\r\nHost: " + server.host() +
                 "\r\nConnection: close\r\n\r\n")
            .status == 403);  // used up
}

TEST_CASE("bench: hostile requests get a refusal, write nothing and show nothing", "[cli][bench]") {
  const Folder outside;
  outside.write("secret.json",
                R"({"format":"rondure-part","version":1,"part":{"name":"hidden-word"},"features":[]})");
  const fs::path inside = fs::path(outside.path()) / "served";
  fs::create_directory(inside);
  fs::copy_file(demo("two-dates/roller-2026.json"), inside / "roller.json");
  { std::ofstream(inside / "notes.txt") << "hidden-word"; }
  { std::ofstream(inside / "readings.csv") << "# hidden-word\n1,2\n3,4\n"; }
  { std::ofstream(inside / ".hidden.json") << "hidden-word"; }
  fs::create_symlink(fs::path(outside.path()) / "secret.json", inside / "link.json");
  fs::create_symlink("/etc/passwd", inside / "passwd.csv");
  fs::create_directory(inside / "folder.json");
  BenchServer server(inside.string(), {"--patience", "1"});
  server.pair();
  const std::string host = "Host: " + server.host() + "\r\n", cookie = "Cookie: " + server.cookie() + "\r\n",
                    origin = "Origin: http://" + server.host() + "\r\n", end = "Connection: close\r\n\r\n",
                    as_json = "Content-Type: application/json\r\n";
  const auto body = [&](const std::string& text) {
    return "Content-Length: " + std::to_string(text.size()) + "\r\n" + end + text;
  };
  std::vector<std::string> hostile;

  // names that are no names of this folder, for everything that takes one
  const std::vector<std::string> names = {"../secret.json",
                                          "..%2Fsecret.json",
                                          "%2e%2e%2fsecret.json",
                                          "..\\secret.json",
                                          "/etc/passwd",
                                          "%2Fetc%2Fpasswd",
                                          "link.json",
                                          "folder.json",
                                          ".hidden.json",
                                          "notes.txt",
                                          "passwd.csv",
                                          "roller.json%00.json",
                                          "-o.json",
                                          "roller.json%0A",
                                          "",
                                          ".",
                                          "..",
                                          "a%2Fb.json",
                                          "roller.json%3B.json",
                                          "CON%7C.json",
                                          "%FF%FE%00.json",
                                          "none.json%20%2F",
                                          std::string(300, 'a') + ".json",
                                          "roller.json.exe"};
  for (const std::string where : {"part?file", "report?file", "picture?file", "readings?file", "overlay?id",
                                  "drawing?id", "limits?part", "sheet?part", "compare?other=roller.json&part",
                                  "compare?part=roller.json&other", "section?id", "table?file"})
    for (const auto& name : names)
      hostile.push_back("GET /api/" + where + "=" + name + " HTTP/1.1\r\n" + host + cookie + end);
  // the same names in bodies
  for (const std::string name : {"../x.csv", "/tmp/x.csv", "link.json", "passwd.csv", ".x.csv", "-x.csv", "x",
                                 "x.csv/..", "x\\u0000.csv"}) {
    hostile.push_back("POST /api/readings HTTP/1.1\r\n" + host + cookie + origin + as_json +
                      body(R"({"file":")" + std::string(name) + R"(","line":"1 2"})"));
    hostile.push_back("POST /api/keep HTTP/1.1\r\n" + host + cookie + origin + as_json +
                      body(R"({"file":"roller.csv","part":")" + std::string(name) + R"("})"));
    hostile.push_back("POST /api/measure HTTP/1.1\r\n" + host + cookie + origin + as_json +
                      body(R"({"picture":")" + std::string(name) + R"("})"));
    hostile.push_back(
        "POST /api/keep HTTP/1.1\r\n" + host + cookie + origin + as_json +
        body(R"({"file":"roller.csv","part":"new.json","calibration":")" + std::string(name) + R"("})"));
  }
  // in everything that takes a file beside the part, and in what takes several parts
  for (const std::string name : {"../secret.json", "/etc/passwd", "link.json", "passwd.csv", ".hidden.json",
                                 "--json=out.json", "folder.json", "x\\u0000.csv"}) {
    for (const auto& [where, fields] : std::map<std::string, std::string>{
             {"set", R"("parts":"roller.json\n)" + name + "\""},
             {"wear", R"("parts":")" + name + R"(\nroller.json")"},
             {"table", R"("text":"name,kind,radius\n","seen":"","file":")" + name + "\""},
             {"report", R"("part":")" + name + "\""},
             {"add", R"("name":"rim","sizes":"12mm","part":")" + name + "\""},
             {"original", R"("part":"roller.json","learn":")" + name + "\""},
             {"plan", R"("part":"roller.json","tools":")" + name + "\""},
             {"sheet", R"("row":"outside","measured":"12","part":")" + name + "\""}})
      hostile.push_back("POST /api/" + where + " HTTP/1.1\r\n" + host + cookie + origin + as_json +
                        body("{" + fields + "}"));
    for (const std::string field : {"sizes", "grids"})
      hostile.push_back("POST /api/original HTTP/1.1\r\n" + host + cookie + origin + as_json +
                        body(R"({"part":"roller.json",")" + field + "\":\"" + name + "\"}"));
    for (const std::string field : {"steps", "copy"})
      hostile.push_back("POST /api/plan HTTP/1.1\r\n" + host + cookie + origin + as_json +
                        body(R"({"part":"roller.json",")" + field + "\":\"" + name + "\"}"));
    hostile.push_back("POST /api/keep HTTP/1.1\r\n" + host + cookie + origin + as_json +
                      body(R"({"file":"a.csv","part":"new.json","others":")" + name + "\"}"));
    hostile.push_back("POST /api/measure HTTP/1.1\r\n" + host + cookie + origin + as_json +
                      body(R"({"picture":"a.jpg","several":"one","others":")" + name + "\"}"));
  }
  hostile.push_back("POST /api/set HTTP/1.1\r\n" + host + cookie + origin + as_json +
                    body(R"({"parts":"roller.json"})"));
  hostile.push_back("POST /api/plan HTTP/1.1\r\n" + host + cookie + origin + as_json +
                    body(R"({"part":"roller.json","outline":"../x"})"));
  hostile.push_back("POST /api/measure HTTP/1.1\r\n" + host + cookie + origin + as_json +
                    body(R"({"picture":"a.jpg","others":"b.jpg","several":"turned","angles":"../x.jpg"})"));
  hostile.push_back("POST /api/measure HTTP/1.1\r\n" + host + cookie + origin + as_json +
                    body(R"({"picture":"a.jpg","scan":"../x.jpg"})"));
  hostile.push_back("POST /api/stop HTTP/1.1\r\n" + host + cookie + origin + as_json +
                    body(R"({"job":"nobody"})"));
  hostile.push_back("POST /api/devices HTTP/1.1\r\n" + host + cookie + origin + as_json +
                    body(R"({"number":"-1"})"));
  // a table over what is none, and what is no table
  hostile.push_back("POST /api/table HTTP/1.1\r\n" + host + cookie + origin + as_json +
                    body(R"({"file":"new.csv","text":"1,2\n","seen":""})"));
  hostile.push_back("POST /api/table HTTP/1.1\r\n" + host + cookie + origin + as_json +
                    body(R"({"file":"readings.csv","text":"name,kind,radius\n","seen":""})"));
  // pages of a set
  for (const std::string page :
       {"1/set.html", "1/../set.html", "..%2F1/set.html", "-1/set.html", "1/set.json", "1/.html", "1/",
        "99999999999/set.html", "1/%2e%2e%2fsecret.json", "x/set.html"})
    hostile.push_back("GET /api/pages/" + page + " HTTP/1.1\r\n" + host + cookie + end);
  // files of places above, by the address itself
  for (const std::string path : {"/../secret.json", "/..%2fsecret.json", "/roller.json", "/api", "/api/",
                                 "/api/part/", "/api/none", "/API/parts", "/etc/passwd", "//etc/passwd",
                                 "/bench.html", "/%2e%2e/", "/api/parts/..", "/favicon.ico"})
    hostile.push_back("GET " + path + " HTTP/1.1\r\n" + host + cookie + end);
  // other names for this machine, and requests of other pages
  for (const std::string name :
       {"evil.example", "evil.example:80", "127.0.0.1", "127.0.0.1:1", "0.0.0.0", "[::1]", "", "localhost"})
    hostile.push_back("GET /api/parts HTTP/1.1\r\nHost: " + name + "\r\n" + cookie + end);
  hostile.push_back("GET /api/parts HTTP/1.1\r\n" + host + "Host: evil.example\r\n" + cookie + end);
  hostile.push_back("GET /api/parts HTTP/1.1\r\n" + cookie + end);
  const std::string line = R"({"file":"new.csv","line":"1 2"})";
  for (const std::string from :
       {"", "Origin: null\r\n", "Origin: http://evil.example\r\n", "Origin: https://127.0.0.1\r\n"})
    hostile.push_back("POST /api/readings HTTP/1.1\r\n" + host + cookie + from + as_json + body(line));
  for (const std::string type :
       {"", "Content-Type: text/plain\r\n", "Content-Type: application/x-www-form-urlencoded\r\n",
        "Content-Type: multipart/form-data; boundary=x\r\n", "Content-Type: image/jpeg\r\n"})
    hostile.push_back("POST /api/readings HTTP/1.1\r\n" + host + cookie + origin + type + body(line));
  // no cookie, a wrong one
  for (const std::string who : {"", "Cookie: rondure=1\r\n", "Cookie: \r\n", "Cookie: ;;;=\r\n"}) {
    hostile.push_back("GET /api/parts HTTP/1.1\r\n" + host + who + end);
    hostile.push_back("POST /api/readings HTTP/1.1\r\n" + host + who + origin + as_json + body(line));
    hostile.push_back("GET /?key=00000000000000000000000000000000 HTTP/1.1\r\n" + host + who + end);
  }
  // bodies that are no questions
  for (const std::string text :
       {"", "[]", "1", "{", "null", R"({"file":1})", R"({"file":{"a":"b"},"line":"1 2"})",
        R"({"file":"a.csv","line":["1 2"]})", R"({"file":"a.csv","line":"1 2\n3 4"})", "\xff\xfe"})
    hostile.push_back("POST /api/readings HTTP/1.1\r\n" + host + cookie + origin + as_json + body(text));
  hostile.push_back("POST /api/readings HTTP/1.1\r\n" + host + cookie + origin + as_json +
                    body(std::string(5000, '[')));
  hostile.push_back("POST /api/readings HTTP/1.1\r\n" + host + cookie + origin + as_json +
                    body(R"({"file":"a.csv","line":")" + std::string(9000, '1') + "\"}"));
  hostile.push_back("POST /api/readings HTTP/1.1\r\n" + host + cookie + origin + as_json +
                    "Content-Length: 99999999999\r\n" + end);
  hostile.push_back("POST /api/picture?name=../x.jpg HTTP/1.1\r\n" + host + cookie + origin +
                    "Content-Type: image/jpeg\r\n" + body("x"));
  hostile.push_back("POST /api/picture?name=x.html HTTP/1.1\r\n" + host + cookie + origin +
                    "Content-Type: image/jpeg\r\n" + body("x"));
  hostile.push_back("POST /api/picture?name=x.jpg HTTP/1.1\r\n" + host + cookie + origin + as_json +
                    body("{}"));
  // what is no request of this page at all
  for (const std::string method : {"PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "HEADX", "get"})
    hostile.push_back(method + " /api/parts HTTP/1.1\r\n" + host + cookie + origin + as_json + body("{}"));
  for (const std::string text : {"\r\n\r\n", "GET\r\n\r\n", "GET /\r\n\r\n", "GET / HTTP/9.9\r\n\r\n",
                                 "\x16\x03\x01\x02", "GET / HTTP/1.1\r\nHost\r\n\r\n"})
    hostile.push_back(text);
  hostile.push_back("GET /" + std::string(20000, 'a') + " HTTP/1.1\r\n" + host + cookie + end);
  hostile.push_back("GET / HTTP/1.1\r\n" + host + "X: " + std::string(20000, 'a') + "\r\n" + end);

  CHECK(hostile.size() >= 150);
  std::map<int, int> replies;  // by status
  const auto before = snapshot(outside.path());
  for (const std::string& request : hostile) {
    // whole requests wait for their reply; broken ones end there
    const bool whole = request.find("Connection: close\r\n\r\n") != std::string::npos &&
                       request.find("99999999999") == std::string::npos;
    const HttpReply reply = server.raw(request, !whole);
    INFO(request.substr(0, 300) << "\n-> " << reply.head.substr(0, 100));
    ++replies[reply.status];
    CHECK((reply.status >= 400 && reply.status < 500));
    CHECK(reply.body.find("hidden-word") == std::string::npos);
    CHECK(reply.body.find("root:") == std::string::npos);
  }
  CHECK(snapshot(outside.path()) == before);
  if (std::getenv("RONDURE_SESSION"))
    for (const auto& [status, count] : replies)
      std::cout << count << " of " << hostile.size()
                << " hostile requests: " << (status ? std::to_string(status) : "closed without a word")
                << '\n';
  CHECK(server.get("/api/parts").status == 200);  // and it still answers
}

TEST_CASE("bench: readings typed on the page give what 'fit' gives, and 'undo' takes one back",
          "[cli][bench]") {
  const Folder folder;
  BenchServer server(folder.path());
  server.pair();
  json state;
  for (int i = 0; i < 12; ++i)
    state = json::parse(
        server.post("/api/readings", json{{"file", "r.csv"}, {"line", line_of(2 * i)}}.dump()).body);
  state = json::parse(server.post("/api/readings", json{{"file", "r.csv"}, {"line", "1.0 2.0"}}.dump()).body);
  CHECK(state["answer"].get<std::string>().find("keep / delete") != std::string::npos);
  state = json::parse(server.post("/api/readings", json{{"file", "r.csv"}, {"line", "undo"}}.dump()).body);
  const Run fit = rondure_run({"fit", folder.path("r.csv"), "--json", "-"});
  REQUIRE(fit.exit_code == 0);
  CHECK(state["record"]["features"][0]["circle"] == json::parse(fit.out)["features"][0]["circle"]);
  CHECK(state["record"]["features"][0]["circle"]["diameter_mm"].get<double>() == Approx(12.4).margin(0.001));
  CHECK(server.post("/api/keep", json{{"file", "r.csv"}, {"part", "r.json"}, {"feature", "outside"}}.dump())
            .status == 200);
  CHECK(json::parse(server.get("/api/parts").body)["parts"][0]["file"] == "r.json");
  const HttpReply refused =
      server.post("/api/readings", json{{"file", "r.csv"}, {"line", "what is this"}}.dump());
  CHECK(refused.status == 422);
  CHECK(json::parse(refused.body)["answer"].get<std::string>().starts_with("not kept"));
}

TEST_CASE("bench: from a photograph to the printed page", "[cli][bench]") {
  const Folder folder;
  BenchServer server(folder.path());
  server.pair();
  const std::string picture = text_of(demo("drum.png"));
  CHECK(json::parse(server.post("/api/picture?name=drum.png", picture, "image/png").body)["picture"] ==
        "drum.png");
  CHECK(json::parse(server.post("/api/picture?name=drum.png", picture, "image/png").body)["picture"] ==
        "drum-2.png");
  const HttpReply measured =
      server.post("/api/measure",
                  json{{"picture", "drum.png"}, {"scale", "38.00px/mm+-0.02"}, {"part", "drum.json"}}.dump());
  REQUIRE(measured.status == 200);
  const auto found = json::parse(measured.body);
  CHECK(found["record"]["features"][0]["circle"]["diameter_mm"].get<double>() == Approx(24.887).margin(0.03));
  CHECK_FALSE(found.contains("overlay"));  // drawn where it is asked for: the page draws the edges itself
  const auto with_picture = json::parse(
      server
          .post("/api/measure",
                json{{"picture", "drum.png"}, {"scale", "38.00px/mm+-0.02"}, {"drawn", "yes"}}.dump())
          .body);
  const HttpReply drawn = server.get("/api/overlay?id=" + with_picture["overlay"].get<std::string>());
  CHECK(drawn.body.substr(1, 3) == "PNG");
  CHECK(server.post("/api/original", json{{"part", "drum.json"}, {"material", "POM-C"}}.dump()).status ==
        200);
  CHECK(json::parse(server.get("/api/part?file=drum.json").body).contains("original"));
  const HttpReply page = server.get("/api/report?file=drum.json");
  CHECK(page.status == 200);
  CHECK(page.head.find("default-src 'none'; style-src 'unsafe-inline'") != std::string::npos);
  CHECK(page.body.find("24.8") != std::string::npos);
  const HttpReply none =
      server.post("/api/measure", json{{"picture", "drum.png"}, {"scale", "--json=/tmp/x"}}.dump());
  CHECK(none.status == 422);
  CHECK(json::parse(none.body)["error"].get<std::string>().size() > 10);
}

TEST_CASE("bench: --read-only changes nothing, bad starts get one line, Ctrl-C ends it", "[cli][bench]") {
  const Folder folder;
  BenchServer server(folder.path(), {"--read-only"});
  server.pair();
  CHECK(server.post("/api/readings", json{{"file", "r.csv"}, {"line", "1 2"}}.dump()).status == 403);
  CHECK(server.post("/api/original", json{{"part", "r.json"}}.dump()).status == 403);
  CHECK(server.post("/api/picture?name=a.jpg", "x", "image/jpeg").status == 403);
  CHECK(fs::is_empty(folder.path()));
  // a photograph is looked at all the same, but not kept
  fs::copy_file(demo("roller.jpg"), folder.path("roller.jpg"));
  json asked{{"picture", "roller.jpg"}, {"board", "9x6"}, {"square", "5mm"}};
  CHECK(server.post("/api/measure", asked.dump()).status == 200);
  asked["part"] = "r.json";
  CHECK(server.post("/api/measure", asked.dump()).status == 403);
  CHECK(folder.names().size() == 1);
  const std::string port = server.host().substr(server.host().find(':') + 1);
  const Run taken = rondure_run({"bench", folder.path(), "--port", port});
  CHECK(taken.exit_code == 2);
  CHECK(taken.one_line_on_error());
  const Run no_folder = rondure_run({"bench", folder.path("none")});
  CHECK(no_folder.exit_code == 1);
  CHECK(no_folder.one_line_on_error());
  const int status = server.end(SIGINT);
  CHECK(WIFEXITED(status));
  CHECK(WEXITSTATUS(status) == 0);
}

TEST_CASE("bench: a browser shows the parts of the folder", "[cli][bench]") {
  const Folder folder;
  fs::copy_file(demo("two-dates/roller-2026.json"), folder.path("roller.json"));
  BenchServer server(folder.path());
  const std::string command =
      "timeout 120 chromium --headless --no-sandbox --disable-gpu --disable-dev-shm-usage --user-data-dir=" +
      folder.path("profile") + " --virtual-time-budget=10000 --dump-dom '" + server.address() +
      "#/part/roller.json' 2>/dev/null";
  FILE* pipe = popen(command.c_str(), "r");
  REQUIRE(pipe);
  std::string dom;
  char block[65536];
  for (std::size_t n; (n = fread(block, 1, sizeof block, pipe)) > 0;) dom.append(block, n);
  REQUIRE(pclose(pipe) == 0);
  CHECK(dom.find("film-advance roller</h1>") != std::string::npos);
  CHECK(dom.find("12.3820") != std::string::npos);
  CHECK(dom.find("Roundness chart") != std::string::npos);
  CHECK(dom.find("That did not work") == std::string::npos);
}
