// One figure, one value: every text, page, sheet and drawing is read back and held against the record.
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>
#include <regex>
#include <set>

#include "demo_files.hpp"
#include "process.hpp"

using nlohmann::json;

namespace {

// Words of a page or a drawing.
std::string plain(const std::string& html) {
  std::string text = std::regex_replace(html, std::regex("<style>[^]*?</style>"), "");
  text = std::regex_replace(text, std::regex("<[^>]*>"), " ");
  for (const auto& [from, to] : {std::pair<std::string, std::string>{"\u00a0", " "},
                                 {"\u2013", "to"},
                                 {"\u00b1", "+-"},
                                 {"\u00d8", ""},
                                 {"&nbsp;", " "}})
    for (std::size_t at = 0; (at = text.find(from, at)) != std::string::npos;)
      text.replace(at, from.size(), to);
  return std::regex_replace(text, std::regex("\\s+"), " ");
}

struct Range {
  double lo, hi;
  std::string text;
};
std::vector<Range> ranges_in(const std::string& text) {
  std::vector<Range> found;
  const std::regex range(R"((\d+\.\d+) to (\d+\.\d+))");
  for (std::sregex_iterator at(text.begin(), text.end(), range), end; at != end; ++at)
    found.push_back({std::stod((*at)[1]), std::stod((*at)[2]), at->str()});
  return found;
}

// The limits that a record holds, mm.
std::vector<std::pair<double, double>> limits_of(const json& replacement) {
  std::vector<std::pair<double, double>> out;
  for (const char* list : {"sizes", "check_sheet"})
    for (const json& s : replacement.at(list))
      if (s.contains("lower_mm") && s.contains("upper_mm")) out.emplace_back(s["lower_mm"], s["upper_mm"]);
  return out;
}

// Whether a printed range is one of the record's limits in this unit, rounded inwards by less than a last figure.
bool is_a_limit(const Range& r, const std::vector<std::pair<double, double>>& limits, double unit_mm,
                double step) {
  for (const auto& [lo, hi] : limits) {
    const double off_lo = r.lo * unit_mm - lo, off_hi = hi - r.hi * unit_mm;
    if (off_lo > -1e-6 && off_hi > -1e-6 && off_lo < step && off_hi < step) return true;
  }
  return false;
}

struct WholeDemo {
  Folder folder;
  std::string part = folder.path("part.json");
  json record;
  std::string plan_text, page, drawing, sheet_mm, sheet_in, fit_text, original_text;

  WholeDemo() {
    std::filesystem::copy_file(demo("two-dates/roller-2026.json"), part);
    std::filesystem::permissions(part, std::filesystem::perms::owner_write,
                                 std::filesystem::perm_options::add);
    folder.write("both.csv", text_of(demo("crown_readings.csv")) + text_of(demo("crown_chord.csv")));
    fit_text = run({"fit", folder.path("both.csv"), "--sigma", "0.0002in", "--kind", "arc", "--feature",
                    "crown", "--save", part});
    original_text = run({"original", part, "--on-metal", "bore", "--save", part});
    const std::vector<std::string> plan{"plan",
                                        part,
                                        "--shaft",
                                        "3.000mm+-0.002mm",
                                        "--tools",
                                        demo("tools.csv"),
                                        "--steps",
                                        folder.write("steps.csv",
                                                     "name,length,outside,end_outside,crown_radius,bore,"
                                                     "unit\noutside,6.0,,,,,mm\n"),
                                        "--drawing",
                                        folder.path("part.svg")};
    const auto with = [&](std::vector<std::string> more) {
      std::vector<std::string> all = plan;
      all.insert(all.end(), more.begin(), more.end());
      return all;
    };
    plan_text = run(with({"--check-sheet", folder.path("mm.csv"), "--save"}));
    run(with({"--check-sheet", folder.path("in.csv"), "--unit", "in"}));
    run({"report", part, "-o", folder.path("part.html")});
    page = plain(folder.read("part.html"));
    drawing = plain(folder.read("part.svg"));
    sheet_mm = folder.read("mm.csv"), sheet_in = folder.read("in.csv");
    record = json::parse(folder.read("part.json"));
  }

  static std::string run(const std::vector<std::string>& arguments) {
    const Run run = rondure_run(arguments);
    INFO(run.err);
    REQUIRE(run.exit_code == 0);
    return run.out;
  }
};

const WholeDemo& whole_demo() {
  static const WholeDemo made;
  return made;
}

}  // namespace

