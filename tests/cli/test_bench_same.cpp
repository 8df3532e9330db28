// Whatever the commands can do for a part, the page can: each option reaches its command, and the answer is the same.
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <regex>
#include <set>
#include <sstream>

#include "bench_server.hpp"
#include "demo_files.hpp"
#include "process.hpp"

namespace fs = std::filesystem;
using json = nlohmann::json;

namespace {

// The same files in two folders: one is served, in the other the commands are typed.
class TwoFolders {
public:
  TwoFolders(const std::vector<std::string>& demo_files,
             const std::map<std::string, std::string>& written = {}) {
    for (const Folder* folder : {&page, &hand}) {
      for (const std::string& name : demo_files)
        fs::copy_file(demo(name), folder->path(fs::path(name).filename().string()));
      for (const auto& [name, text] : written) folder->write(name, text);
    }
    server = std::make_unique<BenchServer>(page.path());
    server->pair();
  }
  json ask(const std::string& path, const json& fields) const {
    const HttpReply reply = server->post("/api/" + path, fields.dump());
    INFO(reply.body);
    REQUIRE(reply.status == 200);
    return json::parse(reply.body);
  }
  std::string type(const std::vector<std::string>& arguments, const std::string& in = "") const {
    RunOptions options;
    options.folder = hand.path(), options.in = in;
    const Run run = rondure_run(arguments, options);
    INFO(run.err);
    REQUIRE(run.exit_code == 0);
    return run.out;
  }
  // A record without the times of its making.
  static json record(const Folder& folder, const std::string& name) {
    json read = json::parse(text_of(folder.path(name)));
    for (json& feature : read["features"]) feature["source"].erase("time");
    return read;
  }
  void same_record(const std::string& name) const { CHECK(record(page, name) == record(hand, name)); }

  Folder page, hand;
  std::unique_ptr<BenchServer> server;
};

const std::vector<std::string> kBoard{"--board", "9x6", "--square", "5mm", "--height", "6mm"};
json on_board(json more) {
  more.update({{"board", "9x6"}, {"square", "5mm"}, {"height", "6mm"}});
  return more;
}
std::vector<std::string> with(std::vector<std::string> first, const std::vector<std::string>& more) {
  first.insert(first.end(), more.begin(), more.end());
  return first;
}

}  // namespace

// An option that a command gets has its place on the page, or is named here with the reason.
TEST_CASE("bench: every option of the commands for one part has its place on the page", "[cli][bench]") {
  const std::map<std::string, std::string> no_place = {
      {"help", "the page's own words"},
      {"json", "files are taken away by a link"},
      {"save", "every answer can be kept"},
      {"quiet", "nothing is printed"},
      {"threads", "the computer's own matter"},
      {"bench", "the folder's bench.toml is used"},
      {"all", "'Every figure' is always there"},
      {"unit", "the button mm / in"},
      {"overlay", "edges are drawn by the page"},
      {"outlines", "edges are drawn by the page"},
      {"csv", "a link under the edges"},
      {"drawing", "shown under Make"},
      {"check-sheet", "filled in under Make"},
      {"output", "the page is shown"},
      {"fail-outside", "an exit status"},
      {"materials", "a list under Drawn as"},
      {"call", "a touch on the edge"},
      {"leave-out", "a drag along the edge"},
      {"take-in", "a drag along the edge"},
      {"one-part", "a choice above several photographs"},
      {"turned", "a choice above several photographs"},
      {"earlier", "told in words where two records are compared"},
      {"planned", "told in words where two records are compared"}};
  std::string page;
  for (const auto& entry : fs::directory_iterator(fs::path(RONDURE_SOURCE) / "src/data"))
    if (entry.path().filename().string().starts_with("bench") && entry.path().extension() == ".js")
      page += text_of(entry.path());
  int looked_at = 0;
  for (const char* command : {"measure", "fit", "record", "original", "plan", "compare", "report", "add"}) {
    const std::string help = rondure_run({command, "--help"}).out;
    const std::regex option("\n  (?:-[a-z],)?--([a-z-]+)");
    for (std::sregex_iterator at(help.begin(), help.end(), option), end; at != end; ++at, ++looked_at) {
      std::string name = (*at)[1];
      if (no_place.contains(name)) continue;
      for (char& c : name)
        if (c == '-') c = '_';
      INFO(command << " --" << name);
      CHECK(std::regex_search(page, std::regex("[\"{ .]" + name + "(?:\"|:| |,|\\.)")));
    }
  }
  CHECK(looked_at > 100);
}

