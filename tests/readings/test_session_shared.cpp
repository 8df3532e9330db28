// Two writers of one file of readings: each rests while it waits, and takes over what the other wrote.
#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>

#include "rondure/readings/session.hpp"
#include "session_folder.hpp"

using namespace rondure;
namespace fs = std::filesystem;

namespace {
Session open(const fs::path& file) {
  auto session = Session::open(file, LengthUnit::kMm, false);
  REQUIRE(session);
  return std::move(*session);
}
}  // namespace

TEST_CASE("session: two that rest write in turn and have each other's readings", "[readings][session]") {
  const Folder folder;
  const fs::path file = folder.path / "r.csv";
  Session a = open(file);
  REQUIRE(a.add(reading("1,2")));
  a.rest();
  Session b = open(file);
  REQUIRE(b.add(reading("3,4")));
  b.rest();
  REQUIRE(a.catch_up());
  CHECK(a.readings().size() == 2);
  REQUIRE(a.add(reading("5,6")));
  REQUIRE(a.erase(2));  // rewrites the file: another inode
  a.rest();
  const auto changed = b.catch_up();
  REQUIRE(changed);
  CHECK(*changed);
  CHECK(b.readings().size() == 2);
  CHECK(b.last_number() == 3);
  CHECK(b.find(2) == nullptr);
  REQUIRE(b.add(reading("7,8")));
  CHECK(b.readings().back().number == 4);
  CHECK(a.events().empty());
  CHECK(b.events().empty());
  CHECK(std::distance(fs::directory_iterator(folder.path), fs::directory_iterator()) == 1);
}

TEST_CASE("session: while one is at work the other waits, and is told when it lasts", "[readings][session]") {
  const Folder folder;
  const fs::path file = folder.path / "r.csv";
  Session a = open(file);
  REQUIRE(a.add(reading("1,2")));
  CHECK(Session::open(file, LengthUnit::kMm, false).error().code == ErrorCode::kFileLocked);
}

TEST_CASE("session: what does not hold our readings is not taken over", "[readings][session]") {
  const Folder folder;
  const fs::path file = folder.path / "r.csv";
  Session a = open(file);
  REQUIRE(a.add(reading("1,2")));
  a.rest();
  { std::ofstream(file) << "# unit: mm\n1,9\n"; }
  const auto changed = a.catch_up();
  REQUIRE(changed);
  CHECK_FALSE(*changed);
  REQUIRE(a.add(reading("3,4")));
  CHECK(a.file().filename() == "r.kept-1.csv");
  CHECK(a.readings().size() == 2);
  std::ifstream in(file);
  CHECK(std::string(std::istreambuf_iterator<char>(in), {}) == "# unit: mm\n1,9\n");
}

TEST_CASE("session: a file removed while we rest is written again", "[readings][session]") {
  const Folder folder;
  const fs::path file = folder.path / "r.csv";
  Session a = open(file);
  REQUIRE(a.add(reading("1,2")));
  a.rest();
  fs::remove(file);
  REQUIRE(a.catch_up());
  REQUIRE(a.add(reading("3,4")));
  CHECK(open(folder.path / "other.csv").is_new());
  a.rest();
  CHECK(open(file).readings().size() == 2);
}
