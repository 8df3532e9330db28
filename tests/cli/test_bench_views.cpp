// Every view of the page at the bench: what a script can judge of it, at a desk and at 360 px.
#include <catch2/catch.hpp>
#include <cctype>
#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "bench_server.hpp"
#include "demo_files.hpp"
#include "process.hpp"
#include "web_driver.hpp"

namespace fs = std::filesystem;

namespace {

// Of WCAG 2.1 AA what a script can judge: 1.1.1 texts for pictures, 1.3.1 and 4.1.2 names of controls, 1.4.3 contrast of
// texts, 1.4.10 reflow (above), 2.4.2 title, 2.4.3 focus order, 2.4.7 focus seen, 3.1.1 language. From memory.
constexpr const char* kAccessible = R"(
  const bad = [], seen = (e) => e.checkVisibility ? e.checkVisibility() : e.offsetParent !== null;
  const name = (e) => (e.getAttribute('aria-label') || (e.labels && [...e.labels].map((l) => l.innerText).join(' ')) || e.innerText || e.alt || '').trim();
  for (const e of document.querySelectorAll('button, a, input, select, summary, [role=button]'))
    if (seen(e) && !name(e) && !(e.textContent || '').trim()) bad.push('no name: ' + e.outerHTML.slice(0, 120));
  for (const e of document.querySelectorAll('img')) if (e.getAttribute('alt') === null) bad.push('no alt: ' + e.src);
  for (const e of document.querySelectorAll('[tabindex]')) if (Number(e.getAttribute('tabindex')) > 0) bad.push('focus order: ' + e.outerHTML.slice(0, 80));
  if (document.querySelectorAll('h1').length !== 1) bad.push('h1: ' + document.querySelectorAll('h1').length);
  if (document.documentElement.lang !== 'en') bad.push('no language');
  if (!document.title) bad.push('no title');
  const ids = [...document.querySelectorAll('[id]')].map((e) => e.id);
  for (const id of new Set(ids)) if (ids.indexOf(id) !== ids.lastIndexOf(id)) bad.push('id twice: ' + id);
  for (const l of document.querySelectorAll('label[for]')) if (seen(l) && !document.getElementById(l.htmlFor)) bad.push('label of nothing: ' + l.innerText);
  for (const e of document.querySelectorAll('th')) if (!e.getAttribute('scope')) bad.push('th of what: ' + e.innerText);
  for (const e of document.querySelectorAll('fieldset')) if (!e.querySelector('legend')) bad.push('no legend');
  let level = 1;
  for (const e of document.querySelectorAll('main h1, main h2, main h3, main h4')) { const n = Number(e.tagName[1]); if (n > level + 1) bad.push('heading left out before: ' + e.innerText); level = n; }
  const rgb = (text) => (text.match(/[\d.]+/g) || []).map(Number);
  const light = (c) => { const [r, g, b] = c.map((v) => (v /= 255) <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  const behind = (e) => { for (; e; e = e.parentElement) { const c = rgb(getComputedStyle(e).backgroundColor); if (c.length === 3 || c[3] > 0.99) return c.slice(0, 3); } return [255, 255, 255]; };
  for (const e of document.querySelectorAll('main *, nav *, #said, #work *')) {
    if (e.closest('svg') || !seen(e) || e.disabled || ![...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim())) continue;
    const a = light(rgb(getComputedStyle(e).color).slice(0, 3)), b = light(behind(e));
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (ratio < 4.5) bad.push('contrast ' + ratio.toFixed(2) + ': ' + e.outerHTML.slice(0, 80));
  }
  const first = [...document.querySelectorAll('main a, main button, main input')].find(seen);
  if (first) { first.focus({ focusVisible: true }); if (getComputedStyle(first).outlineStyle === 'none') bad.push('focus not seen: ' + first.outerHTML.slice(0, 80)); }
  return bad.join('\n');
)";

// For a thumb at 360 px: nothing is wider than the window, what is touched is 40 px high or more (links within a text
// excepted), and no two things to touch lie over each other.
constexpr const char* kForAThumb = R"(
  const bad = [], wide = document.documentElement.scrollWidth;
  if (wide > 360) bad.push('wide: ' + wide);
  const seen = (e) => e.checkVisibility() && e.getBoundingClientRect().height > 0;
  const things = [...document.querySelectorAll('main button, main input, main select, main summary, main .button, .tabs a, header a, header button')].filter((e) => seen(e) && e.id !== 'skip');
  const boxes = things.map((e) => (e.closest('label.tick, .named') || e).getBoundingClientRect());
  things.forEach((e, i) => {
    if (boxes[i].height < 40) bad.push('low, ' + Math.round(boxes[i].height) + ' px: ' + e.outerHTML.slice(0, 100));
    if (boxes[i].right > 361 && !e.closest('.drawing-box')) bad.push('over the edge: ' + e.outerHTML.slice(0, 100));
    things.forEach((other, k) => {
      const a = boxes[i], b = boxes[k];
      if (k > i && !e.contains(other) && e.closest('label, .named') !== other.closest('label, .named') && Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1 && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 1)
        bad.push('over each other: ' + e.outerHTML.slice(0, 80) + ' and ' + other.outerHTML.slice(0, 80));
    });
  });
  return bad.join('\n');
)";

// All edges, and not small: the largest takes a third of the picture's width.
constexpr const char* kEdgesInSight =
    "(() => { const s = document.querySelector('.stage').getBoundingClientRect(), all = "
    "[...document.querySelectorAll('.edge .case')].map((e) => e.getBoundingClientRect()); return s.width < "
    "360 && "
    "all.some((b) => b.width > s.width / 3) && all.every((b) => b.left >= s.left && b.right <= s.right && "
    "b.top >= "
    "s.top && b.bottom <= s.bottom); })()";

void narrow(Browser& browser) {
  browser.chrome("Emulation.setDeviceMetricsOverride",
                 {{"width", 360}, {"height", 740}, {"deviceScaleFactor", 1}, {"mobile", false}});
}

// Looks at the view as a phone shows it, and goes back. RONDURE_SCREENS names a folder for both pictures.
void judge_narrow(Browser& browser, const std::string& view) {
  const char* into = std::getenv("RONDURE_SCREENS");
  const auto keep = [&](const std::string& width) {
    if (!into) return;
    std::string name = view;
    for (char& c : name)
      if (!std::isalnum(static_cast<unsigned char>(c))) c = '_';
    const auto high = browser.run("return document.documentElement.scrollHeight").get<int>();
    browser.chrome("Emulation.setDeviceMetricsOverride", {{"width", std::stoi(width)},
                                                          {"height", std::min(high, 4000)},
                                                          {"deviceScaleFactor", 1},
                                                          {"mobile", false}});
    std::ofstream(fs::path(into) / (name + "-" + width + ".png"), std::ios::binary) << browser.screenshot();
    browser.chrome("Emulation.clearDeviceMetricsOverride", nlohmann::json::object());
  };
  keep("1200");
  narrow(browser);
  INFO(view << " at 360 px");
  CHECK(browser.run(kForAThumb).get<std::string>() == "");
  keep("360");
  browser.chrome("Emulation.clearDeviceMetricsOverride", nlohmann::json::object());
}

}  // namespace

