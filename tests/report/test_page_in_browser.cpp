// The page in a real browser (Debian's chromium, headless): widths, contrast (WCAG 2.1 success
// criterion 1.4.3: 4.5 to 1, from memory), and the printed sheets.
#include <unistd.h>

#include <catch2/catch.hpp>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <regex>
#include <sstream>

#include "rondure/record/plan_section.hpp"
#include "rondure/report/page.hpp"
#include "sample_record.hpp"

namespace fs = std::filesystem;
using namespace rondure;

namespace {

bool have(const char* program) {
  return std::system((std::string("command -v ") + program + " >/dev/null 2>&1").c_str()) == 0;
}

std::string output_of(const std::string& command) {
  std::string text;
  FILE* pipe = popen(command.c_str(), "r");
  REQUIRE(pipe != nullptr);
  char buffer[4096];
  for (std::size_t n; (n = std::fread(buffer, 1, sizeof buffer, pipe)) > 0;) text.append(buffer, n);
  REQUIRE(pclose(pipe) == 0);
  return text;
}

struct Workplace {
  fs::path folder = fs::temp_directory_path() /
                    ("rondure-page-" + std::to_string(std::rand()) + std::to_string(::getpid()));
  Workplace() { fs::create_directories(folder); }
  ~Workplace() {
    std::error_code ignored;
    fs::remove_all(folder, ignored);
  }
  std::string browser() const {
    return "timeout 100 chromium --headless --no-sandbox --disable-gpu --disable-quic --no-first-run "
           "--disable-background-networking "
           "--disable-component-update --disable-sync --user-data-dir=" +
           (folder / "profile").string() + " ";
  }
};

std::string attribute_escape(const std::string& html) {
  std::string out;
  for (const char c : html) {
    if (c == '&')
      out += "&amp;";
    else if (c == '"')
      out += "&quot;";
    else
      out += c;
  }
  return out;
}

// Loads the page in a frame of the given width and reports what the browser makes of it.
constexpr const char* kProbe = R"js(
<pre id="found"></pre><script>
const frame = document.querySelector('iframe');
frame.onload = () => {
  const d = frame.contentDocument, w = frame.contentWindow, out = [];
  out.push('height=' + d.documentElement.scrollHeight);
  out.push('overflow=' + Math.max(0, d.documentElement.scrollWidth - d.documentElement.clientWidth));
  const light = s => { const [r, g, b] = s.match(/[\d.]+/g).map(Number).map(v => { v /= 255; return v <= 0.04045 ? v / 12.92 : Math.pow((v + 0.055) / 1.055, 2.4); });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  // a figure or a short word that a narrow column has cut in two
  const lines = n => { const r = d.createRange(); r.selectNodeContents(n); return new Set([...r.getClientRects()].map(b => Math.round(b.top))).size; };
  let broken = 0;
  for (const c of d.querySelectorAll('td, th')) for (const n of c.querySelectorAll('*:not(br)').length ? [...c.childNodes, ...c.querySelectorAll('span')] : [c]) {
    const text = n.textContent.trim();
    if (text && text.length <= 9 && !/\s/.test(text) && lines(n) > 1) { ++broken; out.push('cut word=' + text); }
  }
  out.push('broken=' + broken);
  let worst = 21, smallest = 1e9, texts = 0;
  for (const e of d.querySelectorAll('body *')) {
    const own = [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim());
    if (!own || e.closest('style, title, desc')) continue;
    ++texts;
    const style = w.getComputedStyle(e), svg = e.closest('svg');
    const ink = light(svg ? style.fill : style.color), paper = 1;
    worst = Math.min(worst, (Math.max(ink, paper) + 0.05) / (Math.min(ink, paper) + 0.05));
    const box = e.getBoundingClientRect();
    if (svg) { const view = svg.viewBox.baseVal, scale = svg.getBoundingClientRect().width / view.width;
      smallest = Math.min(smallest, parseFloat(style.fontSize) * scale);
      const frameBox = svg.getBoundingClientRect();
      if (box.left < frameBox.left - 1 || box.right > frameBox.right + 1 || box.top < frameBox.top - 1 || box.bottom > frameBox.bottom + 1)
        out.push('cut=' + e.textContent.slice(0, 40)); }
    else smallest = Math.min(smallest, parseFloat(style.fontSize));
  }
  out.push('texts=' + texts, 'contrast=' + worst.toFixed(2), 'smallest=' + smallest.toFixed(1), 'headings=' + d.querySelectorAll('h1,h2,h3').length);
  document.getElementById('found').textContent = 'FOUND ' + out.join(' | ') + ' END';
};
frame.srcdoc = frame.dataset.page;
</script>)js";

std::string probe(const Workplace& place, const std::string& page, int width_px) {
  const fs::path file = place.folder / "probe.html";
  std::ofstream(file) << "<!DOCTYPE html><meta charset=utf-8><iframe style=\"border:0;height:900px;width:"
                      << width_px << "px\" data-page=\"" << attribute_escape(page) << "\"></iframe>"
                      << kProbe;
  const std::string dom = output_of(place.browser() + "--virtual-time-budget=8000 --dump-dom file://" +
                                    file.string() + " 2>/dev/null");
  std::smatch found;
  REQUIRE(std::regex_search(dom, found, std::regex("FOUND (.*?) END")));
  return found[1];
}

// As the demo makes it: measured, inferred, planned; and words longer than a phone is wide.
PartRecord whole_record() {
  PartRecord record = sample::roller();
  record.replacement = *parse_plan(sample::plan());
  record.features[1].name = "crown, as read along the running surface";
  record.features[1].source.file = "readings/of-the-old-reader/film-advance-roller/crown-2026-11-02.csv";
  return record;
}

double value(const std::string& report, const std::string& key) {
  std::smatch found;
  REQUIRE(std::regex_search(report, found, std::regex(key + "=([0-9.]+)")));
  return std::stod(found[1]);
}

}  // namespace

