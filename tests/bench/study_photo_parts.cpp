// Parts as they are on the bench, photographed square-on at a known scale and measured end to end by the
// built program: nibs, chips and dust on the edge, a 60 degree arc, a bore off its centre, two parts in one
// picture, clipped light, shadow on one side. Usage: study_photo_parts [SCENES A ROW]
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <functional>
#include <random>
#include <sstream>
#include <vector>

#include "cli/process.hpp"
#include "render/image_file.hpp"
#include "render/scene.hpp"

using namespace rondure;
using namespace rondure::render;

namespace {

constexpr double kPxPerMm = 25;

class Chance {
public:
  explicit Chance(int number) : random_(static_cast<std::uint64_t>(86028121 * (number + 1))) {}
  double operator()(double lo, double hi) {
    return lo + (hi - lo) * static_cast<double>(random_() >> 11) * 0x1p-53;
  }

private:
  std::mt19937_64 random_;
};

Layer disc(Eigen::Vector2d center_mm, double radius_mm, double level) {
  Layer layer;
  layer.center = center_mm;
  layer.profile.radius_mm = radius_mm;
  layer.level = grey(level);
  return layer;
}

// 640 x 600, blur 0.6 to 1.3 px, noise of 2,000 to 15,000 electrons.
Scene ground(Chance& chance, int number) {
  Scene scene;
  scene.camera = Camera::square_on(640, 600, kPxPerMm);
  scene.ground = grey(chance(0.5, 0.75));
  scene.optics.blur_px = std::sqrt(std::pow(chance(0.6, 1.3), 2) - 1.0 / 12);
  scene.sensor = {.full_well_e = std::exp(chance(std::log(2000.0), std::log(15000.0))),
                  .read_noise_e = 5,
                  .seed = static_cast<std::uint64_t>(number + 1)};
  scene.light.fall_x = chance(-0.1, 0.1), scene.light.fall_y = chance(-0.1, 0.1);
  return scene;
}

struct Seen {
  std::string name;
  double diameter_mm = 0, u_mm = 0, lo_mm = 0, hi_mm = 0, off_mm = 0, u_off_mm = 0;
};

std::vector<Seen> measured(const Folder& folder, const Scene& scene, int quality, std::string* error) {
  const Image image = take_picture(scene);
  const std::string file = folder.path(quality ? "part.jpg" : "part.png");
  quality ? write_jpeg(file, image, quality) : write_png(file, image);
  RunOptions how;
  how.program = (std::filesystem::read_symlink("/proc/self/exe").parent_path() / "../../rondure")
                    .lexically_normal()
                    .string();
  const Run run = rondure_run(
      {"measure", file, "--scale", fmt::format("{}px/mm", kPxPerMm), "--csv", "-", "--threads", "1"}, how);
  *error = run.err;
  std::vector<Seen> seen;
  std::istringstream lines(run.out);
  std::string line;
  std::getline(lines, line);
  while (std::getline(lines, line)) {
    // "groove, outer wall" is quoted: its comma is no separator.
    std::vector<std::string> field(1);
    bool quoted = false;
    for (const char c : line)
      if (c == '"')
        quoted = !quoted;
      else if (c == ',' && !quoted)
        field.emplace_back();
      else
        field.back() += c;
    const auto number = [&](std::size_t i) {
      return i < field.size() && !field[i].empty() ? std::atof(field[i].c_str()) : 0.0;
    };
    if (field.size() > 13 && !field[1].empty())
      seen.push_back({field[1], number(3), number(4), number(5), number(6), number(12), number(13)});
  }
  return seen;
}

struct Wanted {
  double radius_mm = 0;
  double off_mm = -1;  // of a bore; < 0: not asked
};

struct Row {
  const char* what;
  std::function<Scene(Chance&, int, std::vector<Wanted>&)> draw;
};

void study(const Row& row, int scenes) {
  const Folder folder;
  double sum = 0, square = 0, worst = 0, u2 = 0, off_worst = 0, off2 = 0;
  int count = 0, missed = 0, held = 0, within = 0, extra = 0, offs = 0, off_within = 0;
  for (int number = 0; number < scenes; ++number) {
    Chance chance(number);
    std::vector<Wanted> wanted;
    const Scene scene = row.draw(chance, number, wanted);
    static constexpr int kQuality[] = {0, 95, 85, 75};
    std::string error;
    const auto seen = measured(folder, scene, kQuality[number % 4], &error);
    extra += std::max(0, static_cast<int>(seen.size()) - static_cast<int>(wanted.size()));
    for (const Wanted& w : wanted) {
      const Seen* best = nullptr;
      for (const Seen& s : seen)
        if (std::abs(s.diameter_mm / 2 / w.radius_mm - 1) < 0.05 &&
            (!best ||
             std::abs(s.diameter_mm - 2 * w.radius_mm) < std::abs(best->diameter_mm - 2 * w.radius_mm)))
          best = &s;
      if (!best) {
        ++missed;
        fmt::print(stderr, "{}, scene {}: radius {:.3f} mm not found; {} found {}", row.what, number,
                   w.radius_mm, seen.size(), error.empty() ? "\n" : error);
        continue;
      }
      const double error_px = (best->diameter_mm / 2 - w.radius_mm) * kPxPerMm;
      ++count, sum += error_px, square += error_px * error_px, worst = std::max(worst, std::abs(error_px));
      u2 += std::pow(best->u_mm / 2 * kPxPerMm, 2);
      held += best->lo_mm <= 2 * w.radius_mm && 2 * w.radius_mm <= best->hi_mm;
      within += std::abs(best->diameter_mm - 2 * w.radius_mm) <= 2 * best->u_mm;
      if (w.off_mm >= 0) {
        const double miss = std::abs(best->off_mm - w.off_mm);
        ++offs, off2 += miss * miss, off_worst = std::max(off_worst, miss),
                                     off_within += miss <= 2 * best->u_off_mm;
      }
    }
  }
  const double n = std::max(1, count);
  fmt::print("{:<44} {:>3} {:>2} {:>2} {:>+8.4f} {:>7.4f} {:>7.4f} {:>7.4f} {:>6.1f} {:>6.1f}", row.what,
             count, missed, extra, sum / n, std::sqrt(square / n), worst, std::sqrt(u2 / n), 100 * held / n,
             100 * within / n);
  if (offs)
    fmt::print("   centre {:.5f} mm rms, worst {:.5f}, within 2 u {} of {}", std::sqrt(off2 / offs),
               off_worst, off_within, offs);
  fmt::print("\n");
  std::fflush(stdout);
}

Scene marked(Chance& chance, int number, std::vector<Wanted>& wanted, int nibs, int chips, int dust) {
  Scene scene = ground(chance, number);
  const double radius_mm = chance(6, 10);
  Layer part = disc({chance(-0.5, 0.5), chance(-0.5, 0.5)}, radius_mm, chance(0.03, 0.2));
  for (int i = 0; i < nibs; ++i)
    part.profile.bumps.push_back({chance(0, 360), chance(0.4, 1.5), chance(0.05, 0.3)});
  for (int i = 0; i < chips; ++i)
    part.profile.bumps.push_back({chance(0, 360), chance(0.4, 1.5), -chance(0.05, 0.3)});
  const double level = part.level[0];
  scene.layers.push_back(part);
  for (int i = 0; i < dust; ++i) {
    const double a = rad(chance(0, 360)), b = a + chance(-1, 1);
    Layer spot;
    spot.kind = Layer::Kind::kSpot;
    spot.center = part.center + radius_mm * Eigen::Vector2d(std::cos(a), std::sin(a));
    spot.end = spot.center + chance(0.2, 1.0) * Eigen::Vector2d(std::cos(b), std::sin(b));
    spot.profile.radius_mm = chance(0.03, 0.15);
    spot.level = grey(chance(0, 1) < 0.5 ? level * 1.5 : scene.ground[0] * 0.8);
    scene.layers.push_back(spot);
  }
  wanted.push_back({radius_mm});
  return scene;
}

}  // namespace

