// What happens to the part record when a save goes wrong. Usage: faults_save RUNS [TABLE.csv]
//
// Every scenario saves features with the real program (`rondure fit POINTS.csv --save roller.json --feature
// NAME`) and looks at the record afterwards: it has to be the one before or the one with the feature added,
// complete and readable, and no feature that was saved before may be gone. Exit 0 when nothing was damaged or
// lost.
#include <sys/mount.h>
#include <sys/resource.h>
#include <sys/stat.h>

#include <atomic>
#include <cmath>
#include <cstdio>
#include <map>
#include <nlohmann/json.hpp>
#include <random>
#include <thread>

#include "cli/process.hpp"
#include "cli/small_disk.hpp"
#include "rondure/record/part_record.hpp"

namespace {

using rondure::load_part_record;
using Json = nlohmann::json;

struct Row {
  std::string scenario;
  int runs = 0, unchanged = 0, saved = 0, refused = 0, damaged = 0, lost = 0;
  bool possible = true;
  bool good() const { return damaged == 0 && lost == 0 && (!possible || runs == unchanged + saved); }
};

std::string twelve_points() {
  std::string text = "# unit: mm\n";
  for (int i = 0; i < 12; ++i) {
    char line[64];
    std::snprintf(line, sizeof line, "%.4f,%.4f\n", 6.2 * std::cos(i * 0.5236) + 0.001 * (i % 3),
                  6.2 * std::sin(i * 0.5236));
    text += line;
  }
  return text;
}

std::vector<std::string> save_command(const Folder& folder, const std::string& name) {
  return {"fit",    folder.path("points.csv"), "--save", folder.path("roller.json"), "--feature", name,
          "--quiet"};
}

// What became of the record. `name` is the feature that was being saved.
void judge(const Folder& folder, const std::string& before, const std::string& name, const Run& run,
           Row& row) {
  ++row.runs;
  if (run.exit_code == 1) row.refused += run.one_line_on_error();
  const bool same = folder.read("roller.json") == before;
  const auto record = load_part_record(folder.path("roller.json"));
  if (!record) {
    if (same && run.exit_code != 0 && before.empty())
      ++row.unchanged;  // there was none yet
    else
      ++row.damaged;
    return;
  }
  const auto holds = [&](const std::string& wanted) {
    return std::ranges::any_of(record->features, [&](const auto& f) { return f.name == wanted && f.circle; });
  };
  if (same && run.exit_code != 0) {
    ++row.unchanged;
    return;
  }
  bool complete = holds(name);
  if (const auto old = rondure::parse_part_record(before))
    for (const auto& feature : old->features) complete = complete && holds(feature.name);
  if (complete)
    ++row.saved;
  else
    ++row.lost;
}

double seconds_of_one_save(const Folder& folder) {
  const auto start = std::chrono::steady_clock::now();
  rondure_run(save_command(folder, "outside"));
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

Row killed(int runs, std::mt19937& random) {
  Row row{"kill -9 at a random instant"};
  const Folder folder;
  folder.write("points.csv", twelve_points());
  double usual_s = 0;
  for (int i = 0; i < runs; ++i) {
    if (i % 25 == 0)
      usual_s = seconds_of_one_save(folder);  // the machine may be busy, and differently so later
    const std::string before = folder.read("roller.json"), name = "feature " + std::to_string(i % 7);
    RunOptions options;
    options.kill_after_s = std::uniform_real_distribution<double>(0, 1.5 * usual_s)(random);
    judge(folder, before, name, rondure_run(save_command(folder, name), options), row);
  }
  // after all that the next save works, and nothing lies about
  if (rondure_run(save_command(folder, "last")).exit_code != 0) ++row.damaged;
  if (folder.names().size() != 3) ++row.damaged;  // points, record, its last generation
  return row;
}

Row file_size_limit(int runs, std::mt19937& random) {
  Row row{"no more than so many bytes can be written"};
  const Folder folder;
  folder.write("points.csv", twelve_points());
  rondure_run(save_command(folder, "outside"));
  for (int i = 0; i < runs; ++i) {
    const std::string before = folder.read("roller.json"), name = "feature " + std::to_string(i % 7);
    const rlim_t limit = std::uniform_int_distribution<rlim_t>(0, before.size() + 400)(random);
    RunOptions options;
    options.prepare = [limit] {
      const rlimit bytes{limit, limit};
      setrlimit(RLIMIT_FSIZE, &bytes);
      signal(SIGXFSZ, SIG_IGN);
    };
    judge(folder, before, name, rondure_run(save_command(folder, name), options), row);
  }
  return row;
}

// Without the right to mount a small disk, the row says that it was not possible.
template <class Scenario>
Row on_small_disk(const std::string& name, const char* size, Scenario scenario) {
  Row row{name};
  const Folder folder;
  const auto numbers = small_disk::numbers_of(folder.path(), size, 6, 1, [&](std::vector<int>& n) {
    scenario(folder, row);
    n = {row.runs, row.unchanged, row.saved, row.refused, row.damaged, row.lost};
  });
  row.possible = numbers.has_value();
  if (!numbers) return row;
  const auto& n = *numbers;
  row.runs = n[0], row.unchanged = n[1], row.saved = n[2], row.refused = n[3], row.damaged = n[4],
  row.lost = n[5];
  return row;
}

Row disk_full(int runs, std::mt19937& random) {
  return on_small_disk("disk full", "size=96k", [&](const Folder& folder, Row& row) {
    folder.write("points.csv", twelve_points());
    rondure_run(save_command(folder, "outside"));
    for (int i = 0; i < runs; ++i) {
      const std::string before = folder.read("roller.json"), name = "feature " + std::to_string(i % 7);
      // a filler that leaves between 0 and 5 pages
      folder.write("filler", std::string(200000, 'x'));
      std::filesystem::resize_file(folder.path("filler"),
                                   std::filesystem::file_size(folder.path("filler")) / 4096 * 4096);
      const auto pages = std::uniform_int_distribution<std::uintmax_t>(0, 5)(random);
      const auto size = std::filesystem::file_size(folder.path("filler"));
      std::filesystem::resize_file(folder.path("filler"),
                                   size - std::min<std::uintmax_t>(size, pages * 4096));
      judge(folder, before, name, rondure_run(save_command(folder, name)), row);
      std::filesystem::remove(folder.path("filler"));
    }
  });
}

Row read_only_folder(int runs, std::mt19937&) {
  return on_small_disk("read-only folder", "size=256k", [&](const Folder& folder, Row& row) {
    folder.write("points.csv", twelve_points());
    rondure_run(save_command(folder, "outside"));
    mount("rondure", folder.path().c_str(), "tmpfs", MS_REMOUNT | MS_RDONLY, "size=256k");
    const std::string before = folder.read("roller.json");
    for (int i = 0; i < runs; ++i)
      judge(folder, before, "bore", rondure_run(save_command(folder, "bore")), row);
  });
}

// An editor that replaces the record every few milliseconds without asking for the lock. It numbers its
// versions: a save that puts an older number back has overwritten a version that it never saw.
Row replaced_under_us(int runs, std::mt19937&) {
  Row row{"file replaced under us"};
  const Folder folder;
  folder.write("points.csv", twelve_points());
  rondure_run(save_command(folder, "outside"));
  std::atomic<bool> stop = false;
  std::atomic<int> overwritten = 0;
  std::thread editor([&] {
    for (int version = 0; !stop; ++version) {
      Json record = Json::parse(folder.read("roller.json"));
      if (version > 0 && record.value("edited", -1) != version - 1) ++overwritten;
      record["edited"] = version;
      folder.write("editor.tmp", record.dump());
      std::filesystem::rename(folder.path("editor.tmp"), folder.path("roller.json"));
      std::this_thread::sleep_for(std::chrono::milliseconds(2 + version % 7 * 9));
    }
  });
  for (int i = 0; i < runs; ++i) {
    const Run run = rondure_run(save_command(folder, "feature " + std::to_string(i % 7)));
    ++row.runs;
    if (run.exit_code == 0)
      ++row.saved;
    else if (run.exit_code == 1 && run.one_line_on_error())
      ++row.refused, ++row.unchanged;
    if (!load_part_record(folder.path("roller.json"))) ++row.damaged;
  }
  stop = true;
  editor.join();
  row.lost = overwritten;
  return row;
}

Row two_writers(int runs, std::mt19937&) {
  Row row{"two writers at once"};
  const Folder folder;
  folder.write("points.csv", twelve_points());
  std::atomic<int> failed = 0;
  const auto writer = [&](const std::string& who) {
    for (int i = 0; i < runs; ++i)
      if (rondure_run(save_command(folder, who + std::to_string(i % 20))).exit_code != 0) ++failed;
  };
  std::thread other(writer, "b");
  writer("a");
  other.join();
  row.runs = 2 * runs;
  row.saved = 2 * runs - failed;
  const auto record = load_part_record(folder.path("roller.json"));
  if (!record)
    ++row.damaged;
  else
    row.lost = std::max(0, 2 * std::min(runs, 20) - static_cast<int>(record->features.size()));
  return row;
}

}  // namespace

int main(int argc, char** argv) {
  const int runs = argc > 1 ? std::atoi(argv[1]) : 30;
  std::mt19937 random(12);
  std::vector<Row> rows;
  for (const auto scenario :
       {killed, file_size_limit, disk_full, read_only_folder, replaced_under_us, two_writers})
    rows.push_back(scenario(scenario == killed ? runs : std::max(5, runs / 10), random));
  std::string table = "scenario,runs,record_unchanged,feature_saved,refused_in_one_line,damaged,lost\n";
  bool good = true;
  for (const Row& row : rows) {
    good = good && row.good();
    if (!row.possible)
      table += row.scenario + ",not possible on this machine,,,,,\n";
    else
      for (const std::string& cell :
           {row.scenario, std::to_string(row.runs), std::to_string(row.unchanged), std::to_string(row.saved),
            std::to_string(row.refused), std::to_string(row.damaged), std::to_string(row.lost)})
        table += cell + ",";
    if (row.possible) table.back() = '\n';
  }
  std::printf("%s", table.c_str());
  if (argc > 2 && good) std::ofstream(argv[2]) << table;
  return good ? 0 : 1;
}
