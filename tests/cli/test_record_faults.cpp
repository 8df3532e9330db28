// Disks that fill, folders that may not be written, files that change, and kills: nothing that was answered
// "kept" is lost. tests/faults/run makes the same kills a thousand times.
#include <sys/resource.h>

#include <catch2/catch.hpp>

#include "dialogue.hpp"
#include "process.hpp"
#include "record_kills.hpp"

namespace {
using Catch::Contains;
using Catch::StartsWith;

// Readings that stand in a file: lines without comments.
std::vector<std::string> readings_in(const std::string& text) {
  std::vector<std::string> found;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);)
    if (!line.empty() && line[0] != '#') found.push_back(line);
  return found;
}
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
    REQUIRE(readings_in(folder.read("r.csv")).size() == kept);
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
  CHECK(readings_in(folder.read("r.kept-1.csv")) == std::vector<std::string>{"1,2", "3,4"});
  std::filesystem::remove(folder.path("r.kept-1.csv"));
  CHECK_THAT(desk.ask("5 6"), Contains("was gone and has been written again"));
  CHECK(readings_in(folder.read("r.kept-1.csv")) == std::vector<std::string>{"1,2", "3,4", "5,6"});
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

// Not among the ordinary tests: tests/faults/run asks for it by its tag and keeps the counts.
TEST_CASE("record faults: a thousand kills, counted", "[.thousand-kills-of-record]") {
  const Folder folder;
  const KillCounts c = kill_record(folder.path("r.csv"), 1000, 20310507);
  const char* table = std::getenv("RONDURE_FAULT_TABLE");
  REQUIRE(table);
  std::ofstream(table, std::ios::app) << "kill -9 while readings and edits pour in," << c.kills << ',' << c.answered << ','
                                      << c.edits << ',' << c.lost << ',' << c.unanswered << ',' << c.unfinished << ','
                                      << c.damaged_files << ',' << c.leftovers << '\n';
  INFO(c.first_loss);
  CHECK(c.lost == 0);
  CHECK(c.damaged_files == 0);
}