int main(int argc, char** argv) {
  const int scenes = argc > 1 ? std::atoi(argv[1]) : 40;
  fmt::print(
      "Parts photographed square-on at {} px/mm (640 x 600, sRGB, PNG and JPEG 95, 85, 75), measured by the "
      "built program with\n"
      "--scale. Error of the radius in px; no: not found; +: edges reported besides; u: as given (the "
      "camera's curve is not known\n"
      "here, which is nearly all of it); held: 95 % intervals that hold the truth; 2 u: errors within 2 "
      "u.\n\n",
      kPxPerMm);
  fmt::print("{:<44} {:>3} {:>2} {:>2} {:>8} {:>7} {:>7} {:>7} {:>6} {:>6}\n", "row", "n", "no", "+", "bias",
             "rms", "worst", "u", "held %", "2 u %");
  const auto wanted_disc = [](Scene& scene, std::vector<Wanted>& wanted, const Layer& layer) {
    scene.layers.push_back(layer);
    wanted.push_back({layer.profile.radius_mm});
  };
  const Row rows[] = {
      {"whole, clean", [](Chance& c, int n, std::vector<Wanted>& w) { return marked(c, n, w, 0, 0, 0); }},
      {"one nib", [](Chance& c, int n, std::vector<Wanted>& w) { return marked(c, n, w, 1, 0, 0); }},
      {"one chip", [](Chance& c, int n, std::vector<Wanted>& w) { return marked(c, n, w, 0, 1, 0); }},
      {"three specks of dust or fibre on the edge",
       [](Chance& c, int n, std::vector<Wanted>& w) { return marked(c, n, w, 0, 0, 3); }},
      {"nib, chip and two specks",
       [](Chance& c, int n, std::vector<Wanted>& w) { return marked(c, n, w, 1, 1, 2); }},
      {"60 deg of the outline in the picture",
       [](Chance& c, int n, std::vector<Wanted>& w) {
         Scene scene = ground(c, n);
         // The chord across 60 deg stands on the picture's lower edge: the centre lies R cos 30 deg below it.
         const double radius_mm = c(10, 14), below_mm = 300 / kPxPerMm + radius_mm * std::cos(rad(30));
         scene.layers.push_back(disc({c(-0.5, 0.5), -below_mm}, radius_mm, c(0.03, 0.2)));
         w.push_back({radius_mm});
         return scene;
       }},
      {"bore 0.12 mm off centre",
       [](Chance& c, int n, std::vector<Wanted>& w) {
         Scene scene = ground(c, n);
         const double outer = c(6, 10), inner = c(1.5, 3), a = c(0, 2 * kPi);
         scene.layers.push_back(disc({0, 0}, outer, c(0.03, 0.2)));
         scene.layers.push_back(disc({0.12 * std::cos(a), 0.12 * std::sin(a)}, inner, scene.ground[0]));
         w.push_back({outer}), w.push_back({inner, 0.12});
         return scene;
       }},
      {"two parts in one picture",
       [&](Chance& c, int n, std::vector<Wanted>& w) {
         Scene scene = ground(c, n);
         wanted_disc(scene, w, disc({-6, c(-3, 3)}, c(4, 5.5), c(0.03, 0.2)));
         wanted_disc(scene, w, disc({6, c(-3, 3)}, c(2.5, 3.8), c(0.03, 0.2)));
         return scene;
       }},
      {"shadow on one side",
       [](Chance& c, int n, std::vector<Wanted>& w) {
         Scene scene = marked(c, n, w, 0, 0, 0);
         const Layer& part = scene.layers.front();
         const double a = c(0, 2 * kPi);
         scene.light.shadows.push_back({part.center + 2.0 * Eigen::Vector2d(std::cos(a), std::sin(a)),
                                        part.profile.radius_mm, 2.0, c(0.2, 0.5)});
         return scene;
       }},
      {"white 1.3 times over-exposed",
       [](Chance& c, int n, std::vector<Wanted>& w) {
         Scene scene = marked(c, n, w, 0, 0, 0);
         scene.light.exposure = 1.3 / scene.ground[0];
         return scene;
       }},
      {"white 2 times over-exposed",
       [](Chance& c, int n, std::vector<Wanted>& w) {
         Scene scene = marked(c, n, w, 0, 0, 0);
         scene.light.exposure = 2 / scene.ground[0];
         return scene;
       }},
  };
  for (const Row& row : rows) study(row, scenes);
}
