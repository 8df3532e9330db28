// Time of `measure --one-part` over the time of measuring its views one by one, through the program, in one run.
// The three views of images-demo/one-part are enlarged four times (4000 x 3000 px, bilinear; the camera with them) and
// given again and again until there are ten: what they show is as before, the work is that of large pictures.
#include <sys/resource.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "render/image_file.hpp"
#include "rondure/photo/picture.hpp"

using namespace rondure;
namespace fs = std::filesystem;

namespace {

render::Image enlarged(const Picture& picture, int times) {
  render::Image out;
  out.width_px = times * picture.width_px, out.height_px = times * picture.height_px;
  out.samples.resize(static_cast<std::size_t>(out.width_px) * static_cast<std::size_t>(out.height_px));
  const auto place = [&](int k, int most) { return std::clamp((k + 0.5) / times - 0.5, 0.0, most - 1.001); };
  for (int y = 0; y < out.height_px; ++y)
    for (int x = 0; x < out.width_px; ++x) {
      const double u = place(x, picture.width_px), v = place(y, picture.height_px);
      const int i = static_cast<int>(u), j = static_cast<int>(v);
      const double a = u - i, b = v - j;
      const double light = (1 - b) * ((1 - a) * picture.at(i, j) + a * picture.at(i + 1, j)) +
                           b * ((1 - a) * picture.at(i, j + 1) + a * picture.at(i + 1, j + 1));
      out.samples[static_cast<std::size_t>(y) * static_cast<std::size_t>(out.width_px) +
                  static_cast<std::size_t>(x)] = static_cast<std::uint16_t>(std::lround(light));
    }
  return out;
}

void write_camera(const fs::path& from, int times, const fs::path& to) {
  std::ifstream in(from);
  auto camera = nlohmann::ordered_json::parse(in);
  for (const char* key : {"width_px", "height_px"})
    camera["picture"][key] = times * camera["picture"][key].get<int>();
  for (const char* key : {"focal_x_px", "focal_y_px"})
    camera["lens"][key] = times * camera["lens"][key].get<double>();
  for (const char* key : {"center_x_px", "center_y_px"})
    camera["lens"][key] = times * (camera["lens"][key].get<double>() + 0.5) - 0.5;
  std::ofstream(to) << camera;
}

struct Time {
  double processor_s = 0, wall_s = 0;
};
double processor_s() {
  rusage used{};
  getrusage(RUSAGE_CHILDREN, &used);
  return static_cast<double>(used.ru_utime.tv_sec + used.ru_stime.tv_sec) +
         1e-6 * static_cast<double>(used.ru_utime.tv_usec + used.ru_stime.tv_usec);
}
Time timed(const std::string& arguments) {
  const double before = processor_s();
  const auto start = std::chrono::steady_clock::now();
  if (std::system((std::string(RONDURE_PROGRAM) + " " + arguments).c_str()) != 0) std::exit(1);
  return {processor_s() - before,
          std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count()};
}

}  // namespace

int main(int argc, char** argv) {
  const int times = argc > 1 ? std::atoi(argv[1]) : 4, count = argc > 2 ? std::atoi(argv[2]) : 10;
  const fs::path demo = fs::path(RONDURE_TEST_DATA) / "../../images-demo/one-part",
                 folder = fs::temp_directory_path() / ("rondure-views-" + std::to_string(::getpid()));
  fs::create_directories(folder);
  write_camera(demo / "camera.json", times, folder / "camera.json");
  std::vector<std::string> files;
  int width = 0, height = 0;
  for (int k = 0; k < count; ++k) {
    files.push_back((folder / (std::to_string(k) + ".jpg")).string());
    if (k < 3) {
      const auto picture = load_picture(demo / ("view_" + std::to_string(k + 1) + ".jpg"));
      if (!picture) return 1;
      const render::Image image = enlarged(*picture, times);
      width = image.width_px, height = image.height_px;
      render::write_jpeg(files.back(), image, 92);
    } else {
      fs::copy_file(files[static_cast<std::size_t>(k % 3)], files.back());
    }
  }
  const std::string common =
      " --board 9x6 --square 5mm --quiet --calibration " + (folder / "camera.json").string();
  Time alone;
  std::string all = "measure --one-part";
  for (const std::string& file : files) {
    const Time one = timed("measure " + file + common);
    alone.processor_s += one.processor_s, alone.wall_s += one.wall_s;
    all += " " + file;
  }
  const Time joint = timed(all + common);
  std::printf("%d views of %d x %d px\n", count, width, height);
  std::printf("processor  one by one %6.2f s, together %6.2f s, ratio %.2f\n", alone.processor_s,
              joint.processor_s, joint.processor_s / alone.processor_s);
  std::printf("wall       one by one %6.2f s, together %6.2f s, ratio %.2f\n", alone.wall_s, joint.wall_s,
              joint.wall_s / alone.wall_s);
  fs::remove_all(folder);
  return 0;
}
