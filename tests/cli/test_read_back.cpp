// Every figure that a text or a page prints for the demo part is read back and found in the record, among the values
// of what it is printed for.
#include <catch2/catch.hpp>
#include <cctype>
#include <cmath>
#include <map>
#include <nlohmann/json.hpp>
#include <regex>
#include <sstream>

#include "demo_files.hpp"
#include "process.hpp"

using nlohmann::json;

namespace {

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  for (std::size_t at = 0; (at = text.find(from, at)) != std::string::npos; at += to.size())
    text.replace(at, from.size(), to);
  return text;
}

std::string without(std::string text, const std::string& from, const std::string& to) {
  for (std::size_t at = 0; (at = text.find(from, at)) != std::string::npos;) {
    const auto end = text.find(to, at);
    text.erase(at, end == std::string::npos ? std::string::npos : end + to.size() - at);
  }
  return text;
}

// Words of a page or a terminal on one line; a page's charts are left out.
std::string words_of(std::string text) {
  text = without(without(std::move(text), "<style>", "</style>"), "<svg", "</svg>");
  std::string out;
  for (std::size_t at = 0; at < text.size(); ++at) {
    if (text[at] == '<' && at + 1 < text.size() && (std::isalpha(text[at + 1]) || text[at + 1] == '/')) {
      at = text.find('>', at);
      out += ' ';
    } else {
      out += std::isspace(static_cast<unsigned char>(text[at])) ? ' ' : text[at];
    }
  }
  for (const auto& [from, to] : {std::pair<std::string, std::string>{"\u00a0", " "},
                                 {"\u2013", " to "},
                                 {"\u00b1", "+-"},
                                 {"\u00b5m", "um"},
                                 {"\u00b0", " deg"},
                                 {"  ", " "}})
    while (out.find(from) != std::string::npos) out = replaced(std::move(out), from, to);
  return out;
}

struct Figure {
  double value = 0, last_place = 1;
  std::string unit, around;
};

// Numbers with a unit behind them; of "12.444 +- 0.013 mm" both.
std::vector<Figure> figures_in(const std::string& text) {
  static const std::regex group(
      R"(([-+]?\d+(\.\d+)?( ?(\+-|to|x|,) ?\d+(\.\d+)?)*) ?(mm|in|um|thou|deg|%)(?![\w]))");
  static const std::regex number(R"(\d+(\.\d+)?)");
  std::vector<Figure> found;
  for (std::sregex_iterator at(text.begin(), text.end(), group), end; at != end; ++at) {
    const auto begin = static_cast<std::size_t>(at->position());
    if (begin > 0 && (std::isalnum(text[begin - 1]) || text[begin - 1] == '.')) continue;
    const std::string numbers = (*at)[1];
    for (std::sregex_iterator n(numbers.begin(), numbers.end(), number); n != end; ++n) {
      const std::string digits = n->str();
      const auto point = digits.find('.');
      found.push_back({std::stod(digits),
                       point == std::string::npos ? 1
                                                  : std::pow(10.0, static_cast<double>(point + 1) -
                                                                       static_cast<double>(digits.size())),
                       (*at)[6], text.substr(begin > 50 ? begin - 50 : 0, 50 + at->length())});
    }
  }
  return found;
}

// Values of a part of the record, by what they are.
struct Values {
  std::vector<double> mm, deg, ratio;
  std::vector<double> axes_mm;                     // of an ellipse
  std::vector<std::pair<double, bool>> limits_mm;  // true: a lower one

