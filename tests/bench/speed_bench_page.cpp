// Speed of the page at the bench, over HTTP on the loopback address, as a browser on this computer has it.
// Usage: speed_bench_page RONDURE [TABLE.csv]
//
// Times are the median and the best of some repetitions; they depend on the machine, the ratios hardly. Bounds wanted:
// a reading answered within 30 ms with 200 on record, the first view within 300 ms, a photograph of 24 megapixels with
// its edges within 0.5 s after `measure` of it would have ended, 200 parts as smooth as 2, others answered meanwhile.
#define CPPHTTPLIB_OPENSSL_SUPPORT  // as Debian's library was built
#include <fmt/format.h>
#include <httplib.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>
#include <regex>
#include <thread>
#include <vector>

static const char* program_of_rondure = "build/rondure";
#undef RONDURE_PROGRAM  // the build names one, the command line another
#define RONDURE_PROGRAM program_of_rondure
#include "cli/bench_server.hpp"
#include "cli/process.hpp"

using json = nlohmann::json;
namespace fs = std::filesystem;

namespace {

struct Times {
  double median_ms = 0, best_ms = 0;
};
Times times_of(std::vector<double> all_ms) {
  std::sort(all_ms.begin(), all_ms.end());
  return {all_ms[all_ms.size() / 2], all_ms[0]};
}
template <class Work>
Times timed(int repeats, Work work) {
  std::vector<double> all;
  for (int i = 0; i < repeats; ++i) {
    const auto begun = std::chrono::steady_clock::now();
    work();
    all.push_back(1000 * std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count());
  }
  return times_of(std::move(all));
}

std::string reading(int i) {
  const double t = 2 * M_PI * i / 200;
  return fmt::format("{:.4f} {:.4f}", 20 + 6.2 * std::cos(t) + 0.0005 * (i % 5 - 2), 15 + 6.2 * std::sin(t));
}

void type(BenchServer& server, const std::string& line) {
  const HttpReply reply = server.post("/api/readings", json{{"file", "r.csv"}, {"line", line}}.dump());
  if (reply.status != 200) throw std::runtime_error("a reading was refused: " + reply.body);
}

// A client that keeps its connection from one reading to the next, as a browser does.
class KeptConnection {
public:
  explicit KeptConnection(const BenchServer& server) : client_("http://" + server.host()) {
    client_.set_keep_alive(true);
    client_.set_tcp_nodelay(true);
    client_.set_default_headers({{"Cookie", server.cookie()}, {"Origin", "http://" + server.host()}});
  }
  void type(const std::string& line) {
    const auto reply =
        client_.Post("/api/readings", json{{"file", "r.csv"}, {"line", line}}.dump(), "application/json");
    if (!reply || reply->status != 200) throw std::runtime_error("a reading was refused");
  }

private:
  httplib::Client client_;
};

// The page, all that it names, and the list of parts.
void first_view(BenchServer& server) {
  const auto got = [&](const std::string& what) {
    const HttpReply reply = server.get(what);
    if (reply.status != 200) throw std::runtime_error("refused: " + what);
    return reply.body;
  };
  const std::string page = got("/");
  static const std::regex kNamed("(?:src|href)=\"(/[^\"]+)\"");
  for (std::sregex_iterator at(page.begin(), page.end(), kNamed), end; at != end; ++at) got((*at)[1]);
  got("/api/parts");
}

std::string table = "what,median_ms,best_ms,wanted,ratio\n";
void row(const std::string& what, const Times& t, const std::string& wanted, const std::string& ratio = "") {
  table += fmt::format("{},{:.1f},{:.1f},{},{}\n", what, t.median_ms, t.best_ms, wanted, ratio);
  fmt::print("{:<58} {:>9.1f} {:>9.1f}  {:<12} {}\n", what, t.median_ms, t.best_ms, wanted, ratio);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc > 1) program_of_rondure = argv[1];
  const fs::path demo = fs::path(RONDURE_TEST_DATA) / "../../images-demo";
  const Folder two, many;
  for (const Folder* folder : {&two, &many})
    for (int i = 0; i < (folder == &two ? 2 : 200); ++i)
      fs::copy_file(demo / "two-dates/roller-2026.json", folder->path("part-" + std::to_string(i) + ".json"));
  fmt::print("{:<58} {:>9} {:>9}\n", "", "median ms", "best ms");

