// Whole `rondure measure` of 24-megapixel colour JPEGs against reading the same file with cv::imread alone: time and
// memory, in pairs. One disc of 1500 px radius; a roller on its side (--side). Usage: speed_measure_photo [PAIRS]
// Or a photograph that one has, with the words behind it for `measure`:
//   speed_measure_photo PAIRS coins.jpg --board 9x6 --square 10mm
//
// Each run is a process of its own (this program starts itself for cv::imread); memory is the largest
// resident set.
#include <fcntl.h>
#include <fmt/format.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <string>
#include <vector>

#include "render/image_file.hpp"
#include "render/scene.hpp"
#include "rondure/core/geometry.hpp"

using namespace rondure;

namespace {

struct Cost {
  double wall_s = 0, cpu_s = 0, memory_mb = 0;
};

Cost cost_of(const std::vector<std::string>& command) {
  std::vector<char*> argv;
  for (const std::string& word : command) argv.push_back(const_cast<char*>(word.c_str()));
  argv.push_back(nullptr);
  const auto start = std::chrono::steady_clock::now();
  const pid_t child = fork();
  if (child == 0) {
    dup2(open("/dev/null", O_WRONLY), 1);
    execv(argv[0], argv.data());
    _exit(127);
  }
  int status = 0;
  rusage used{};
  wait4(child, &status, 0, &used);
  if (!WIFEXITED(status) || WEXITSTATUS(status) != 0) {  // its time would be no time of the task
    fmt::print(stderr, "{} failed\n", command[0]);
    std::exit(1);
  }
  const auto seconds = [](const timeval& t) {
    return static_cast<double>(t.tv_sec) + 1e-6 * static_cast<double>(t.tv_usec);
  };
  return {std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count(),
          seconds(used.ru_utime) + seconds(used.ru_stime), static_cast<double>(used.ru_maxrss) / 1024};
}

double median_of(std::vector<double> v) {
  std::sort(v.begin(), v.end());
  return v[v.size() / 2];
}

bool write_photograph(const std::string& file) {
  render::Scene scene;
  scene.camera = render::Camera::square_on(6000, 4000, 100);
  scene.ground = {0.72, 0.70, 0.66};
  scene.channels = 3;
  render::Layer disc;
  disc.center = {0.003, -0.002};
  disc.profile.radius_mm = 15;
  disc.level = {0.16, 0.14, 0.12};
  scene.layers.push_back(disc);
  scene.light.fall_x = 0.05;
  scene.sensor = {.full_well_e = 8000, .read_noise_e = 5, .seed = 1};
  return render::write_jpeg(file, render::take_picture(scene), 92);
}

// A rim of 3600 px and 1800 px wide with a hub beside it, its axis turned by 3 degrees, dark before light.
bool write_side_view(const std::string& file) {
  constexpr double kFine = 16;  // parts of a pixel
  std::vector<cv::Point> outline;
  const std::vector<std::pair<double, double>> half = {{0, 1780},    {450, 1800},  {900, 1806}, {1350, 1800},
                                                       {1800, 1780}, {1800, 1000}, {2400, 1000}};
  const auto put = [&](double z, double r) {
    const double a = 3 * kPi / 180, x = z - 1200;
    outline.emplace_back(static_cast<int>(kFine * (3000 + x * std::cos(a) - r * std::sin(a))),
                         static_cast<int>(kFine * (2000 + x * std::sin(a) + r * std::cos(a))));
  };
  for (const auto& [z, r] : half) put(z, r);
  for (auto p = half.rbegin(); p != half.rend(); ++p) put(p->first, -p->second);
  cv::Mat picture(4000, 6000, CV_8UC3, cv::Scalar(205, 210, 212)), noise(4000, 6000, CV_8UC3);
  cv::fillPoly(picture, std::vector<std::vector<cv::Point>>{outline}, cv::Scalar(24, 26, 28), cv::LINE_AA, 4);
  cv::GaussianBlur(picture, picture, {}, 0.9);
  cv::setRNGSeed(1);
  cv::randn(noise, 8, 2);
  cv::add(picture, noise, picture);
  return cv::imwrite(file, picture, {cv::IMWRITE_JPEG_QUALITY, 92});
}

// One table: `words` behind the file's name, against reading it.
void compare_costs(const std::string& self, const std::string& file, const std::vector<std::string>& words,
                   int pairs) {
  const std::string program =
      (std::filesystem::path(self).parent_path() / "../../rondure").lexically_normal().string();
  fmt::print("{:<22} {:>8} {:>8} {:>10}   {:>8} {:>8} {:>8}\n", "", "wall s", "cpu s", "memory MB", "x wall",
             "x cpu", "x memory");
  struct Way {
    const char* name;
    std::vector<std::string> threads;
  };
  std::vector<Way> ways{{"all cores", {}}};
  if (std::ranges::count(words, "--side") == 0)
    ways.push_back({"--threads 1", {"--threads", "1"}});  // a side view takes no such option
  for (const Way& way : ways) {
    std::vector<double> wall, cpu, memory, wall_ratio, cpu_ratio, memory_ratio, read_wall, read_cpu,
        read_memory;
    for (int i = 0; i < pairs; ++i) {
      const Cost read = cost_of({self, "--imread", file});
      std::vector<std::string> command = {program, "measure", file};
      command.insert(command.end(), words.begin(), words.end());
      command.insert(command.end(), way.threads.begin(), way.threads.end());
      const Cost measured = cost_of(command);
      wall.push_back(measured.wall_s), cpu.push_back(measured.cpu_s), memory.push_back(measured.memory_mb);
      read_wall.push_back(read.wall_s), read_cpu.push_back(read.cpu_s), read_memory.push_back(read.memory_mb);
      wall_ratio.push_back(measured.wall_s / read.wall_s), cpu_ratio.push_back(measured.cpu_s / read.cpu_s);
      memory_ratio.push_back(measured.memory_mb / read.memory_mb);
    }
    fmt::print("{:<22} {:>8.3f} {:>8.3f} {:>10.0f}\n", "cv::imread alone", median_of(read_wall),
               median_of(read_cpu), median_of(read_memory));
    fmt::print("{:<22} {:>8.3f} {:>8.3f} {:>10.0f}   {:>8.2f} {:>8.2f} {:>8.2f}\n",
               std::string("measure, ") + way.name, median_of(wall), median_of(cpu), median_of(memory),
               median_of(wall_ratio), median_of(cpu_ratio), median_of(memory_ratio));
  }
}

}  // namespace