TEST_CASE("bench: photographs give the table, the text and the names that 'measure' gives",
          "[cli][bench][repeats]") {
  const TwoFolders two({"roller.jpg", "drum.png"});
  const json found = two.ask("measure", on_board({{"picture", "roller.jpg"}}));
  CHECK(found["csv"] == two.type(with({"measure", "roller.jpg", "--csv", "-"}, kBoard)));
  CHECK(found["text"] == two.type(with({"measure", "roller.jpg", "--all"}, kBoard)));
  two.ask("measure", on_board({{"picture", "roller.jpg"},
                               {"part", "r.json"},
                               {"feature", "rim"},
                               {"kind", "metal"},
                               {"call", "hub step=flange"}}));
  two.type(with({"measure", "roller.jpg", "--save", "r.json", "--feature", "rim", "--kind", "metal", "--call",
                 "hub step=flange"},
                kBoard));
  two.same_record("r.json");
  CHECK(TwoFolders::record(two.page, "r.json")["features"][0]["name"] == "rim");
  // two at once, each a part of its own: one table
  const json both = two.ask("measure", {{"picture", "drum.png"},
                                        {"others", "roller.jpg"},
                                        {"several", "each"},
                                        {"scale", "38.00px/mm+-0.02"}});
  CHECK(both["csv"] ==
        two.type({"measure", "drum.png", "roller.jpg", "--scale", "38.00px/mm+-0.02", "--csv", "-"}));
}

TEST_CASE("bench: readings are read as 'record' reads them, and kept as 'fit' keeps them", "[cli][bench]") {
  const TwoFolders two({"two-dates/stage.json", "two-dates/outside-2026.csv", "two-dates/bore-2026.csv"});
  const auto same_dialogue = [&](const std::string& file, const json& said,
                                 const std::vector<std::string>& options,
                                 const std::vector<std::string>& lines) {
    std::string in, answers;
    for (const std::string& line : lines) {
      in += line + "\n";
      json fields{{"file", file}, {"line", line}};
      fields.update(said);
      answers += two.ask("readings", fields)["answer"].get<std::string>() + "\n";
    }
    CHECK(answers == two.type(with({"record", file}, options), in));
    CHECK(text_of(two.page.path(file)) == text_of(two.hand.path(file)));
  };
  same_dialogue(
      "d.csv",
      {{"digits", "3"}, {"calibration", "stage.json"}, {"temperature", "30C"}, {"material", "POM-C"}},
      {"--digits", "3", "--calibration", "stage.json", "--temperature", "30C", "--material", "POM-C"},
      {"26200 15000", "20000 21200", "13800 15000", "20000 8800", "24384 19384", "15616 10616"});
  same_dialogue("a.csv", {{"arc", "yes"}}, {"--arc"}, {"26.2 15", "26.1 16.1", "25.8 17.2", "25.4 18.1"});
  std::vector<std::string> along;
  for (int i = 0; i <= 24; ++i) {
    std::ostringstream line;
    line << 0.25 * i << ' ' << (i < 12 ? 6.2 : 4.0);
    along.push_back(line.str());
  }
  same_dialogue("p.csv", {{"along", "radius"}}, {"--along", "radius"}, along);
  const json profile = json::parse(two.server->get("/api/readings?file=p.csv").body);
  CHECK(profile["record"]["profile"] == json::parse(two.type({"fit", "p.csv", "--json", "-"}))["profile"]);
  // kept: several files at once, a profile, all points alike, a name for what it is
  two.ask("keep", {{"file", "outside-2026.csv"}, {"others", "bore-2026.csv"}, {"part", "s.json"}});
  two.type({"fit", "outside-2026.csv", "bore-2026.csv", "--save", "s.json"});
  two.same_record("s.json");
  two.ask("keep", {{"file", "p.csv"}, {"part", "p.json"}});
  two.type({"fit", "p.csv", "--save", "p.json"});
  two.same_record("p.json");
  const json plain = two.ask("keep", {{"file", "outside-2026.csv"}, {"plain", "yes"}, {"kind", "metal"}});
  CHECK(plain["text"] == two.type({"fit", "outside-2026.csv", "--plain", "--kind", "metal", "--all"}));
  CHECK(two.page.names().size() == two.hand.names().size());  // only looked at: nothing is written
}

