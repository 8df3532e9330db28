// The page at the bench in a real browser: Debian's Chromium, driven as a person would.
#include <catch2/catch.hpp>
#include <chrono>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <sstream>

#include "bench_server.hpp"
#include "demo_files.hpp"
#include "process.hpp"
#include "web_driver.hpp"

namespace fs = std::filesystem;

namespace {

// A place on the selected edge, in the window: at a fraction of its length.
std::pair<int, int> on_edge(Browser& browser, double fraction, const std::string& edge = ".edge.selected") {
  const auto at = browser.run(
      "const h = document.querySelector(arguments[1] + ' .hit'), p = h.getPointAtLength(arguments[0] * "
      "h.getTotalLength())"
      ".matrixTransform(h.getScreenCTM()); return [Math.round(p.x), Math.round(p.y)]",
      {fraction, edge});
  return {at[0].get<int>(), at[1].get<int>()};
}

void measure_roller(Browser& browser) {
  browser.type("#f-file", demo("roller.jpg"));
  browser.until("document.querySelector('#f-board')");
  browser.run("document.querySelector('#f-board').closest('details').open = true");
  browser.type("#f-board", "9x6");
  browser.type("#f-square", "5mm");
  browser.type("#f-height", "6mm+-0.1mm");
  browser.press("Measure");
  browser.until("document.querySelectorAll('.edge').length === 3");
}

void type_reading(Browser& browser, const std::string& x, const std::string& y, const std::string& told) {
  browser.type("#r0", x);
  browser.type("#r1", y + "\n");
  browser.until("document.querySelector('.answer').innerText.includes('" + told + "')");
}

std::pair<std::string, std::string> place(int i) {
  const auto text = [](double v) {
    std::ostringstream out;
    out.precision(4);
    out << std::fixed << v;
    return out.str();
  };
  const double t = 2 * M_PI * i / 12;
  return {text(20 + 6.2 * std::cos(t)), text(15 + 6.2 * std::sin(t))};
}

}  // namespace

TEST_CASE("bench in a browser: from an empty folder to the printed page by photograph alone",
          "[cli][bench][browser][repeats]") {
  const Folder folder;
  BenchServer server(folder.path());
  const std::string origin = "http://" + server.host();
  Browser browser(1200, 900);
  const auto begun = std::chrono::steady_clock::now();
  browser.go(server.address());
  browser.press("Take a photograph");
  measure_roller(browser);
  browser.drag({on_edge(browser, 0.5, "[data-edge='1']")}, "mouse");
  browser.until("document.querySelector('.panel h2').innerText.includes('hub step')");
  // a sector of the edge is left out with the pointer, and comes back
  const std::string before = browser.text(".panel .answer");
  browser.drag({on_edge(browser, 0.5), on_edge(browser, 0.55), on_edge(browser, 0.6)}, "mouse");
  browser.until("document.querySelector('.panel').innerText.includes('Left out')");
  browser.press("As it was found");
  browser.until("document.querySelector('.panel .answer').innerText === " + nlohmann::json(before).dump());
  // the answer moves with the height
  const std::string flat = browser.text(".edge-row");
  browser.press("+0.5");
  browser.until("document.querySelector('.edge-row').innerText.includes('by the last change')");
  CHECK(browser.text(".edge-row") != flat);
  browser.press(
      "\xE2\x88\x92"
      "0.5");
  browser.until("document.querySelector('.edge-row').innerText.startsWith(" + nlohmann::json(flat).dump() +
                ")");
  browser.type("#f-part", "roller.json");
  browser.press("Keep in the record");
  browser.until("location.hash === '#/part/roller.json' && document.querySelector('.tabs')");
  browser.press("Drawn as");
  browser.type("#e-material", "POM-C");
  browser.press("Ask what it was drawn as");
  browser.until("document.querySelectorAll('.candidate').length > 3");
  browser.click(".candidate");  // chosen
  browser.press("Make");
  browser.type("#p-shaft", "3.000mm+-0.002mm");
  browser.press("Plan the replacement");
  browser.until("document.querySelector('.sheet')");
  browser.type("#m-0", "2,999\t");
  browser.until("document.querySelector('.verdict').innerText.length > 3");
  CHECK(browser.console({"/api/measure", "/api/readings"}) == "");
  CHECK(browser.strangers(origin) == "");
  browser.go(origin + "/api/report?file=roller.json");
  CHECK(browser.text("body").find("12.3") != std::string::npos);
  const double seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count();
  CHECK(browser.touches < 30);
  if (std::getenv("RONDURE_SESSION"))
    std::cout << browser.touches << " touches, " << seconds
              << " s from the empty folder to the printed page\n";
  CHECK(fs::exists(folder.path("roller-check.csv")));
}

