// Kills `rondure record` at random instants while readings and edits pour in, takes it up again, and counts
// what is lost.
#pragma once
#include <atomic>
#include <chrono>
#include <random>
#include <set>
#include <sstream>
#include <string>
#include <thread>

#include "dialogue.hpp"
#include "process.hpp"

struct KillCounts {
  int kills = 0;
  long answered = 0;      // readings answered "kept"
  long edits = 0;         // corrections, deletions and undos answered as done
  long lost = 0;          // answered, and neither standing nor kept as a comment
  long unanswered = 0;    // in the file although the answer did not come out any more
  int damaged_files = 0;  // runs that would not take the file up again
  int unfinished = 0;     // lines found without an end
  int leftovers = 0;      // temporary files that outlived the next run
  std::string first_loss;
};

// `file` is made; every kill goes on with the same file, begun anew after some dozens of readings.
inline KillCounts kill_record(const std::string& file, int kills, unsigned seed) {
  KillCounts counts;
  std::mt19937 random(seed);
  std::set<std::string> owed;  // typed texts that were answered
  int typed = 0, answer_us = 2000;
  const auto fresh_reading = [&] {
    ++typed;
    return std::to_string(10 + typed % 7) + "." + std::to_string(100000 + typed) + "," +
           std::to_string(typed % 5) + ".5";
  };
  const auto check = [&](bool last) {
    const std::string text = text_of(file);
    std::istringstream in(text);
    std::set<std::string> there;
    for (std::string line; std::getline(in, line);) {
      for (const std::string mark : {"# undone: ", "# corrected: ", "# deleted: "})
        while (line.starts_with(mark)) line.erase(0, mark.size());
      if (line.starts_with("# unfinished")) ++counts.unfinished;
      there.insert(line.substr(0, line.find("  #")));
    }
    for (const auto& reading : owed)
      if (!there.count(reading)) {
        if (counts.lost++ == 0) counts.first_loss = reading + " in:\n" + text;
      }
    if (!last && owed.size() > 60) {
      std::filesystem::remove(file);
      owed.clear();
    }
  };
  while (counts.kills < kills) {
    Dialogue desk({"record", file});
    if (desk.ask("").find("reading") == std::string::npos) ++counts.damaged_files;
    // the killer strikes after some answers, at any phase of the work on the next ones
    std::atomic<int> answers = 0;
    std::atomic<bool> ended = false;
    const int wait_for = std::uniform_int_distribution<int>(0, 12)(random);
    const auto then =
        std::chrono::microseconds(std::uniform_int_distribution<int>(0, 2 * answer_us + 1000)(random));
    std::thread killer([&] {
      while (answers < wait_for && !ended) std::this_thread::sleep_for(std::chrono::microseconds(50));
      std::this_thread::sleep_for(then);
      desk.kill_now();
    });
    const auto start = std::chrono::steady_clock::now();
    int number = 0;
    for (;;) {
      const int what = std::uniform_int_distribution<int>(0, 9)(random);
      if (what < 7 || number == 0) {
        const std::string reading = fresh_reading();
        const std::string answer = desk.ask(reading);
        if (answer.find("kept") == std::string::npos) {
          counts.unanswered += text_of(file).find(reading) != std::string::npos;
          break;
        }
        number = std::stoi(answer);
        ++answers;
        owed.insert(reading);
        ++counts.answered;
      } else {
        const std::string fresh = fresh_reading();
        const std::string answer = desk.ask(what == 7   ? "delete " + std::to_string(number)
                                            : what == 8 ? "undo"
                                                        : "correct " + std::to_string(number) + " " + fresh);
        if (answer[0] == '<') break;
        ++answers;
        counts.edits += !answer.starts_with("nothing done");
        if (what == 9 && answer.find("now:") != std::string::npos) owed.insert(fresh);
        number = 0;
      }
    }
    ended = true;
    killer.join();
    desk.end();
    if (const int n = answers; n > 0)
      answer_us =
          int(std::chrono::duration_cast<std::chrono::microseconds>(std::chrono::steady_clock::now() - start)
                  .count()) /
          n;
    ++counts.kills;
    check(false);
  }
  Dialogue last({"record", file});
  last.ask("");
  last.end();
  check(true);
  for (const auto& entry : std::filesystem::directory_iterator(std::filesystem::path(file).parent_path()))
    counts.leftovers += entry.path().filename().string().find(".new") != std::string::npos;
  return counts;
}
