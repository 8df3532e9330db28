// Several photographs at once, inches in front and a small screen: the page at the bench in a browser.
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>

#include "bench_server.hpp"
#include "demo_files.hpp"
#include "process.hpp"
#include "web_driver.hpp"

namespace fs = std::filesystem;

namespace {

std::string answer_is(const std::string& words) {
  return "(document.querySelector('.answer') || {innerText: ''}).innerText.startsWith('" + words + "')";
}

}  // namespace

TEST_CASE("bench in a browser: several photographs are one piece of work", "[cli][bench][browser][repeats]") {
  const Folder folder, elsewhere;
  fs::copy_file(demo("roller.jpg"), elsewhere.path("second.jpg"));
  folder.write("bench.toml", "board = \"9x6\"\nsquare = \"5mm\"\n");  // nothing has to be typed
  BenchServer server(folder.path());
  Browser browser(360, 740, true);
  browser.go(server.address());
  browser.press("Take a photograph");
  browser.type("#f-file", demo("roller.jpg") + "\n" + demo("drum.png") + "\n" + elsewhere.path("second.jpg"));
  browser.until("location.hash === '#/photos/roller.jpg/drum.png/second.jpg'");
  browser.until(answer_is("2 measured, 1 not"));
  CHECK(browser.run("return document.querySelectorAll('main li li').length").get<int>() >= 4);  // edges
  CHECK(browser.run("return document.querySelectorAll('main .wrong').length") == 1);  // no board by the drum
  CHECK(browser.run("return document.documentElement.scrollWidth").get<int>() <= 360);
  browser.press("Keep all");
  browser.until(answer_is("2 kept"));
  CHECK(folder.has("roller.json"));
  CHECK(folder.has("second.json"));
  CHECK_FALSE(folder.has("drum.json"));
  // stopped: what was measured stays, the rest waits
  browser.run(
      "window.real = window.fetch; window.fetch = async (path, o) => { if (path === '/api/measure') "
      "await new Promise((done) => setTimeout(done, 700)); return window.real(path, o); }");
  browser.press("Measure them");
  browser.press("Stop");
  browser.until("document.querySelector('.answer').innerText.includes('stopped before')");
  // chosen among those of the folder
  browser.go("http://" + server.host() + "/#/photo");
  browser.until("document.querySelectorAll('.ticks input').length === 3");
  browser.click(".ticks li:nth-child(2) input");
  browser.click(".ticks li:nth-child(3) input");
  browser.press("Measure the ticked ones");
  browser.until("location.hash === '#/photos/roller.jpg/second.jpg'");
  browser.back();
  browser.until("document.querySelector('.ticks')");
}

TEST_CASE("bench in a browser: several photographs of one part give one answer",
          "[cli][bench][browser][repeats]") {
  const Folder folder;
  const fs::path views =
      fs::path(RONDURE_TEST_DATA) / "one_part";  // solid_scenes drawn by this project; true sizes beside
  for (const char* name : {"004-0.jpg", "004-2.jpg"}) fs::copy_file(views / name, folder.path(name));
  fs::copy_file(views / "004.camera.json", folder.path("camera.json"));
  folder.write("bench.toml", "camera = \"camera.json\"\nboard = \"9x6\"\nsquare = \"5mm\"\n");
  BenchServer server(folder.path());
  Browser browser(360, 740, true);
  browser.go(server.address());
  browser.go("http://" + server.host() + "/#/photos/004-0.jpg/004-2.jpg");
  browser.until(answer_is("2 measured"));
  browser.run(
      "const s = document.querySelector('#what'); s.value = 'one'; s.dispatchEvent(new Event('change'))");
  browser.until(answer_is("One answer from 2 of 2"));
  std::ifstream in(views / "004-0.json");
  const double true_mm = nlohmann::json::parse(in)["part"]["outside"]["diameter_mm"];
  CHECK(std::stod(browser.text("td.figure")) == Approx(true_mm).margin(0.02));
  browser.until(
      "[...document.querySelectorAll('.thumb.found')].filter((i) => i.naturalWidth > 300).length === 2");
  CHECK(browser.text("main").find("lies 6.0") != std::string::npos);  // height found
  CHECK(browser.run("return document.documentElement.scrollWidth").get<int>() <= 360);
  browser.type("#f-together", "roller");
  browser.press("Keep in the record");
  browser.until("location.hash === '#/part/roller.json' && document.querySelector('td.figure')");
  CHECK(folder.has("roller.json"));
}

TEST_CASE("bench in a browser: inches in front, and a verdict for run-out",
          "[cli][bench][browser][repeats]") {
  const Folder folder;
  fs::copy_file(demo("two-dates/roller-2026.json"), folder.path("r.json"));
  folder.write("bench.toml", "unit = \"in\"\n");
  BenchServer server(folder.path());
  server.pair();
  REQUIRE(server.post("/api/original", R"({"part":"r.json","on_metal":"bore"})").status == 200);
  const std::string next = nlohmann::json::parse(server.get("/api/devices").body)["next"],
                    page = "http://" + server.host() + "/";
  Browser browser(360, 740, true);
  browser.go(next);
  const auto at = [&](const std::string& place, const std::string& there) {
    browser.go(page + place);
    browser.until("document.querySelector('" + there + "')");
  };
  const auto begins_with_inches = [&](const std::string& text) {
    const auto in = text.find(" in"), mm = text.find(" mm");
    INFO(text);
    CHECK(in != std::string::npos);
    CHECK(in < mm);
  };
  at("#/", ".parts li");
  begins_with_inches(browser.text(".parts li"));
  at("#/part/r.json", "figcaption");
  begins_with_inches(browser.text("td.figure"));
  begins_with_inches(browser.text("figcaption"));
  at("#/plan/r.json", "#p-shaft");
  browser.type("#p-shaft", "0.1181\t");
  browser.until("document.querySelector('#p-shaft').value === '0.1181in'");  // never read in another unit
  browser.press("Plan the replacement");
  browser.until("document.querySelectorAll('.sheet li').length > 3");
  begins_with_inches(browser.text("td.figure"));
  browser.press("Check sheet");  // folded on a phone
  CHECK(browser.text(".sheet").find(" in") != std::string::npos);
  CHECK(browser.run("return document.documentElement.scrollWidth").get<int>() <= 360);
  // the section is drawn large enough to be read, in a frame of its own
  browser.until("document.querySelector('.drawing').currentSrc.endsWith('#section')");
  browser.until("document.querySelector('.drawing').clientWidth > 500");
  const std::string row =
      "[...document.querySelectorAll('.sheet li')].find((e) => e.innerText.includes('run-out'))";
  browser.run("(" + row + ").querySelector('input').id = 'run-out'");
  browser.type("#run-out", "0.0001\t");
  browser.until("(" + row + ").querySelector('.verdict').innerText.includes('within')");
  browser.run("(" + row + ").querySelector('input').id = 'run-out'");
  browser.type("#run-out",
               "\xEE\x80\x89"
               "a"
               "\xEE\x80\x80"
               "0.02\t",
               false);  // over the old figure
  browser.until("(" + row + ").querySelector('.verdict').innerText.includes('outside')");
  // mm again with one touch, here and on every view
  browser.click("#lead");
  browser.until(
      "document.querySelector('td.figure') && document.querySelector('td.figure').innerText.indexOf(' mm') < "
      "document.querySelector('td.figure').innerText.indexOf(' in')");
}