  BenchServer server(two.path());
  server.pair();
  for (int i = 0; i < 200; ++i) type(server, reading(i));
  // in turn, as every reading is one more to fit: whoever comes second would be the slower
  KeptConnection browser(server);
  std::vector<double> new_ms, kept_ms;
  for (int i = 200; i < 260; i += 2) {
    new_ms.push_back(timed(1, [&] { type(server, reading(i)); }).best_ms);
    kept_ms.push_back(timed(1, [&] { browser.type(reading(i + 1)); }).best_ms);
  }
  const Times answered = times_of(new_ms), kept = times_of(kept_ms);
  const Times by_commands = timed(10, [&] {
    RunOptions options;
    options.in = "where\n";
    options.program = program_of_rondure;
    rondure_run({"record", two.path("r.csv")}, options);
    options.in.clear();
    rondure_run({"fit", two.path("r.csv"), "--json", "-"}, options);
  });
  row("a reading answered, 200 on record", answered, "30",
      fmt::format("{:.2f} of 'record' and 'fit' by hand", answered.best_ms / by_commands.best_ms));
  row("the same over a kept connection, as a browser has it", kept, "30",
      fmt::format("{:.2f} of a new connection", kept.best_ms / answered.best_ms));
  const Times view = timed(20, [&] { first_view(server); });
  row("first view: page, style, scripts, list; 2 parts", view, "300");

  BenchServer crowded(many.path());
  crowded.pair();
  const Times first = timed(1, [&] { first_view(crowded); });
  row("first view of all, 200 parts", first, "300");
  const Times later = timed(20, [&] { first_view(crowded); });
  row("first view, 200 parts", later, "300", fmt::format("{:.2f} of 2 parts", later.best_ms / view.best_ms));

  // 24 megapixels: the demo drum drawn larger
  const cv::Mat small = cv::imread((demo / "drum.png").string());
  cv::Mat large;
  cv::resize(small, large, {}, 4.3, 4.3, cv::INTER_CUBIC);
  const std::string photo = two.path("large.jpg");
  cv::imwrite(photo, large, {cv::IMWRITE_JPEG_QUALITY, 90});
  const std::vector<std::string> options{"--scale", "163.4px/mm+-0.1"};
  const Times alone = timed(3, [&] {
    RunOptions how;
    how.program = program_of_rondure;
    std::vector<std::string> arguments{"measure", photo, "--json", "-"};
    arguments.insert(arguments.end(), options.begin(), options.end());
    if (rondure_run(arguments, how).exit_code != 0)
      throw std::runtime_error("the large photograph was refused");
  });
  const std::string question = json{{"picture", "large.jpg"}, {"scale", "163.4px/mm+-0.1"}}.dump();
  const Times on_page = timed(3, [&] {
    if (server.post("/api/measure", question).status != 200) throw std::runtime_error("refused on the page");
  });
  row(fmt::format("'measure' of {:.1f} megapixels by hand", 1e-6 * double(large.total())), alone, "");
  row("the same on the page, edges to draw included", on_page, "+500",
      fmt::format("{:.2f} of by hand, {:+.0f} ms", on_page.best_ms / alone.best_ms,
                  on_page.best_ms - alone.best_ms));

  std::atomic<bool> at_work = true;
  std::thread photographer([&] {
    server.post("/api/measure", question);
    at_work = false;
  });
  std::vector<double> meanwhile;
  for (int i = 300; at_work; ++i) meanwhile.push_back(timed(1, [&] { type(server, reading(i)); }).best_ms);
  photographer.join();
  const Times others = times_of(meanwhile);
  row(fmt::format("a reading answered meanwhile ({} of them)", meanwhile.size()), others, "",
      fmt::format("{:.2f} of alone", others.best_ms / answered.best_ms));
  if (argc > 2) std::ofstream(argv[2]) << table;
}