TEST_CASE("bench in a browser: names, labels, focus, contrast, reduced motion and a thumb in every view",
          "[cli][bench][browser][repeats]") {
  const Folder folder;
  fs::copy_file(demo("two-dates/roller-2026.json"), folder.path("r.json"));
  for (const std::string name :
       {"roller.jpg", "roller-side.jpg", "tools.csv", "idlers/idler-1.json", "idlers/idler-2.json"})
    fs::copy_file(demo(name), folder.path(fs::path(name).filename().string()));
  BenchServer server(folder.path());
  server.pair();
  REQUIRE(server.post("/api/original", R"({"part":"r.json","on_metal":"bore"})").status == 200);
  REQUIRE(server.post("/api/plan", R"({"part":"r.json","shaft":"3.000mm","fit":"bore=H7/s6"})").status ==
          200);
  for (const std::string line : {"1 2", "3 4", "5 2"})
    REQUIRE(server.post("/api/readings", R"({"file":"t.csv","line":")" + line + "\"}").status == 200);
  const std::string next = nlohmann::json::parse(server.get("/api/devices").body)["next"],
                    page = "http://" + server.host() + "/";
  Browser browser(1200, 900);
  browser.go(next);
  browser.chrome("Emulation.setEmulatedMedia",
                 {{"features", {{{"name", "prefers-reduced-motion"}, {"value", "reduce"}}}}});
  const auto looked_at = [&](const std::string& view) {
    INFO(view);
    CHECK(browser.run(kAccessible).get<std::string>() == "");
    judge_narrow(browser, view);
  };
  const auto judged = [&](const std::string& view, const std::string& there) {
    browser.go(page + view);
    browser.until("document.querySelector('" + there + "')");
    looked_at(view);
  };
  judged("#/", ".parts");
  judged("#/part/r.json", "[aria-label^=Roundness]");
  browser.run("document.querySelector('#c-other').closest('details').open = true");
  browser.click("form:has(#c-other) button");
  browser.until("document.querySelector('main pre')");
  looked_at("compared");
  judged("#/original/r.json", ".candidate");
  CHECK(browser.run("return getComputedStyle(document.querySelector('.bar')).transitionDuration") == "0s");
  judged("#/plan/r.json", ".sheet");
  judged("#/readings", ".list");
  judged("#/readings/t.csv", ".readings li");
  judged("#/devices", "code");
  judged("#/tables", "main .list li");
  judged("#/table/tools.csv", "#c-name");
  judged("#/set/idler-1.json/idler-2.json", "#s-same-0");
  browser.press("What they were drawn as");
  browser.until("document.querySelector('main h3')");
  looked_at("set answered");
  const auto page_of_set = browser.run("return document.querySelector('a.button[target]').href");
  browser.press("Which has worn most");
  browser.until("document.querySelector('main h2').innerText.startsWith('Worn most')");
  looked_at("worn most");
  browser.go(page_of_set);
  judge_narrow(browser, "page of the set");
  judged("#/photo", "#f-file");
  judged("#/photos/roller.jpg/roller.jpg", "#what");
  judged("#/part/none.json", ".wrong");
  judged("#/photo/roller.jpg", "#f-board");
  browser.type("#f-board", "9x6");
  browser.type("#f-square", "5mm\t");
  browser.until("document.querySelectorAll('.edge').length > 1");
  looked_at("measured");
  browser.go(page + "#/photo/roller-side.jpg");
  browser.until("document.querySelector('h1').innerText === 'roller-side.jpg'");
  const auto taken = [&](const nlohmann::json& fields) {
    browser.run(
        "const s = document.querySelector('#f-way'); s.closest('details').open = true; "
        "for (const [name, words] of Object.entries(arguments[0])) document.querySelector('#f-' + "
        "name).value "
        "= words; s.dispatchEvent(new Event('change'))",
        nlohmann::json::array({fields}));
  };
  taken({{"way", "side"},
         {"board", ""},
         {"square", ""},
         {"scale", "60.00px/mm+-0.02"},
         {"distance", "200mm"},
         {"profile", "rim,hub"}});
  browser.until("document.querySelector('svg.profile')");
  looked_at("on its side");
  browser.type("#f-part", "side.json");
  browser.press("Keep in the record");
  browser.until("location.hash === '#/part/side.json' && document.querySelector('svg.profile')");
  looked_at("part with a profile");
  browser.go(page + "#/page/side.json");
  browser.until("location.pathname === '/api/report' && document.querySelector('svg')");
  judge_narrow(browser, "page to print, on its side");
  browser.go(page + "#/page/r.json");
  browser.until("location.search.includes('file=r.json') && document.querySelector('svg')");
  judge_narrow(browser, "page to print");
  browser.go(page + "#/photo/roller.jpg");
  browser.until("document.querySelector('h1') && document.querySelector('h1').innerText === 'roller.jpg'");
  taken({{"way", "board"}, {"board", "9x6"}, {"square", "5mm"}, {"scale", ""}});
  browser.until("document.querySelectorAll('.edge').length > 1");
  // the part stays in sight where the window gets another size, as when a phone is turned
  narrow(browser);
  browser.until(kEdgesInSight);
  browser.chrome("Emulation.clearDeviceMetricsOverride", nlohmann::json::object());
  // by keyboard alone: an edge is reached, chosen, and differs by more than its colour
  browser.run("document.querySelector('.edge').focus()");
  browser.type(".edge", "\xEE\x80\x87", false);  // Enter
  browser.until("document.querySelector('.edge.selected')");
  CHECK(browser.run(
            "const w = (s) => parseFloat(getComputedStyle(document.querySelector(s + ' .case')).strokeWidth);"
            "return w('.edge.selected') > 1.3 * w('.edge:not(.selected)')") == true);
  CHECK(browser.run("return document.querySelector('.edge.selected').getAttribute('aria-pressed')") ==
        "true");
  CHECK(browser.console({"none.json", "/api/measure"}) == "");
}
