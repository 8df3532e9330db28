#include <catch2/catch.hpp>
#include <cmath>
#include <regex>
#include <sstream>

#include "demo_part.hpp"
#include "rondure/plan/section_drawing.hpp"
#include "rondure/record/plan_section.hpp"

using namespace rondure;
using namespace rondure::plan;

namespace {

PlanOptions with_hubs() {
  PlanOptions o;
  o.shaft_mm = Estimate{3.0, 0.002};
  o.steps = *parse_steps("name,length\nhub,1\noutside,6\nhub,1\n");
  return o;
}

// Every element closed, attributes quoted, no bare "&" or "<": enough to tell a page that no browser would
// refuse.
bool well_formed(const std::string& xml) {
  std::vector<std::string> open;
  static const std::regex kTag(R"re(<(/?)([a-z]+)((?:\s+[A-Za-z:][A-Za-z0-9:-]*="[^"<]*")*)\s*(/?)>)re");
  auto at = xml.cbegin();
  for (std::smatch m; std::regex_search(at, xml.cend(), m, kTag); at = m.suffix().first) {
    const std::string between = m.prefix().str();
    if (between.find('<') != std::string::npos || between.find('>') != std::string::npos) return false;
    if (m[1].length()) {
      if (open.empty() || open.back() != m[2]) return false;
      open.pop_back();
    } else if (!m[4].length()) {
      open.push_back(m[2]);
    }
  }
  return open.empty() && std::string(at, xml.cend()).find('<') == std::string::npos;
}

// Group code and value pairs of a DXF file.
std::vector<std::pair<int, std::string>> dxf_pairs(const std::string& text) {
  std::istringstream in(text);
  std::vector<std::pair<int, std::string>> pairs;
  for (std::string code, value; std::getline(in, code) && std::getline(in, value);)
    pairs.emplace_back(std::stoi(code), value);
  return pairs;
}

struct Entity {
  std::string type, layer;
  std::map<int, double> numbers;
};
std::vector<Entity> dxf_entities(const std::string& text) {
  std::vector<Entity> entities;
  bool inside = false;
  for (const auto& [code, value] : dxf_pairs(text)) {
    if (code == 2 && value == "ENTITIES") inside = true;
    if (!inside) continue;
    if (code == 0) {
      if (value == "ENDSEC") break;
      entities.push_back({value, "", {}});
    } else if (!entities.empty()) {
      if (code == 8)
        entities.back().layer = value;
      else
        entities.back().numbers[code] = std::stod(value);
    }
  }
  return entities;
}

}  // namespace

TEST_CASE("section drawing: well-formed, with limits, symbols, datum and scale", "[plan][drawing]") {
  const std::string svg = section_svg(planned(with_hubs()));
  CHECK(well_formed(svg));
  for (const char* words :
       {"\u00d812.487 \u2013 12.513", "(0.49162 \u2013 0.49263)", "R13.000", ">A<", "scale 5:1", "\u00d82.98",
        "<title>", "5.940 \u2013 6.060", "film-advance roller", "licensed practice"}) {
    INFO(words);
    CHECK(svg.find(words) != std::string::npos);
  }
  CHECK(svg.find("nan") == std::string::npos);
  CHECK(svg.find("inf") == std::string::npos);
}

TEST_CASE("section drawing: true to scale", "[plan][drawing]") {
  // the extension lines of the largest diameter lie 12.5 mm * 5 apart; read from the outline's own path
  const auto p = planned(with_hubs());
  const std::string svg = section_svg(p);
  const std::regex kPath("<path d=\"(M[^\"]*Z)\" fill=\"none\" stroke-width=\"0.5\"/>");
  double lowest = 1e9, highest = -1e9, left = 1e9, right = -1e9;
  for (auto it = std::sregex_iterator(svg.begin(), svg.end(), kPath); it != std::sregex_iterator(); ++it) {
    const std::string d = (*it)[1];
    if (d.find('A') != std::string::npos) continue;
    const std::regex kPoint(R"re([ML]([-0-9.]+) ([-0-9.]+))re");
    int count = 0;
    double top = 1e9, bottom = -1e9, l = 1e9, r = -1e9;
    for (auto q = std::sregex_iterator(d.begin(), d.end(), kPoint); q != std::sregex_iterator();
         ++q, ++count) {
      l = std::min(l, std::stod((*q)[1])), r = std::max(r, std::stod((*q)[1]));
      top = std::min(top, std::stod((*q)[2])), bottom = std::max(bottom, std::stod((*q)[2]));
    }
    if (count < 10) continue;  // the form tool's side view
    lowest = std::min(lowest, top), highest = std::max(highest, bottom), left = std::min(left, l),
    right = std::max(right, r);
  }
  CHECK(highest - lowest == Approx(5 * 12.5).margin(0.003));
  CHECK(right - left == Approx(5 * 8.0).margin(0.003));
}