int main(int argc, char** argv) {
  if (argc == 3 && std::string(argv[1]) == "--imread") return cv::imread(argv[2]).empty() ? 1 : 0;
  const int pairs = argc > 1 ? std::atoi(argv[1]) : 7;
  const std::string self = std::filesystem::read_symlink("/proc/self/exe").string();
  if (argc > 2) {
    fmt::print("{} ({:.1f} MB); {} pairs, median ratios.\n\n", argv[2],
               static_cast<double>(std::filesystem::file_size(argv[2])) / 1e6, pairs);
    compare_costs(self, argv[2], std::vector<std::string>(argv + 3, argv + argc), pairs);
    return 0;
  }
  struct Picture {
    const char* what;
    bool (*write)(const std::string&);
    std::vector<std::string> words;
  };
  for (const Picture& picture : {Picture{"disc of 1500 px", write_photograph, {"--scale", "100px/mm"}},
                                 Picture{"roller on its side, --side",
                                         write_side_view,
                                         {"--scale", "100px/mm", "--side", "--distance", "100000mm"}}}) {
    const std::string file =
        (std::filesystem::temp_directory_path() / fmt::format("rondure-24mp-{}.jpg", getpid())).string();
    if (!picture.write(file)) return 1;
    fmt::print("24 megapixels, colour, JPEG 92 ({:.1f} MB), {}; {} pairs, median ratios.\n\n",
               static_cast<double>(std::filesystem::file_size(file)) / 1e6, picture.what, pairs);
    compare_costs(self, file, picture.words, pairs);
    std::filesystem::remove(file);
    fmt::print("\n");
  }
}