  void add(const json& j, const std::string& key = "") {
    if (j.is_object()) {
      for (const auto& [name, value] : j.items()) add(value, is_kind(name) ? name : key + "/" + name);
    } else if (j.is_array()) {
      for (const json& value : j) add(value, key);
    } else if (j.is_number()) {
      const double v = std::fabs(j.get<double>());
      if (key.starts_with("lower_mm") || key.starts_with("upper_mm"))
        limits_mm.emplace_back(v, key.starts_with("lower"));
      if (key.find("_mm") != std::string::npos) mm.push_back(v);
      if (key.ends_with("major_diameter_mm") || key.ends_with("minor_diameter_mm")) axes_mm.push_back(v);
      if (key.find("_um") != std::string::npos) mm.push_back(v / 1000);
      if (key.find("deg") != std::string::npos) deg.push_back(v), deg.push_back(std::fmod(v + 180, 360));
      if (key.find("_mm") == std::string::npos && key.find("deg") == std::string::npos)
        ratio.push_back(v), ratio.push_back(1 - v);
    }
  }
  // An arc is kept by its diameter and shown by its radius.
  void add_halves(const json& circle) {
    Values whole;
    whole.add(circle);
    for (const double v : whole.mm) mm.push_back(v / 2);
  }

  bool has(const Figure& figure) const {
    // Printed axes differ by the printed ovality, so that each may lie up to half of that one's rounding further off.
    constexpr double kHalf = 0.5001, kOfAxes = 0.7501;
    const auto rounds_to = [&](const std::vector<double>& values, double per, double within) {
      for (const double v : values)
        if (std::fabs(v / per - figure.value) <= within * figure.last_place) return true;
      return false;
    };
    if (figure.unit == "deg") return rounds_to(deg, 1, kHalf);
    if (figure.unit == "%") return rounds_to(ratio, 0.01, kHalf);
    const double unit = figure.unit == "in"     ? 25.4
                        : figure.unit == "um"   ? 1e-3
                        : figure.unit == "thou" ? 0.0254
                                                : 1;
    if (rounds_to(mm, unit, kHalf) || rounds_to(axes_mm, unit, kOfAxes)) return true;
    for (const auto& [limit_mm, lower] : limits_mm) {  // rounded inwards
      const double inside = (figure.value - limit_mm / unit) * (lower ? 1 : -1);
      if (inside > -1e-4 * figure.last_place && inside < figure.last_place) return true;
    }
    return false;
  }

private:
  static bool is_kind(const std::string& name) { return name == "lower_mm" || name == "upper_mm"; }
};

struct Count {
  int seen = 0, shifted_too = 0;
};

// `known`: figures that are no values: levels of confidence, marks of the page.
void read_back(const std::string& what, const std::string& text, const Values& values,
               const std::vector<std::string>& known, Count& count) {
  for (Figure figure : figures_in(text)) {
    bool skip = figure.unit == "%" && (figure.value == 95 || figure.around.ends_with("under 0.1 %"));
    for (const std::string& words : known) skip = skip || figure.around.find(words) != std::string::npos;
    if (skip) continue;
    INFO(what << ": " << figure.value << " " << figure.unit << " in: " << figure.around);
    CHECK(values.has(figure));
    figure.value += 3 * figure.last_place;
    ++count.seen, count.shifted_too += values.has(figure);
  }
}

// How far the middle lies off that of the outside, where to, and twice that as printed: coaxiality. Its uncertainty
// stands in the record's own words alone.
void add_eccentricity(const json& record, const json& f, Values& values) {
  const json& outside = record.at("features")[0].at("circle");
  if (!f.at("circle").contains("center_mm") || f.at("source").value("type", "") != "photo") return;
  const auto of = [&](int i) {
    return f.at("circle").at("center_mm")[i].get<double>() - outside.at("center_mm")[i].get<double>();
  };
  const double off_mm = std::hypot(of(0), of(1));
  values.mm.push_back(off_mm), values.mm.push_back(2 * std::round(off_mm * 1e4) / 1e4);
  values.deg.push_back(std::fmod(std::atan2(of(1), of(0)) * 180 / M_PI + 360, 360));
  for (const json& warning : f.value("warnings", json::array())) {
    const std::string text = warning.at("text");
    if (const auto at = text.find("+- "); warning.at("code") == "eccentricity" && at != std::string::npos)
      values.mm.push_back(std::stod(text.substr(at + 3)));
  }
}