TEST_CASE("bench: sizes from a table, and what else 'original' is told", "[cli][bench]") {
  const TwoFolders two({}, {{"sizes.csv",
                             "name,kind,size,u,unit\noutside,outside,12.444,0.004,mm\n"
                             "hub,outside,6.969,0.005,mm\nshaft,metal,3.000,0.002,mm\n"}});
  two.ask("original", {{"sizes", "sizes.csv"}, {"part", "r.json"}, {"material", "POM-C"}});
  two.type({"original", "--sizes", "sizes.csv", "--save", "r.json", "--material", "POM-C"});
  two.same_record("r.json");
  const json more = two.ask("original", {{"part", "r.json"},
                                         {"could_measure", "flange,width,6mm"},
                                         {"called", "roller"},
                                         {"mark", "K 4"},
                                         {"date", "1974"},
                                         {"note", "left"},
                                         {"learn", "new.csv"}});
  CHECK(more["text"] == two.type({"original", "r.json", "--save", "r.json", "--could-measure",
                                  "flange,width,6mm", "--part", "roller", "--mark", "K 4", "--date", "1974",
                                  "--note", "left", "--learn", "new.csv", "--all"}));
  two.same_record("r.json");
  CHECK(text_of(two.page.path("new.csv")) == text_of(two.hand.path("new.csv")));
  CHECK(two.server->post("/api/original", json{{"part", "r.json"}, {"learn", "sizes.csv"}}.dump()).status ==
        409);  // never over a file
}

TEST_CASE(
    "bench: crown, widths, another size, a copy and the bare section reach 'plan', turn and plan reach "
    "'compare'",
    "[cli][bench]") {
  const TwoFolders two({"two-dates/roller-2014.json", "two-dates/roller-2026.json"});
  for (const std::vector<std::string>& size :
       std::vector<std::vector<std::string>>{{"hub", "9.95mm"},
                                             {"rim length", "6mm", "--kind", "width"},
                                             {"hub length", "2.5mm", "--kind", "width"},
                                             {"bow", "13mm", "--kind", "arc"},
                                             {"ball", "14mm", "--kind", "arc"}}) {
    two.type(with({"add", "roller-2026.json"}, size));
    fs::copy_file(two.hand.path("roller-2026.json"), two.page.path("roller-2026.json"),
                  fs::copy_options::overwrite_existing);
  }
  for (const std::string form : {"dxf", "svg"}) {
    const json planned = two.ask("plan", {{"part", "roller-2026.json"},
                                          {"shaft", "3.000mm+-0.002mm"},
                                          {"crown", "bow"},
                                          {"outline", form},
                                          {"width_of", "rim length=outside\nhub length=hub"},
                                          {"choose", "outside=12.45mm"},
                                          {"copy", "roller-2014.json"},
                                          {"speed", "150mm/s"}});
    const std::string text = two.type({"plan",       "roller-2026.json",
                                       "--save",     "--all",
                                       "--shaft",    "3.000mm+-0.002mm",
                                       "--crown",    "bow",
                                       "--width-of", "rim length=outside",
                                       "--width-of", "hub length=hub",
                                       "--choose",   "outside=12.45mm",
                                       "--copy",     "roller-2014.json",
                                       "--speed",    "150mm/s",
                                       "--outline",  "section." + form});
    // but for the lines that name the files written
    CHECK(planned["text"].get<std::string>().substr(0, 1500) == text.substr(0, 1500));
    const HttpReply section =
        two.server->get("/api/section?id=" + planned["section"].get<std::string>() + "&as=" + form);
    CHECK(section.status == 200);
    CHECK(section.body == text_of(two.hand.path("section." + form)));
  }
  two.same_record("roller-2026.json");
  for (const std::string crown : {"none", "ball"}) {
    const std::string planned = two.ask(
        "plan", {{"part", "roller-2026.json"}, {"crown", crown}, {"width_of", "rim length=outside"}})["text"];
    two.type({"plan", "roller-2026.json", "--save", "--crown", crown, "--width-of", "rim length=outside"});
    CHECK((planned.find("'ball' R 14.000 mm over 6.000 mm") != std::string::npos) == (crown == "ball"));
    two.same_record("roller-2026.json");
  }
  const auto compared = [&](const std::string& more) {
    return json::parse(
        two.server->get("/api/compare?part=roller-2014.json&other=roller-2026.json" + more).body)["text"];
  };
  CHECK(compared("&turn=90") ==
        two.type({"compare", "roller-2014.json", "roller-2026.json", "--turn", "90", "--all"}));
  CHECK(compared("&against=other") ==
        two.type({"compare", "roller-2014.json", "roller-2026.json", "--against", "other", "--all"}));
}

