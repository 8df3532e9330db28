// What is lost when the page at the bench is killed (kill -9) at random instants while a client types readings and
// fills in a check sheet: nothing that was acknowledged. Usage: faults_bench RUNS
//
// Every run begins the server anew on the same folder, types until the kill strikes, and looks whether each reading
// answered "kept" stands in the file (or as a comment, when it was undone) and each figure that was answered is on the
// sheet. Exit 0 when nothing was lost.
#include <atomic>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <nlohmann/json.hpp>
#include <random>
#include <set>
#include <sstream>
#include <thread>

#include "cli/bench_server.hpp"
#include "cli/process.hpp"

using json = nlohmann::json;
namespace fs = std::filesystem;

namespace {

struct Counts {
  int kills = 0, not_taken_up = 0;
  long readings = 0, undone = 0, figures = 0, lost = 0, unanswered = 0;
};

std::string bytes_of(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

std::set<std::string> kept_in(const fs::path& file) {
  std::istringstream in(bytes_of(file));
  std::set<std::string> there;
  for (std::string line; std::getline(in, line);) {
    for (const std::string mark : {"# undone: ", "# deleted: "})
      while (line.starts_with(mark)) line.erase(0, mark.size());
    there.insert(line.substr(0, line.find("  #")));
  }
  return there;
}

bool make_plan(const Folder& folder) {
  const std::string record = folder.path("r.json");
  return rondure_run({"add", record, "outside", "12.38mm", "12.39mm"}).exit_code == 0 &&
         rondure_run({"add", record, "bore", "2.99mm", "2.99mm", "--kind", "bore"}).exit_code == 0 &&
         rondure_run({"original", record, "--material", "POM-C", "--save", record}).exit_code == 0 &&
         rondure_run({"plan", record, "--shaft", "3.000mm+-0.002mm", "--save", "--check-sheet",
                      folder.path("r-check.csv")})
                 .exit_code == 0;
}

void run_once(const Folder& folder, std::mt19937& random, int& typed, std::set<std::string>& owed,
              std::string& figure, Counts& counts) {
  BenchServer server(folder.path());
  if (server.pair().status != 303) ++counts.not_taken_up;
  std::atomic<bool> stop = false;
  const auto then = std::chrono::microseconds(std::uniform_int_distribution<int>(0, 250000)(random));
  const pid_t victim = server.process();
  std::thread killer([&] {
    std::this_thread::sleep_for(then);
    kill(victim, SIGKILL);
    stop = true;
  });
  const auto post = [&](const std::string& where, const json& fields) {
    try {
      return server.post(where, fields.dump());
    } catch (const std::exception&) {
      return HttpReply{};
    }
  };
  std::string in_flight, figure_in_flight;
  while (!stop) {
    const int what = std::uniform_int_distribution<int>(0, 9)(random);
    if (what < 7) {
      ++typed;
      char reading[64];
      std::snprintf(reading, sizeof reading, "%d.%06d,%d.5", 10 + typed % 7, 100000 + typed, typed % 5);
      in_flight = reading;
      const HttpReply reply = post("/api/readings", {{"file", "r.csv"}, {"line", reading}});
      if (reply.status == 0) break;
      if (reply.status != 200) continue;
      owed.insert(reading);
      ++counts.readings, in_flight.clear();
    } else if (what < 8) {
      const int status = post("/api/readings", {{"file", "r.csv"}, {"line", "undo"}}).status;
      if (status == 0) break;
      counts.undone += status == 200;  // else there was nothing to undo
    } else {
      const std::string measured = std::to_string(12 + typed % 2) + "." + std::to_string(1000 + typed);
      figure_in_flight = measured;
      if (post("/api/sheet", {{"part", "r.json"}, {"row", "outside"}, {"measured", measured}}).status != 200)
        break;
      figure = measured;
      ++counts.figures;
    }
  }
  killer.join();
  server.end(SIGKILL);
  ++counts.kills;
  const auto there = kept_in(folder.path("r.csv"));
  for (const auto& reading : owed) counts.lost += !there.count(reading);
  counts.unanswered += !in_flight.empty() && there.count(in_flight);
  // the figure acknowledged last, or the one that was on its way when the kill struck
  const std::string sheet = bytes_of(folder.path("r-check.csv"));
  const auto on_sheet = [&](const std::string& f) {
    return !f.empty() && sheet.find("," + f + ",") != std::string::npos;
  };
  if (!figure.empty() && !on_sheet(figure)) {
    counts.lost += !on_sheet(figure_in_flight);
    figure = figure_in_flight;
  }
  if (owed.size() > 60) {
    fs::remove(folder.path("r.csv"));
    owed.clear();
  }
}

}  // namespace

int main(int argc, char** argv) {
  const int runs = argc > 1 ? std::atoi(argv[1]) : 20;
  const Folder folder;
  std::mt19937 random(20310507);
  Counts counts;
  int typed = 0;
  std::set<std::string> owed;
  std::string figure;
  if (!make_plan(folder)) {
    std::puts("no plan could be made to fill in");
    return 1;
  }
  for (int i = 0; i < runs; ++i) run_once(folder, random, typed, owed, figure, counts);
  std::printf("kill -9 of 'rondure bench' while a client types\n");
  std::printf(
      "  kills %d\n  readings acknowledged %ld\n  undone %ld\n  figures of the check sheet acknowledged "
      "%ld\n",
      counts.kills, counts.readings, counts.undone, counts.figures);
  std::printf(
      "  acknowledged and lost %ld\n  in the file although the answer did not come out %ld\n  not taken up "
      "again %d\n",
      counts.lost, counts.unanswered, counts.not_taken_up);
  return counts.lost == 0 && counts.not_taken_up == 0 && counts.readings > 0 ? 0 : 1;
}
