// Disks that fill, folders that may not be written, files that change, and kills: nothing that was answered
// "kept" is lost. tests/faults/run makes the same kills a thousand times.
#include <sys/resource.h>

#include <catch2/catch.hpp>

#include "dialogue.hpp"
#include "process.hpp"
#include "record_full_disk.hpp"
#include "record_kills.hpp"

namespace {
using Catch::Contains;
using Catch::StartsWith;

}  // namespace

TEST_CASE("record faults: a full disk refuses the reading and keeps all others", "[cli][record][faults]") {
  const Folder folder;
  Dialogue desk({"record", folder.path("r.csv")}, [] {
    const rlimit limit{300, 300};
    setrlimit(RLIMIT_FSIZE, &limit);
  });
  std::size_t kept = 0, refused = 0;
  for (int i = 0; i < 60; ++i) {
    const std::string answer = desk.ask("12." + std::to_string(100 + i) + " 7.5");
    if (answer.find("kept") == std::string::npos && answer.find("NOT KEPT") == std::string::npos)
      FAIL(answer);
    if (answer.starts_with("NOT KEPT")) {
      CHECK_THAT(answer, Contains("cannot be written"));
      ++refused;
    } else {
      ++kept;
    }
    REQUIRE(standing_readings(folder.read("r.csv")).size() == kept);
  }
  CHECK(kept > 10);
  CHECK(refused > 10);
  // an edit needs a whole new file: refused too, the old one stands
  CHECK_THAT(desk.ask("note " + std::string(200, 'n')), StartsWith("NOT KEPT"));
  CHECK(desk.end() == 1);
  CHECK(folder.read("r.csv").back() == '\n');
  CHECK(folder.names() == std::vector<std::string>{"r.csv"});
}

TEST_CASE("record faults: a folder that may not be written", "[cli][record][faults]") {
  const Folder folder;
  const std::string file = folder.write("r.csv", "1,2\n3,4\n");
  std::filesystem::permissions(file, std::filesystem::perms::all);
  std::filesystem::permissions(folder.path(),
                               std::filesystem::perms::owner_read | std::filesystem::perms::owner_exec |
                                   std::filesystem::perms::others_read | std::filesystem::perms::others_exec);
  const auto as_nobody = [] {
    if (geteuid() == 0 && (setgid(65534) != 0 || setuid(65534) != 0)) _exit(126);
  };
  RunOptions options;
  options.prepare = as_nobody;
  const Run fresh = rondure_run({"record", folder.path("new.csv")}, options);
  CHECK(fresh.exit_code == 1);
  CHECK(fresh.one_line_on_error());
  Dialogue desk({"record", file}, as_nobody);
  CHECK_THAT(desk.ask("5 6"), StartsWith("3 kept"));  // the file itself may be written
  CHECK_THAT(desk.ask("delete 1"), StartsWith("NOT KEPT"));
  CHECK_THAT(desk.ask("7 8"), StartsWith("4 kept"));
  CHECK(desk.end() == 1);
  CHECK(folder.read("r.csv") == "1,2\n3,4\n5,6\n7,8\n");
}

TEST_CASE("record faults: the file replaced or removed under us", "[cli][record][faults]") {
  const Folder folder;
  Dialogue desk({"record", folder.path("r.csv")});
  desk.ask("1 2");
  folder.write("theirs", "other work\n");
  std::filesystem::rename(folder.path("theirs"), folder.path("r.csv"));
  CHECK_THAT(desk.ask("3 4"), StartsWith("2 kept") && Contains("r.kept-1.csv"));
  CHECK(folder.read("r.csv") == "other work\n");
  CHECK(standing_readings(folder.read("r.kept-1.csv")) == std::vector<std::string>{"1,2", "3,4"});
  std::filesystem::remove(folder.path("r.kept-1.csv"));
  CHECK_THAT(desk.ask("5 6"), Contains("was gone and has been written again"));
  CHECK(standing_readings(folder.read("r.kept-1.csv")) == std::vector<std::string>{"1,2", "3,4", "5,6"});
}

TEST_CASE("record faults: killed at random instants, every answered reading is in the file",
          "[cli][record][faults]") {
  const Folder folder;
  const KillCounts counts = kill_record(folder.path("r.csv"), 15, 20310506);
  INFO(counts.first_loss);
  CHECK(counts.kills == 15);
  CHECK(counts.lost == 0);
  CHECK(counts.damaged_files == 0);
  CHECK(counts.answered > 15);
}

TEST_CASE("record faults: a disk that is really full, freed, and full again", "[cli][record][faults]") {
  const auto counts = fill_disk_under_record(12);
  if (!counts) {
    WARN("no small disk can be mounted here");
    return;
  }
  CHECK(counts->times == 12);
  CHECK(counts->kept > 12);
  CHECK(counts->refused >= 12);
  CHECK(counts->lost == 0);
  CHECK(counts->unasked == 0);
  CHECK(counts->not_taken_up == 0);
}

// Not among the ordinary tests: tests/faults/run asks for them by their tags and keeps the counts.
namespace {
std::ofstream fault_table() {
  const char* table = std::getenv("RONDURE_FAULT_TABLE");
  REQUIRE(table);
  return std::ofstream(table, std::ios::app);
}
}  // namespace

TEST_CASE("record faults: a thousand kills, counted", "[.thousand-kills-of-record]") {
  const Folder folder;
  const KillCounts c = kill_record(folder.path("r.csv"), 1000, 20310507);
  fault_table() << "kill -9 while readings and edits pour in\n  kills " << c.kills << "\n  readings answered "
                << c.answered << "\n  edits answered " << c.edits << "\n  answered and lost " << c.lost
                << "\n  in the file although the answer did not come out " << c.unanswered
                << "\n  last lines found without an end, set aside " << c.unfinished
                << "\n  files not taken up again " << c.damaged_files << "\n  temporary files left "
                << c.leftovers << "\n";
  INFO(c.first_loss);
  CHECK(c.lost == 0);
  CHECK(c.damaged_files == 0);
}

TEST_CASE("record faults: a thousand times full, counted", "[.full-disk-of-record]") {
  const auto counts = fill_disk_under_record(1000);
  auto table = fault_table();
  table << "disk full (a file system of 64 KiB, filled and freed under the session)\n";
  if (!counts) {
    table << "  not possible on this machine\n";
    return;
  }
  table << "  times full " << counts->times << "\n  readings answered " << counts->kept
        << "\n  readings and edits refused " << counts->refused << "\n  answered and lost " << counts->lost
        << "\n  in the file although refused " << counts->unasked << "\n  sessions not taken up again "
        << counts->not_taken_up << "\n";
  CHECK(counts->lost == 0);
  CHECK(counts->unasked == 0);
  CHECK(counts->not_taken_up == 0);
}
