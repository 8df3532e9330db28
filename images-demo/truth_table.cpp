// Prints measured minus true for one demo picture: truth_table TRUTH.json PICTURE PART.json
#include <cmath>
#include <cstdio>
#include <fstream>
#include <nlohmann/json.hpp>
#include <string>

using nlohmann::json;

namespace {

json read(const char* file) {
  std::ifstream in(file);
  return json::parse(in, nullptr, false);
}

void row(const std::string& feature, const char* what, double measured, double truth, double u) {
  std::printf("  %-10s %-13s %10.4f %10.4f %+9.4f", feature.c_str(), what, measured, truth, measured - truth);
  if (u > 0) std::printf(" %9.4f %+6.1f", u, (measured - truth) / u);
  std::printf("\n");
}

// The true feature that a measured one is: the nearest in diameter.
const json* match(const json& features, double diameter_mm) {
  const json* best = nullptr;
  for (const auto& f : features)
    if (!best || std::abs(f["diameter_mm"].get<double>() - diameter_mm) <
                     std::abs((*best)["diameter_mm"].get<double>() - diameter_mm))
      best = &f;
  return best;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 4) return std::fprintf(stderr, "usage: truth_table TRUTH.json PICTURE PART.json\n"), 2;
  const json truth = read(argv[1]), record = read(argv[3]);
  if (truth.is_discarded() || record.is_discarded())
    return std::fprintf(stderr, "truth_table: cannot read the files\n"), 1;
  std::printf("  %-10s %-13s %10s %10s %9s %9s %6s\n", "feature", "what", "measured", "true", "minus", "u",
              "in u");
  for (const auto& picture : truth["pictures"]) {
    if (picture["picture"] != argv[2]) continue;
    for (const auto& f : record["features"]) {
      if (!f.contains("circle") || f.value("/source/type"_json_pointer, "") != "photo") continue;
      const json* t = match(picture["features"], f["circle"]["diameter_mm"]);
      const std::string name = f["name"];
      row(name, "diameter mm", f["circle"]["diameter_mm"], (*t)["diameter_mm"],
          f["circle"].value("u_diameter_mm", 0.0));
      if (f.contains("ellipse"))
        row(name, "ovality mm", f["ellipse"].value("ovality_mm", 0.0), (*t)["ovality_mm"],
            f["ellipse"].value("u_ovality_mm", 0.0));
      if (t->contains("major_angle_deg") && f.contains("/ellipse/major_angle_deg"_json_pointer))
        row(name, "long axis deg", f["ellipse"]["major_angle_deg"], (*t)["major_angle_deg"], 0);
    }
  }
  return 0;
}