TEST_CASE("bench: several parts together, their wear and their pages are those of the commands",
          "[cli][bench][repeats]") {
  const TwoFolders two({"idlers/idler-1.json", "idlers/idler-2.json", "idlers/idler-3.json"});
  const std::string parts = "idler-1.json\nidler-2.json\nidler-3.json";
  const json found = two.ask(
      "set", {{"parts", parts}, {"same_drawing", "outside"}, {"metric_prior", "0.6"}, {"worn", "outside"}});
  const std::vector<std::string> typed{"original",       "idler-1.json", "idler-2.json",   "idler-3.json",
                                       "--same-drawing", "outside",      "--metric-prior", "0.6",
                                       "--worn",         "outside"};
  CHECK(found["set"] == json::parse(two.type(with(typed, {"--json", "-"}))));
  CHECK(found["text"] == two.type(with(typed, {"--all"})));
  const json tied =
      two.ask("set", {{"parts", parts}, {"tie", "idler-1:outside/idler-2:outside=1.00+-0.0001"}});
  CHECK(tied["set"] ==
        json::parse(two.type({"original", "idler-1.json", "idler-2.json", "idler-3.json", "--tie",
                              "idler-1:outside/idler-2:outside=1.00+-0.0001", "--json", "-"})));
  const json worn = two.ask("wear", {{"parts", parts}, {"same_drawing", "outside"}});
  CHECK(worn["wear"] == json::parse(two.type({"compare", "idler-1.json", "idler-2.json", "idler-3.json",
                                              "--same-drawing", "outside", "--json", "-"})));
  // the page of the set, and by its links those of the parts
  const std::string pages = "/api/pages/" + found["page"].get<std::string>() + "/";
  const HttpReply page = two.server->get(pages + "set.html");
  CHECK(page.status == 200);
  CHECK(page.head.find("default-src 'none'; style-src 'unsafe-inline'") != std::string::npos);
  CHECK(page.body.find("href=\"idler-2.html\"") != std::string::npos);
  CHECK(two.server->get(pages + "idler-2.html").body.find("with the set") != std::string::npos);
  for (const std::string bad : {"set.json", "..%2Fset-1%2Fset.html", "../set.html", "none.html", ".html"})
    CHECK(two.server->get(pages + bad).status == 404);
  CHECK(two.server->get("/api/pages/999/set.html").status == 404);
  CHECK(two.server->post("/api/set", json{{"parts", "idler-1.json"}}.dump()).status == 400);
  CHECK(two.server->post("/api/wear", json{{"parts", "idler-1.json\n../x.json"}}.dump()).status == 400);
  CHECK(two.page.names().size() == 3);
}

TEST_CASE("bench: a table is written as typed, what is no such table, or was changed meanwhile, stays",
          "[cli][bench]") {
  const TwoFolders two({"tools.csv", "two-dates/outside-2026.csv"});
  const auto write = [&](const std::string& file, const std::string& text, const std::string& seen) {
    return two.server->post("/api/table", json{{"file", file}, {"text", text}, {"seen", seen}}.dump());
  };
  const std::string head = "name,kind,radius,diameter,thickness,unit\n",
                    table = head + "end mill,cutter,,6,,mm\n";
  const HttpReply made = write("shelf.csv", table, "");
  REQUIRE(made.status == 200);
  CHECK(text_of(two.page.path("shelf.csv")) == table);
  const std::string revision = made.head.substr(made.head.find("ETag: \"") + 7, 16);
  { std::ofstream(two.page.path("shelf.csv"), std::ios::app) << "wheel,wheel,13,,,mm\n"; }
  CHECK(write("shelf.csv", head, revision).status == 409);  // somebody else wrote
  CHECK(write("shelf.csv", head, "").status == 409);
  CHECK(write("outside-2026.csv", table, "").status == 409);  // readings
  CHECK(write("new.csv", "1,2\n3,4\n", "").status == 400);
  CHECK(write("../new.csv", table, "").status == 400);
  CHECK(text_of(two.page.path("outside-2026.csv")) == text_of(demo("two-dates/outside-2026.csv")));
  CHECK_FALSE(two.page.has("new.csv"));
  const json known = json::parse(two.server->get("/api/materials").body);
  CHECK(known["text"] == two.type({"original", "--materials"}));
  CHECK(known["aged"].size() > 20);
  BenchServer silent(two.hand.path(), {"--read-only"});
  silent.pair();
  const HttpReply refused =
      silent.post("/api/table", json{{"file", "n.csv"}, {"text", table}, {"seen", ""}}.dump());
  CHECK(refused.status == 403);
}