TEST_CASE("section drawing: hostile names, no width, no outside", "[plan][drawing]") {
  PartRecord r = demo_roller();
  r.name = "roller <script>\"&'\x01";
  r.features.erase(r.features.begin() + 3);  // the width
  const auto p = planned({}, r);
  const std::string svg = section_svg(p);
  CHECK(well_formed(svg));
  CHECK(svg.find("<script") == std::string::npos);
  CHECK(svg.find("width ?") != std::string::npos);
  PartRecord bore_only = demo_roller();
  bore_only.features = {bore_only.features[1]};
  const auto q = planned({}, bore_only);
  CHECK(section_svg(q).empty());
  CHECK(form_tool_svg(q).empty());
  CHECK(outline_dxf({}).empty());
}

TEST_CASE("section drawing: the same plan read back from JSON draws the same", "[plan][drawing]") {
  const auto p = planned(with_hubs());
  CHECK(section_svg(*parse_plan(plan_json(p))) == section_svg(p));
  CHECK(well_formed(form_tool_svg(p)));
}

TEST_CASE("outline: area of the half section by its points and volume by the profile agree (Pappus)",
          "[plan][drawing]") {
  const Profile profile = {
      {"hub", 1, 7, {}, {}, 3}, {"cone", 2, 8, 10.0, {}, 3}, {"rim", 6, 12.5, {}, 13.0, 3}};
  const auto points = half_section(profile);
  double moment = 0;  // integral of r dA
  for (std::size_t i = 0; i < points.size(); ++i) {
    const auto &a = points[i], &b = points[(i + 1) % points.size()];
    moment += (b.x() - a.x()) * (a.y() * a.y() + a.y() * b.y() + b.y() * b.y()) / 6;
  }
  CHECK(2 * kPi * std::fabs(moment) == Approx(mass_properties(profile, 1000)->volume_mm3).epsilon(3e-5));
}

TEST_CASE("outline: DXF is closed, mirrored and true to size", "[plan][drawing]") {
  const Profile profile = {
      {"hub", 1, 7, {}, {}, 3}, {"cone", 2, 8, 10.0, {}, 3}, {"rim", 6, 12.5, {}, 13.0, 3}};
  const std::string dxf = outline_dxf(profile);
  CHECK(dxf.ends_with("  0\nEOF\n"));
  const auto entities = dxf_entities(dxf);
  // every end of the outline meets exactly one other end
  std::map<std::pair<long, long>, int> ends;
  const auto end = [&](double x, double y) { ++ends[{std::lround(x * 1e4), std::lround(y * 1e4)}]; };
  double top = 0, length = 0;
  int arcs = 0;
  for (const Entity& e : entities) {
    if (e.layer != "OUTLINE") {
      CHECK(e.layer == "AXIS");
      continue;
    }
    const auto n = [&](int code) { return e.numbers.at(code); };
    if (e.type == "LINE") {
      end(n(10), n(20)), end(n(11), n(21));
      top = std::max({top, n(20), n(21)}), length = std::max({length, n(10), n(11)});
    } else {
      REQUIRE(e.type == "ARC");
      ++arcs;
      CHECK(n(40) == Approx(13));
      for (const int code : {50, 51})
        end(n(10) + n(40) * std::cos(rad(n(code))), n(20) + n(40) * std::sin(rad(n(code))));
      if (n(50) < 90) top = std::max(top, n(20) + n(40));
    }
  }
  for (const auto& [at, count] : ends) {
    INFO(at.first << ", " << at.second);
    CHECK(count == 2);
  }
  CHECK(arcs == 2);
  CHECK(top == Approx(6.25));
  CHECK(length == Approx(9));
  CHECK(well_formed(outline_svg(profile)));
}

// 2026-11: two widths of 6 mm, one to 0.01 and one to 0.2 mm, were both drawn 5.990 to 6.010, since a step found its
// limits by equal numbers.
TEST_CASE("section drawing: two equal widths keep limits of their own", "[plan][drawing]") {
  PartRecord record = demo_roller();
  std::erase_if(record.features, [](const Feature& f) { return f.kind == FeatureKind::kWidth; });
  for (const char* name : {"outside width", "hub width"}) {
    Feature width;
    width.name = name;
    width.kind = FeatureKind::kWidth;
    width.circle = CircleResult{6, 0.01, {}, 0, {}};
    record.features.push_back(width);
  }
  PlanOptions o;
  o.tolerances = {{"outside width", "+-0.01mm"}, {"hub width", "+-0.2mm"}};
  o.chosen_mm = {{"outside width", 6.0}, {"hub width", 6.0}};
  o.steps = *parse_steps("name,length\nhub,6\noutside,6\n");
  o.width_of = {{"outside width", "outside"}, {"hub width", "hub"}};
  const std::string svg = section_svg(planned(o, record));
  CHECK(svg.find("5.990 \u2013 6.010") != std::string::npos);
  CHECK(svg.find("5.800 \u2013 6.200") != std::string::npos);
}