Values values_of_feature(const json& record, const std::string& name) {
  Values values;
  for (const json& f : record.at("features")) {
    if (f.at("name") != name) continue;
    json shown = f;
    for (const char* unseen : {"pixel_from_part", "center_mm", "readings", "source"}) shown.erase(unseen);
    values.add(shown);
    add_eccentricity(record, f, values);
    if (f.value("kind", "") == "arc") {
      values.add_halves(f.at("circle"));
      if (f.contains("combination")) values.add_halves(f.at("combination"));
      if (f.contains("budget")) values.add_halves(f.at("budget"));
    }
  }
  return values;
}

std::string run(std::vector<std::string> arguments) {
  const Run run = rondure_run(arguments);
  INFO(run.err);
  REQUIRE(run.exit_code == 0);
  return run.out;
}

struct Part {
  Folder folder;
  std::string file = folder.path("part.json");
  std::string measured, fitted, original, plan, plan_in, page, page_in;
  json record;

  Part() {
    const std::vector<std::string> board{"--board", "9x6", "--square", "5mm", "--height", "5.973mm"};
    std::vector<std::string> measure{"measure", demo("roller.jpg"), "--material", "POM-C",
                                     "--all",   "--save",           file};
    measure.insert(measure.end(), board.begin(), board.end());
    measured = run(measure);
    fitted = run({"fit", demo("crown_readings.csv"), "--sigma", "0.0002in", "--kind", "arc", "--feature",
                  "crown", "--all", "--save", file});
    run({"add", file, "shaft", "3.000mm+-0.002mm", "--kind", "metal"});
    original = run({"original", file, "--on-metal", "bore", "--save", file});
    const std::vector<std::string> make{"plan",    file,    "--shaft", "3.000mm+-0.002mm",
                                        "--width", "8.5mm", "--tools", demo("tools.csv")};
    const auto with = [&](std::vector<std::string> more) {
      more.insert(more.begin(), make.begin(), make.end());
      return run(more);
    };
    plan = with({"--save"});
    plan_in = with({"--unit", "in"});
    run({"report", file, "-o", folder.path("mm.html")});
    run({"report", file, "-o", folder.path("in.html"), "--unit", "in"});
    page = folder.read("mm.html"), page_in = folder.read("in.html");
    record = json::parse(folder.read("part.json"));
  }
};
const Part& part() {
  static const Part made;
  return made;
}

// What a text says of each feature: from the line that begins with its name to the next such line.
std::map<std::string, std::string> blocks_of(const std::string& text, const json& record) {
  std::map<std::string, std::string> blocks;
  std::istringstream lines("\n" + text);
  std::string of;
  for (std::string line; std::getline(lines, line);) {
    if (!line.empty() && line[0] != ' ') {
      of.clear();
      for (const json& f : record.at("features")) {
        const std::string name = f.at("name");
        if (line.starts_with(name + " ") && name.size() > of.size()) of = name;
      }
    }
    if (!of.empty()) blocks[of] += line + "\n";
  }
  return blocks;
}

std::string between(const std::string& text, const std::string& from, const std::string& to) {
  const auto at = text.find(from);
  if (at == std::string::npos) return {};
  return text.substr(at, text.find(to, at + from.size()) - at);
}

}  // namespace

TEST_CASE("read back: measured features in the terminal", "[cli][read-back]") {
  Count count;
  for (const std::string* text : {&part().measured, &part().fitted})
    for (const auto& [name, block] : blocks_of(*text, part().record)) {
      Values values = values_of_feature(part().record, name);
      for (const json& f : part().record.at("features"))  // the notes of all stand below the last
        add_eccentricity(part().record, f, values);
      read_back(name, words_of(block), values, {}, count);
    }
  INFO(count.shifted_too << " of " << count.seen);
  CHECK(count.seen >= 60);
  CHECK(count.shifted_too < 0.4 * count.seen);  // most wrong figures would be noticed
}