TEST_CASE("bench in a browser: a dozen readings with two slips, and a reload in the middle",
          "[cli][bench][browser][repeats]") {
  const Folder folder;
  BenchServer server(folder.path());
  Browser browser(1200, 900);
  browser.go(server.address());
  browser.go("http://" + server.host() + "/#/readings/r.csv");
  for (int i = 0; i < 8; ++i)
    type_reading(browser, place(i).first, place(i).second, std::to_string(i + 1) + " kept");
  // two digits exchanged: the program asks, two buttons answer
  type_reading(browser, "16.9000", "6.9036", "outside the others");  // 9.6306 was meant
  browser.until("document.querySelectorAll('main .row button').length > 2");
  browser.press("Take 9 out");
  browser.until("document.querySelector('.answer').innerText.includes('9 is out')");
  type_reading(browser, place(8).first, place(8).second, "10 kept");
  browser.type("#r0", "20,0");  // half a reading is on the screen, with a decimal comma
  browser.reload();
  browser.until("document.querySelector('#r0') && document.querySelector('#r0').value === '20,0'");
  browser.until("document.querySelectorAll('.readings li').length === 9");
  type_reading(browser, place(9).first, place(9).second, "11 kept");
  type_reading(browser, "99,0", "8,0", "outside the others");  // far off
  browser.press("Undo the last");
  browser.until("document.querySelector('.answer').innerText.includes('undone')");
  type_reading(browser, "23,1000", "9,6306", "12 kept");
  type_reading(browser, place(11).first, place(11).second, "13 kept");
  CHECK(browser.run("return document.querySelectorAll('.readings li').length") == 12);
  const std::string text = text_of(folder.path("r.csv"));
  CHECK(text.find("# deleted: ") != std::string::npos);
  CHECK(text.find("# undone: ") != std::string::npos);
  CHECK(browser.run("return document.querySelector('[aria-label^=Roundness]') !== null") == true);
  CHECK(browser.console({"/api/measure", "/api/readings"}) == "");
  browser.press("Keep in the record");
  browser.until("location.hash === '#/part/r.json' && document.querySelector('td.figure')");
  CHECK(browser.text("td.figure").find("12.40") != std::string::npos);
}

// A view that was asked for before the folder was known came up twice, the second over what had been typed; and what
// was looked up before a reading came after it and took it from the screen (both seen on a loaded machine, 2026-11-28).
TEST_CASE("bench in a browser: slow answers come in another order, and take nothing from the screen",
          "[cli][bench][browser][repeats]") {
  const Folder folder;
  BenchServer server(folder.path());
  Browser browser(1200, 900);
  browser.slow_by(300);
  browser.go(server.address());
  browser.go("http://" + server.host() + "/#/readings/r.csv");  // the folder is not known yet
  browser.until("document.querySelector('#r0')");
  browser.run("document.querySelector('#r0').setAttribute('data-first', '')");
  browser.run(
      "window.turns = 0; new MutationObserver(() => ++window.turns).observe(document.querySelector('main'), "
      "{ childList: true })");
  for (int i = 0; i < 6; ++i)
    type_reading(browser, place(i).first, place(i).second, std::to_string(i + 1) + " kept");
  CHECK(browser.run("return window.turns") == 0);
  CHECK(browser.run("return document.querySelector('#r0').hasAttribute('data-first')") == true);
  // looked up before, answered after
  browser.run(R"(
    window.held = null;
    const fetch_now = window.fetch;
    window.fetch = async (path, options) => {
      const reply = await fetch_now(path, options);
      if (!options.method && path.startsWith('/api/readings') && !window.held)
        await new Promise((go_on) => { window.held = go_on; });
      return reply;
    };)");
  browser.until("window.held");
  type_reading(browser, place(6).first, place(6).second, "7 kept");
  browser.run("window.held()");
  browser.run("return new Promise((go_on) => setTimeout(go_on, 50))");
  CHECK(browser.text(".answer").find("7 kept") != std::string::npos);
  CHECK(browser.run("return document.querySelectorAll('.readings li').length") == 7);
}

TEST_CASE("bench in a browser: two windows on one file and one part", "[cli][bench][browser][repeats]") {
  const Folder folder;
  fs::copy_file(demo("two-dates/roller-2026.json"), folder.path("r.json"));
  BenchServer server(folder.path());
  const std::string page = "http://" + server.host() + "/";
  Browser browser(1200, 900);
  browser.go(server.address());
  const std::string one = browser.window();
  browser.go(page + "#/readings/r.csv");
  type_reading(browser, "1.0", "2.0", "1 kept");
  const std::string other = browser.new_window();
  browser.to_window(other);
  browser.go(page + "#/readings/r.csv");
  browser.until("document.querySelectorAll('.readings li').length === 1");
  type_reading(browser, "3.0", "4.0", "2 kept");
  browser.to_window(one);
  browser.until("document.querySelectorAll('.readings li').length === 2");  // appears by itself
  // a record that a command writes appears by itself
  browser.go(page + "#/");
  browser.until("document.querySelectorAll('.parts li').length === 1");
  REQUIRE(rondure_run({"add", folder.path("second.json"), "hub", "9.95mm"}).exit_code == 0);
  browser.until("document.querySelectorAll('.parts li').length === 2");
  // both windows look at one record; who comes second is told
  browser.go(page + "#/original/r.json");
  browser.until("document.querySelector('#e-material')");
  browser.to_window(other);
  browser.go(page + "#/original/r.json");
  browser.press("Ask what it was drawn as");
  browser.until("document.querySelectorAll('.candidate').length > 3");
  browser.to_window(one);
  browser.press("Ask what it was drawn as");
  browser.until("document.querySelector('#said').innerText.includes('changed elsewhere')");
}