TEST_CASE("one value: limits stand inside the record's, alike in terminal, page, drawing and check sheet",
          "[cli][one-value]") {
  const json& replacement = whole_demo().record.at("replacement");
  const auto limits = limits_of(replacement);
  REQUIRE(limits.size() >= 4);
  const std::string plan_of_page = whole_demo().page.substr(whole_demo().page.find("Sizes to make"));
  int seen = 0;
  for (const std::string* text : {&whole_demo().plan_text, &plan_of_page, &whole_demo().drawing})
    for (const Range& r : ranges_in(*text)) {
      const bool mm = is_a_limit(r, limits, 1, 1e-9), inch = is_a_limit(r, limits, 25.4, 25.4e-5);
      INFO(r.text);
      // other ranges on these pages are not of sizes: they say mm, um or MPa behind them
      if (!mm && !inch)
        for (const auto& [lo, hi] : limits)
          CHECK_FALSE((std::fabs(r.lo - lo) < 0.002 && std::fabs(r.hi - hi) < 0.002));
      seen += mm || inch;
    }
  CHECK(seen >= 12);
  // the very same figures
  for (const json& s : replacement.at("sizes")) {
    if (!s.contains("lower_mm")) continue;
    const std::string mm_lo = s["lower_mm"].dump(), mm_hi = s["upper_mm"].dump();
    INFO(s.dump());
    for (const std::string* text :
         {&whole_demo().plan_text, &whole_demo().page, &whole_demo().drawing, &whole_demo().sheet_mm}) {
      CHECK(text->find(mm_lo) != std::string::npos);
      CHECK(text->find(mm_hi) != std::string::npos);
    }
    // inches, by integers: the next hundred-thousandth inside
    for (const auto& [mm, up] :
         {std::pair{s["lower_mm"].get<double>(), true}, {s["upper_mm"].get<double>(), false}}) {
      const auto tenth_um = std::llround(mm * 1e4);
      // 1e-5 in = 2.54 tenths of a micrometre
      const long long exact = up ? (tenth_um * 100 + 253) / 254 : tenth_um * 100 / 254;
      char text[32];
      std::snprintf(text, sizeof text, "%lld.%05lld", exact / 100000, exact % 100000);
      INFO(text);
      for (const std::string* where :
           {&whole_demo().plan_text, &whole_demo().page, &whole_demo().drawing, &whole_demo().sheet_in})
        CHECK(where->find(text) != std::string::npos);
    }
  }
}

TEST_CASE("one value: the axes of an oval differ by its ovality, in record, terminal and page",
          "[cli][one-value]") {
  const Folder folder;
  for (const auto& [file, extra] : {std::pair{"two-dates/outside-2026.csv", true},
                                    {"two-dates/outside-2014.csv", true},
                                    {"two-dates/bore-2026.csv", true}}) {
    const Run run = rondure_run({"fit", demo(file), "--calibration", demo("two-dates/stage.json"), "--save",
                                 folder.path("part.json"), "--feature", file, "--all", "--json",
                                 folder.path("one.json")});
    INFO(run.out << run.err);
    REQUIRE(run.exit_code == 0);
    (void)extra;
    const json e = json::parse(folder.read("one.json")).at("features")[0].at("ellipse");
    CHECK(e["major_diameter_mm"].get<double>() - e["minor_diameter_mm"].get<double>() ==
          Approx(e["ovality_mm"].get<double>()).margin(1e-9));
    std::smatch ovality, axes;
    REQUIRE(std::regex_search(run.out, ovality, std::regex(R"((?:ovality|oval by) +(\d+\.\d+))")));
    if (!std::regex_search(run.out, axes, std::regex(R"((\d+\.\d+) x (\d+\.\d+) mm)"))) continue;
    CHECK(std::stod(axes[1]) - std::stod(axes[2]) == Approx(std::stod(ovality[1])).margin(1e-9));
  }
}

TEST_CASE("one value: a combined radius lies between its parts", "[cli][one-value]") {
  const json crown = [] {
    for (const json& f : whole_demo().record.at("features"))
      if (f.at("name") == "crown") return f;
    return json();
  }();
  double lo = 1e9, hi = 0;
  for (const json& part : crown.at("combination")) {
    const double r = part.at("radius_mm").get<double>();
    lo = std::min(lo, r), hi = std::max(hi, r);
  }
  const double combined = crown.at("circle").at("diameter_mm").get<double>() / 2;
  CHECK(combined > lo);
  CHECK(combined < hi);
}

TEST_CASE("one value: the crown spans the width that is made", "[cli][one-value]") {
  CHECK(whole_demo().record.at("replacement").at("crown").at("width_mm").get<double>() == Approx(6.0));
}

TEST_CASE("one value: no size is called unlikely that the figures beside call likely", "[cli][one-value]") {
  CHECK(whole_demo().page.find("no size stands out") == std::string::npos);
  for (const json& f : whole_demo().record.at("original").at("features")) {
    if (!f.at("undecided").get<bool>() || f.at("candidates").empty()) continue;
    const json& best = f.at("candidates")[0];
    const std::string words = "not decided; likeliest " + best.at("label").get<std::string>() + ", " +
                              std::to_string(std::lround(100 * best.at("probability").get<double>())) + " %";
    CHECK(whole_demo().page.find(words) != std::string::npos);
  }
}

TEST_CASE("one value: sizes on the page are those of the terminal", "[cli][one-value]") {
  const Folder folder;
  const std::string part = folder.path("part.json");
  const Run fit = rondure_run({"fit", demo("two-dates/outside-2026.csv"), "--calibration",
                               demo("two-dates/stage.json"), "--save", part, "--feature", "outside"});
  REQUIRE(fit.exit_code == 0);
  REQUIRE(rondure_run({"report", part, "-o", folder.path("part.html")}).exit_code == 0);
  const std::string page = plain(folder.read("part.html"));
  const json f = json::parse(folder.read("part.json")).at("features")[0];
  std::smatch size;
  REQUIRE(std::regex_search(fit.out, size, std::regex(R"(diameter +(\d+\.\d+) \+- (\d+\.\d+) mm)")));
  const std::string words = size.str().substr(size.str().find_first_of("0123456789"));
  CHECK(page.find(words) != std::string::npos);
  const auto last_figure = [](const std::string& figure) {
    return std::pow(10.0, double(figure.find('.')) - double(figure.size()) + 1);
  };
  CHECK(std::fabs(std::stod(size[1]) - f["circle"]["diameter_mm"].get<double>()) <=
        0.5001 * last_figure(size[1]));
  CHECK(std::fabs(std::stod(size[2]) - f["circle"]["u_diameter_mm"].get<double>()) <=
        0.5001 * last_figure(size[2]));
}
