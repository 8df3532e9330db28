// Fills the disk under `rondure record` again and again, frees it, and counts what is lost.
#pragma once
#include <sstream>
#include <string>
#include <vector>

#include "dialogue.hpp"
#include "process.hpp"
#include "small_disk.hpp"

struct FullDiskCounts {
  int times = 0;         // the disk was full
  int kept = 0;          // readings answered "kept"
  int refused = 0;       // answered "NOT KEPT": reading or edit
  int lost = 0;          // answered "kept" and not in the file
  int unasked = 0;       // in the file and not answered "kept"
  int not_taken_up = 0;  // sessions that would not go on
};

// Readings that stand in a file: lines without comments.
inline std::vector<std::string> standing_readings(const std::string& text) {
  std::vector<std::string> found;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);)
    if (!line.empty() && line[0] != '#') found.push_back(line);
  return found;
}

// Nothing where a small disk cannot be had. A new file after every 40 times.
inline std::optional<FullDiskCounts> fill_disk_under_record(int times) {
  const Folder folder;
  const auto numbers = small_disk::numbers_of(folder.path(), "size=64k", 6, 1, [&](std::vector<int>& n) {
    FullDiskCounts c;
    const auto fill = [&] {
      std::ofstream filler(folder.path("filler"), std::ios::binary);
      for (int i = 0; i < 400 && filler; ++i) filler << std::string(256, 'x') << std::flush;
    };
    while (c.times < times) {
      std::filesystem::remove(folder.path("r.csv"));
      std::vector<std::string> owed;
      Dialogue desk({"record", folder.path("r.csv")});
      desk.ask("");  // the file is made
      for (int round = 0; round < 40 && c.times < times; ++round) {
        if (round % 10 == 0)
          fill();  // else the disk stays full, and the file grows into its last page or cannot
        for (bool full = false; !full;) {
          const std::string reading = "12." + std::to_string(1000000 + c.kept) + ",7.5";
          const std::string answer = desk.ask(reading);
          full = answer.starts_with("NOT KEPT");
          if (full)
            ++c.refused;
          else if (answer.find("kept") != std::string::npos)
            ++c.kept, owed.push_back(reading);
          else
            ++c.not_taken_up, full = true;
        }
        ++c.times;
        // an edit needs a whole new file: it is refused, or it is done
        if (!owed.empty()) {
          const std::string answer = desk.ask("delete " + std::to_string(owed.size()));
          if (answer.starts_with("NOT KEPT"))
            ++c.refused;
          else if (desk.ask("undo").starts_with("NOT KEPT"))
            ++c.refused, owed.pop_back();
        }
        const auto there = standing_readings(folder.read("r.csv"));
        for (std::size_t i = 0; i < std::max(owed.size(), there.size()); ++i) {
          c.lost += i < owed.size() && (i >= there.size() || there[i] != owed[i]);
          c.unasked += i >= owed.size();
        }
        if (round % 10 == 9) {
          std::filesystem::remove(folder.path("filler"));
          const std::string after = "13." + std::to_string(1000000 + c.kept) + ",7.5";
          if (desk.ask(after).find(" kept") == std::string::npos)
            ++c.not_taken_up;
          else
            ++c.kept, owed.push_back(after);
        }
      }
      desk.end();
      std::filesystem::remove(folder.path("filler"));
      Dialogue again({"record", folder.path("r.csv")});
      c.not_taken_up += !again.ask("").starts_with(std::to_string(owed.size()) + " reading");
      again.end();
    }
    n = {c.times, c.kept, c.refused, c.lost, c.unasked, c.not_taken_up};
  });
  if (!numbers) return std::nullopt;
  const auto& n = *numbers;
  return FullDiskCounts{n[0], n[1], n[2], n[3], n[4], n[5]};
}
