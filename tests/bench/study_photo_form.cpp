// Form on photographed parts, through the built program: what of the outline is left out as a defect, whether the ovality
// holds, and whether the figures printed for one feature agree. Parts of 20 mm, square-on at a known scale.
// Usage: study_photo_form [PARTS A ROW = 24] [SEED = 0] [only rows whose name holds these words, part by part]
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <functional>
#include <nlohmann/json.hpp>
#include <random>
#include <string>
#include <vector>

#include "cli/process.hpp"
#include "render/image_file.hpp"
#include "render/scene.hpp"

using namespace rondure;
using namespace rondure::render;

namespace {

constexpr double kPxPerMm = 25, kRadius_mm = 10;

int seed = 0;
std::string only;

class Chance {
public:
  explicit Chance(int number) : random_(static_cast<std::uint64_t>(15485863 * (number + 1))) {}
  double operator()(double lo, double hi) {
    return lo + (hi - lo) * static_cast<double>(random_() >> 11) * 0x1p-53;
  }

private:
  std::mt19937_64 random_;
};

Scene ground(Chance& chance, int number) {
  Scene scene;
  scene.camera = Camera::square_on(640, 600, kPxPerMm);
  scene.ground = grey(chance(0.5, 0.75));
  scene.optics.blur_px = std::sqrt(std::pow(chance(0.6, 1.3), 2) - 1.0 / 12);
  scene.sensor = {.full_well_e = std::exp(chance(std::log(2000.0), std::log(15000.0))),
                  .read_noise_e = 5,
                  .seed = static_cast<std::uint64_t>(number + 1)};
  Layer part;
  part.center = {chance(-0.5, 0.5), chance(-0.5, 0.5)};
  part.profile.radius_mm = kRadius_mm;
  part.level = grey(chance(0.03, 0.2));
  scene.layers.push_back(part);
  return scene;
}

// Undulations of 0.6 to 3 um each, phases free.
void texture(Profile& profile, Chance& chance, int first, int last) {
  for (int k = first; k <= last; ++k)
    profile.lobes.push_back({k, 0.0006 * std::pow(5.0, chance(0, 1)), chance(0, 360)});
}

struct Row {
  const char* what;
  double ovality_mm;  // difference of the diameters
  std::function<void(Profile&, Chance&)> form;
  double defect_deg = 0;  // truly there
};

double span_deg(const nlohmann::json& sector) {
  return std::fmod(sector["to_deg"].get<double>() - sector["from_deg"].get<double>() + 720, 360);
}

void study(const Row& row, int parts) {
  const Folder folder;
  double off2 = 0, worst = 0, lost = 0, apart = 0, diameter2 = 0, u2 = 0;
  int count = 0, held = 0, with_loss = 0, outside = 0, told_wrong = 0, diameter_held = 0;
  for (int number = 0; number < parts; ++number) {
    Chance chance(number + 1000 * seed);
    Scene scene = ground(chance, number);
    Profile& profile = scene.layers.front().profile;
    if (row.ovality_mm > 0) profile.lobes.push_back({2, row.ovality_mm / 4, chance(0, 180)});
    row.form(profile, chance);
    const std::string file = folder.path("part.png");
    write_png(file, take_picture(scene));
    RunOptions how;
    how.program = (std::filesystem::read_symlink("/proc/self/exe").parent_path() / "../../rondure")
                      .lexically_normal()
                      .string();
    const Run run = rondure_run({"measure", file, "--scale", fmt::format("{}px/mm+-0.0001", kPxPerMm),
                                 "--json", "-", "--quiet", "--threads", "1"},
                                how);
    if (run.exit_code != 0) {
      fmt::print(stderr, "{}, part {}: {}", row.what, number, run.err);
      continue;
    }
    const auto f = nlohmann::json::parse(run.out)["features"][0];
    const auto& e = f["ellipse"];
    const double ovality = e["ovality_mm"], u = e["u_ovality_mm"], lo = e["ovality_interval95_mm"][0],
                 hi = e["ovality_interval95_mm"][1];
    ++count;
    held += lo <= row.ovality_mm && row.ovality_mm <= hi;
    const double z = (ovality - row.ovality_mm) / u;
    off2 += z * z, worst = std::max(worst, std::abs(z)), u2 += u * u;
    apart = std::max(apart, std::abs(e["major_diameter_mm"].get<double>() -
                                     e["minor_diameter_mm"].get<double>() - ovality));
    if (!only.empty())
      fmt::print("  {:>3} ovality {:.4f} u {:.4f} [{:.4f}, {:.4f}] {:.1f} u off, {} left out\n", number,
                 ovality, u, lo, hi, z, f.contains("excluded") ? f["excluded"].dump() : "nothing");
    outside += ovality < lo || ovality > hi;
    const bool oval = f["verdict"] == "oval";
    told_wrong += (oval && lo <= 0) || (f["verdict"] == "round" && lo > 0);
    double left_out = 0;
    if (f.contains("excluded"))
      for (const auto& s : f["excluded"]) left_out += span_deg(s);
    lost += left_out, with_loss += left_out > row.defect_deg + 2;
    diameter2 += std::pow((f["circle"]["diameter_mm"].get<double>() - 2 * kRadius_mm) * 1000, 2);
    diameter_held += f["circle"]["interval95_mm"][0] <= 2 * kRadius_mm &&
                     2 * kRadius_mm <= f["circle"]["interval95_mm"][1];
  }
  const double n = std::max(1, count);
  fmt::print(
      "{:<40}{:>4}{:>8.1f}{:>8.1f}{:>8.0f}{:>8.1f}{:>8.1f}{:>9.4f}{:>10.4f}{:>6}{:>6}{:>9.1f}{:>7.0f}\n",
      row.what, count, lost / n, 100 * with_loss / n, 100 * held / n, std::sqrt(off2 / n), worst,
      std::sqrt(u2 / n), apart, outside, told_wrong, std::sqrt(diameter2 / n), 100 * diameter_held / n);
  std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
  const int parts = argc > 1 ? std::atoi(argv[1]) : 24;
  if (argc > 2) seed = std::atoi(argv[2]);
  if (argc > 3) only = argv[3];
  fmt::print(
      "Parts of 20 mm with form, photographed square-on at {} px/mm (640 x 600), measured by the built "
      "program; seed {}.\n"
      "lost: mean of the degrees left out; more: parts that lose over 2 deg more than their defect, %; held: "
      "95 % intervals\n"
      "of the ovality that hold the truth, %; rms and worst error over u; u, and the largest difference "
      "between the ovality\n"
      "and that of the axes printed, mm; out: ovality outside its own interval; odd: verdict against the "
      "interval; then the\n"
      "diameter: rms error in um, intervals that hold, "
      "%\n\n{:<40}{:>4}{:>8}{:>8}{:>8}{:>8}{:>8}{:>9}{:>10}{:>6}{:>6}{:>9}{:>7}\n",
      kPxPerMm, seed, "part", "n", "lost", "more", "held", "rms/u", "worst", "u", "axes", "out", "odd", "dia",
      "held");
  const Row rows[] = {
      {"round", 0, [](Profile&, Chance&) {}},
      {"oval 0.2003, orders 3-17 of 0.6-3 um", 0.2003, [](Profile& p, Chance& c) { texture(p, c, 3, 17); }},
      {"round, orders 3-17 of 0.6-3 um", 0, [](Profile& p, Chance& c) { texture(p, c, 3, 17); }},
      {"oval 0.02, orders 3-30 of 0.6-3 um", 0.02, [](Profile& p, Chance& c) { texture(p, c, 3, 30); }},
      {"three lobes of 0.1 mm", 0,
       [](Profile& p, Chance& c) {
         p.lobes.push_back({3, 0.05, c(0, 360)});
       }},
      {"three lobes of 0.1 mm, oval 0.05", 0.05,
       [](Profile& p, Chance& c) {
         p.lobes.push_back({3, 0.05, c(0, 360)});
       }},
      {"texture and a nib", 0.05,
       [](Profile& p, Chance& c) {
         texture(p, c, 3, 17);
         p.bumps.push_back({c(0, 360), c(0.6, 1.5), c(0.05, 0.2)});
       },
       8},
      {"texture and a flat of 25 deg, 0.04 low", 0.05,
       [](Profile& p, Chance& c) {
         texture(p, c, 3, 17);
         p.bumps.push_back({c(0, 360), kRadius_mm * rad(25), -0.04});
       },
       25},
  };
  for (const Row& row : rows)
    if (std::string(row.what).find(only) != std::string::npos) study(row, parts);
}