TEST_CASE("bench in a browser: on a phone, with a finger", "[cli][bench][browser][repeats]") {
  const Folder folder;
  BenchServer server(folder.path());
  const std::string page = "http://" + server.host() + "/";
  Browser browser(360, 740, true);
  browser.go(server.address());
  const auto narrow = [&] {
    CHECK(browser.run("return document.documentElement.scrollWidth").get<int>() <= 360);
  };
  narrow();
  browser.press("Take a photograph");
  measure_roller(browser);
  narrow();
  browser.run("document.querySelector('.stage').scrollIntoView()");
  browser.click(".edge-row");
  browser.run("document.querySelector('.stage').scrollIntoView()");
  browser.drag({on_edge(browser, 0.45), on_edge(browser, 0.5), on_edge(browser, 0.55), on_edge(browser, 0.6)},
               "touch");
  browser.until(
      "document.querySelector('.panel').innerText.includes('Left out') && "
      "document.querySelectorAll('.panel li').length === 2");  // the nib, and this
  browser.press("Keep in the record");
  browser.until("document.querySelector('.tabs')");
  narrow();
  for (const std::string view : {"original", "plan"}) {
    browser.go(page + "#/" + view + "/roller.json");
    browser.until("document.querySelector('.tabs')");
    narrow();
  }
  browser.go(page + "#/readings/r.csv");
  browser.until("document.querySelector('#r0')");
  narrow();
  CHECK(browser.run("return document.querySelector('#r0').inputMode") == "decimal");
  CHECK(browser.run("return document.querySelector('#r0').getBoundingClientRect().height").get<double>() >=
        44);
  browser.back();
  browser.until("document.querySelector('.tabs')");  // every view has its address
  CHECK(browser.console({"/api/measure", "/api/readings"}) == "");
}

TEST_CASE("bench in a browser: a photograph that the browser cannot show is shown as the program draws it",
          "[cli][bench][browser][repeats]") {
  const Folder folder;
  fs::copy_file(demo("drum.png"), folder.path("drum.png"));
  BenchServer server(folder.path());
  Browser browser(1200, 900);
  browser.chrome("Network.enable", nlohmann::json::object());
  browser.chrome("Network.setBlockedURLs", {{"urls", {"*/api/picture*"}}});
  browser.go(server.address());
  browser.go("http://" + server.host() + "/#/photo/drum.png");
  browser.type("#f-scale", "38.00px/mm+-0.02\t");
  browser.until("document.querySelectorAll('.edge').length > 0");
  browser.until(
      "document.querySelector('.stage img').src.includes('/api/overlay') && "
      "document.querySelector('.stage img').naturalWidth > 300");
}

// Not a test: the screens of README's picture, into the folder that RONDURE_GUIDE names (images-demo/guide/make).
TEST_CASE("bench in a browser: the pictures of the guide", "[.guide-pictures]") {
  const char* into = std::getenv("RONDURE_GUIDE");
  REQUIRE(into);
  const Folder folder;
  std::vector<std::string> calibrate{"calibrate", "camera"};
  for (int i = 1; i <= 10; ++i)
    calibrate.push_back(demo("views/view_" + std::string(i < 10 ? "0" : "") + std::to_string(i) + ".jpg"));
  calibrate.insert(calibrate.end(), {"--board", "9x6", "--square", "5mm", "-o", folder.path("camera.json")});
  REQUIRE(rondure_run(calibrate).exit_code == 0);
  folder.write("bench.toml", "camera = \"camera.json\"\n");
  BenchServer server(folder.path());
  Browser browser(360, 640, true);
  const auto keep = [&](const std::string& name) {
    std::ofstream(fs::path(into) / (name + ".png"), std::ios::binary) << browser.screenshot();
  };
  browser.go(server.address());
  browser.press("Take a photograph");
  measure_roller(browser);
  browser.run("scrollTo(0, 0); document.activeElement.blur()");
  keep("edges");
  browser.type("#f-part", "roller.json");
  browser.press("Keep in the record");
  browser.press("Drawn as");
  browser.type("#e-material", "POM-C");
  browser.press("Ask what it was drawn as");
  browser.until("document.querySelectorAll('.candidate').length > 3");
  browser.run("document.querySelector('.tabs').scrollIntoView(); document.activeElement.blur()");
  keep("candidates");
  browser.go("http://" + server.host() + "/#/readings/r.csv");
  for (int i = 0; i < 8; ++i)
    type_reading(browser, place(i).first, place(i).second, std::to_string(i + 1) + " kept");
  browser.run("document.querySelector('.answer').scrollIntoView(); document.activeElement.blur()");
  keep("readings");
}
