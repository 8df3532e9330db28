// A reading that the page was told is kept is on disk, whenever the server is killed. RONDURE_KILLS: how many times.
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <nlohmann/json.hpp>
#include <random>
#include <set>
#include <sstream>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

#include "bench_server.hpp"
#include "process.hpp"

namespace fs = std::filesystem;
using json = nlohmann::json;

namespace {

constexpr int kFewKills = 8, kKillsPerFile = 20;

// No two are alike: the directions are turned on by the golden section.
std::string reading_round(int i) {
  const double t = 2 * M_PI * std::fmod(0.6180339887 * i, 1.0);
  std::ostringstream text;
  text.precision(5);
  text << std::fixed << 20 + 6.2 * std::cos(t) << ' ' << 15 + 6.2 * std::sin(t);
  return text.str();
}

std::set<std::string> readings_in(const fs::path& file) {
  std::set<std::string> all;
  std::istringstream in(text_of(file));
  for (std::string line; std::getline(in, line);)
    if (!line.empty() && line[0] != '#') {
      line = line.substr(0, line.find("  #"));
      for (char& c : line)
        if (c == ',') c = ' ';
      all.insert(line);
    }
  return all;
}

// Types one reading after the other until the server is gone; those that were acknowledged.
std::vector<std::string> type_on(const BenchServer& server, const std::string& file, int& number) {
  std::vector<std::string> acknowledged;
  try {
    for (;;) {
      const std::string line = reading_round(number++);
      const HttpReply reply =
          server.post("/api/readings", json{{"file", file}, {"line", line}, {"unit", "mm"}}.dump());
      if (reply.status != 200) return acknowledged;
      acknowledged.push_back(line);
    }
  } catch (const std::runtime_error&) {  // it does not listen any more
    return acknowledged;
  }
}

}  // namespace

TEST_CASE("bench: what was acknowledged is what stands on disk", "[cli][bench]") {
  const Folder folder;
  BenchServer server(folder.path());
  server.pair();
  for (int i = 0; i < 4; ++i) {
    const HttpReply reply = server.post(
        "/api/readings", json{{"file", "r.csv"}, {"line", reading_round(i)}, {"unit", "mm"}}.dump());
    REQUIRE(reply.status == 200);
    CHECK(json::parse(reply.body)["text"].get<std::string>() == text_of(folder.path("r.csv")));
  }
  CHECK(readings_in(folder.path("r.csv")).size() == 4);
}

TEST_CASE("bench: killed while readings are typed, nothing that was acknowledged is missing",
          "[cli][bench]") {
  const Folder folder;
  const int kills = std::getenv("RONDURE_KILLS") ? std::atoi(std::getenv("RONDURE_KILLS")) : kFewKills;
  std::mt19937 random(19);
  int number = 0, lost = 0;
  std::size_t acknowledged = 0, unanswered = 0;
  std::set<std::string> owed;
  for (int kill = 0; kill < kills; ++kill) {
    const std::string file = "r" + std::to_string(kill / kKillsPerFile) + ".csv";
    if (kill % kKillsPerFile == 0) owed.clear();
    BenchServer server(folder.path());
    server.pair();
    std::vector<std::string> now;
    std::thread client([&] { now = type_on(server, file, number); });
    std::this_thread::sleep_for(
        std::chrono::microseconds(std::uniform_int_distribution<int>(500, 60000)(random)));
    server.end(SIGKILL);
    client.join();
    owed.insert(now.begin(), now.end());
    acknowledged += now.size();
    const std::set<std::string> there = readings_in(folder.path(file));
    for (const std::string& line : owed) lost += !there.contains(line);
    if (kill % kKillsPerFile == kKillsPerFile - 1 || kill == kills - 1)
      unanswered += there.size() - owed.size();
  }
  CHECK(lost == 0);
  CHECK(acknowledged > 0);
  if (std::getenv("RONDURE_KILLS"))
    std::cout << kills << " kills while a client types: " << acknowledged << " readings acknowledged, "
              << lost << " lost; " << unanswered << " more on disk whose answer did not come out\n";
}

TEST_CASE("bench: drawings that a killed run left are cleared away, those of a running one stay",
          "[cli][bench]") {
  const Folder folder, temporary;
  struct Elsewhere {
    explicit Elsewhere(const std::string& path) { setenv("TMPDIR", path.c_str(), 1); }
    ~Elsewhere() { unsetenv("TMPDIR"); }
  } elsewhere(temporary.path());
  const auto folders = [&] {
    std::set<std::string> all;
    for (const auto& entry : fs::directory_iterator(temporary.path())) all.insert(entry.path().string());
    return all;
  };
  const BenchServer running(folder.path());
  const std::set<std::string> of_running = folders();
  REQUIRE(of_running.size() == 1);
  { const BenchServer killed(folder.path()); }
  REQUIRE(folders().size() == 2);
  temporary.write("rondure-bench-note", "a file of this name stays");
  const BenchServer soon_after(folder.path());
  CHECK(folders().size() == 4);  // a young one may be of a run that only begins
  for (const std::string& each : folders())
    fs::last_write_time(each, fs::file_time_type::clock::now() - std::chrono::hours(2));
  BenchServer later(folder.path());
  CHECK(folders().size() == 4);  // of three running ones, and the file
  CHECK(folders().contains(*of_running.begin()));
  later.end(SIGTERM);
  CHECK(folders().size() == 3);
}