TEST_CASE("read back: measured features on the pages", "[cli][read-back][repeats]") {
  Count count;
  for (const std::string* page : {&part().page, &part().page_in}) {
    const std::string main = between(*page, "<section class=\"feature\"", "</section>");
    REQUIRE(main.find("How outside was measured") != std::string::npos);
    read_back("outside", words_of(main), values_of_feature(part().record, "outside"), {"enlarged"}, count);
    const std::string further = between(*page, "<section class=\"further\"", "</section>");
    int told = 0;
    for (const json& f : part().record.at("features")) {
      const std::string name = f.at("name"), block = between(further, "<summary>" + name + ":", "<summary>");
      if (block.empty()) continue;
      ++told;
      read_back(name, words_of(block), values_of_feature(part().record, name), {"enlarged"}, count);
    }
    CHECK(told == 4);
  }
  INFO(count.shifted_too << " of " << count.seen);
  CHECK(count.seen >= 120);
  CHECK(count.shifted_too < 0.3 * count.seen);
}

TEST_CASE("read back: original sizes, in the terminal and on the pages", "[cli][read-back][repeats]") {
  Count count;
  const json& original = part().record.at("original");
  Values values;
  values.add(original);
  for (const json& f : part().record.at("features")) {
    Values own = values_of_feature(part().record, f.at("name"));
    values.mm.insert(values.mm.end(), own.mm.begin(), own.mm.end());
  }
  read_back("original", words_of(part().original), values,
            {"find out the speed", "measure ", "ages", "POM-C"}, count);
  for (const std::string* page : {&part().page, &part().page_in})
    read_back("page", words_of(between(*page, "<section aria-labelledby=\"original\"", "</section>")), values,
              {"over 99", "under 1 ", "find out the speed", "measure ", "mm), to", "mm, to"}, count);
  INFO(count.shifted_too << " of " << count.seen);
  CHECK(count.seen >= 60);
}

TEST_CASE("read back: a chance is told alike in the terminal and on the page", "[cli][read-back][repeats]") {
  for (const json& f : part().record.at("original").at("features")) {
    if (f.at("candidates").empty()) continue;
    const json& best = f.at("candidates")[0];
    const double p = best.at("probability");
    const std::string percent = p > 0.995 ? "over 99 %" : std::to_string(std::lround(100 * p)) + " %";
    INFO(f.at("name") << " " << percent);
    const std::string label = best.at("label");
    const auto block = blocks_of(part().original, part().record)[f.at("name")];
    CHECK(words_of(block).find(percent) != std::string::npos);
    CHECK(block.find("100 %") == std::string::npos);
    CHECK(words_of(part().page).find(percent) != std::string::npos);
  }
}

TEST_CASE("read back: the plan, in the terminal and on the pages", "[cli][read-back][repeats]") {
  Count count;
  Values values;
  values.add(part().record.at("replacement"));
  for (const json& f : part().record.at("features")) {
    Values own = values_of_feature(part().record, f.at("name"));
    values.mm.insert(values.mm.end(), own.mm.begin(), own.mm.end());
  }
  values.add(part().record.at("original"));
  const std::vector<std::string> known{"full size", "100 %", "steps of", "1 mm of", "0.002"};
  read_back("plan", words_of(part().plan), values, known, count);
  read_back("plan in", words_of(part().plan_in), values, known, count);
  for (const std::string* page : {&part().page, &part().page_in})
    read_back("page", words_of(between(*page, "<section class=\"plan\"", "</section>")), values, known,
              count);
  INFO(count.shifted_too << " of " << count.seen);
  CHECK(count.seen >= 80);
}

TEST_CASE("read back: a comparison", "[cli][read-back]") {
  const Folder folder;
  const std::string a = demo("two-dates/roller-2014.json"), b = demo("two-dates/roller-2026.json");
  for (const char* unit : {"mm", "in"}) {
    const std::string out = run({"compare", a, b, "--tolerance", "0.02mm", "--unit", unit});
    run({"compare", a, b, "--tolerance", "0.02mm", "--json", folder.path("c.json"), "--quiet"});
    Values values;
    values.add(json::parse(folder.read("c.json")));
    for (const std::string& file : {a, b}) {
      const json record = json::parse(text_of(file));
      for (const json& f : record.at("features")) values.add(f);
    }
    Count count;
    read_back(unit, words_of(out), values, {"over 99.9"}, count);
    CHECK(count.seen >= 10);
  }
}