TEST_CASE("page in a browser: nothing overflows or is cut at phone and desk width, and the contrast holds",
          "[report][browser][repeats]") {
  if (!have("chromium")) {
    WARN("skipped: chromium is not installed");
    return;
  };
  const Workplace place;
  const std::string page = report_page(whole_record(), sample::page_options());
  for (const int width_px : {360, 1200}) {
    const std::string found = probe(place, page, width_px);
    INFO(width_px << " px: " << found);
    CHECK(value(found, "texts") > 300);
    if (width_px == 360) CHECK(value(found, "height") <= 6000);
    CHECK(value(found, "overflow") == 0);
    CHECK(value(found, "broken") == 0);
    CHECK(found.find("cut=") == std::string::npos);
    CHECK(value(found, "contrast") >= 4.5);
    CHECK(value(found, "smallest") >= 9);
  }
}

TEST_CASE("page in a browser: printed sheets keep each chart with its caption",
          "[report][browser][repeats]") {
  if (!have("chromium") || !have("pdftotext")) {
    WARN("skipped: chromium or pdftotext is not installed");
    return;
  };
  const Workplace place;
  const fs::path file = place.folder / "page.html", pdf = place.folder / "page.pdf";
  for (const std::string paper : {"A4", "letter"}) {
    std::string page = report_page(whole_record(), sample::page_options());
    page.insert(page.find("</style>"), "@page { size: " + paper + "; }\n");
    INFO(paper);
    std::ofstream(file) << page;
    output_of(place.browser() + "--no-pdf-header-footer --print-to-pdf=" + pdf.string() + " file://" +
              file.string() + " 2>/dev/null");
    const std::string text = output_of("pdftotext -layout " + pdf.string() + " -");
    // pages are separated by form feeds; words of the chart and of its caption must fall on the same sheet
    int sheets = 0, charts = 0, drawings = 0;
    std::istringstream pages(text);
    for (std::string sheet; std::getline(pages, sheet, '\f');) {
      if (sheet.find_first_not_of(" \n") == std::string::npos) continue;
      ++sheets;
      const bool chart = sheet.find("one ring =") != std::string::npos,
                 caption = sheet.find("enlarged") != std::string::npos;
      CHECK(chart == caption);
      const bool unrolled = sheet.find("deviation in mm by angle") != std::string::npos;
      // the further features' charts stand without a caption
      if (sheet.find("The outline unrolled") != std::string::npos) CHECK(unrolled);
      charts += chart;
      // the drawing is one sheet, at its full size
      const bool drawing = sheet.find("Section, scale") != std::string::npos;
      CHECK(drawing == (sheet.find("Printed at full size") != std::string::npos));
      drawings += drawing;
    }
    CHECK(sheets >= 4);
    CHECK(sheets <= 5);
    CHECK(charts >= 1);
    CHECK(drawings == 1);
  }
}
