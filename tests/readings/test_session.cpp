#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "rondure/readings/points_file.hpp"
#include "rondure/readings/session.hpp"
#include "session_folder.hpp"

using namespace rondure;
namespace fs = std::filesystem;

namespace {

Session open(const Folder& f, const std::string& name = "r.csv", LengthUnit unit = LengthUnit::kMm) {
  auto s = Session::open(f.path / name, unit, false);
  if (!s) FAIL(s.error().message());
  return std::move(s).value();
}

constexpr const char* kHead = "# readings taken by hand, one a line\n# unit: mm\n";

}  // namespace

TEST_CASE("session: every reading is in the file at once, and the file is a points file",
          "[readings][session]") {
  const Folder f;
  auto s = open(f);
  CHECK(s.is_new());
  CHECK(f.read("r.csv") == kHead);
  REQUIRE(s.add(reading("1.50 2.25")));
  CHECK(f.read("r.csv") == std::string(kHead) + "1.50,2.25\n");
  REQUIRE(s.add(reading("chord 5 sagitta 0.1")));
  REQUIRE(s.note("nick at 40\ndegrees"));
  const auto parsed = parse_points(f.read("r.csv"));
  REQUIRE(parsed);
  CHECK(parsed->points.size() == 1);
  CHECK(parsed->chords.size() == 1);
  CHECK(parsed->notes == std::vector<std::string>{"nick at 40 degrees"});
  CHECK(f.files() == 1);
}

TEST_CASE("session: taken up again with the same numbers and unit", "[readings][session]") {
  const Folder f;
  {
    auto s = open(f, "r.csv", LengthUnit::kInch);
    for (const char* line : {"0.1,0.2", "0.3,0.4", "0.5,0.6"}) REQUIRE(s.add(reading(line)));
    REQUIRE(s.erase(2));
  }
  auto s = open(f);
  CHECK_FALSE(s.is_new());
  CHECK(s.unit() == LengthUnit::kInch);
  REQUIRE(s.readings().size() == 2);
  CHECK(s.readings()[1].number == 3);
  CHECK(s.find(2) == nullptr);
  REQUIRE(s.add(reading("0.7,0.8")));
  CHECK(s.readings().back().number == 4);
  CHECK(Session::open(f.path / "r.csv", LengthUnit::kMm, true).error().code == ErrorCode::kFileLocked);
}

TEST_CASE("session: a file in another unit than asked for is refused", "[readings][session]") {
  const Folder f;
  f.write("r.csv", "# unit: in\n0.5,0.25\n");
  CHECK(Session::open(f.path / "r.csv", LengthUnit::kMm, true).error().code == ErrorCode::kMixedUnits);
  CHECK(f.read("r.csv") == "# unit: in\n0.5,0.25\n");
  CHECK(Session::open(f.path / "r.csv", LengthUnit::kInch, true).has_value());
}

TEST_CASE("session: delete, correct, undo keep what was typed", "[readings][session]") {
  const Folder f;
  auto s = open(f);
  for (const char* line : {"1,2", "3,4", "5,6"}) REQUIRE(s.add(reading(line)));
  REQUIRE(s.correct(2, reading("3.5,4")));
  CHECK(f.read("r.csv") == std::string(kHead) + "1,2\n# corrected: 3,4\n3.5,4\n5,6\n");
  CHECK(s.find(2)->reading.csv == "3.5,4");
  CHECK(s.find(3)->reading.csv == "5,6");
  REQUIRE(s.erase(1));
  CHECK(f.read("r.csv") == std::string(kHead) + "# deleted: 1,2\n# corrected: 3,4\n3.5,4\n5,6\n");
  REQUIRE(s.undo());  // the deletion
  CHECK(s.find(1));
  REQUIRE(s.add(reading("7,8")));
  CHECK(s.readings().back().number == 4);
  CHECK(*s.undo() == "reading 4 (7,8)");
  CHECK(*s.undo() == "the correction of 2");
  CHECK(s.find(2)->reading.csv == "3,4");
  for (const char* typed : {"7,8", "3.5,4"})  // undone, and still there to be read
    CHECK_THAT(f.read("r.csv"), Catch::Contains(std::string("# undone: ") + typed));
  CHECK(*s.undo() == "reading 3 (5,6)");
  CHECK(s.readings().size() == 2);
  REQUIRE(s.add(reading("9,9")));
  CHECK(s.readings().back().number == 3);
  REQUIRE(s.undo());
  REQUIRE(s.undo());
  REQUIRE(s.undo());
  CHECK(s.readings().empty());
  CHECK(s.undo().error().code == ErrorCode::kBadArgument);
  CHECK(parse_points(f.read("r.csv"))->points.empty());
}

TEST_CASE("session: undo after taking it up again takes back the last reading", "[readings][session]") {
  const Folder f;
  f.write("r.csv", "1,2\n3,4 # by hand\n# a word\n");
  auto s = open(f);
  CHECK(*s.undo() == "reading 2 (3,4)");
  CHECK(f.read("r.csv") == "1,2\n# undone: 3,4 # by hand\n# a word\n");
}

TEST_CASE("session: re-readings follow their place through corrections and deletions",
          "[readings][session]") {
  const Folder f;
  auto s = open(f);
  for (const char* line : {"5.00,0", "0,5"}) REQUIRE(s.add(reading(line)));
  REQUIRE(s.add_again(reading("5.02,0"), 1));
  REQUIRE(s.add_again(reading("4.98,0"), 3));  // a re-reading of the same place
  CHECK(f.read("r.csv") ==
        std::string(kHead) + "5.00,0\n0,5\n5.02,0  # again 5.00,0\n4.98,0  # again 5.00,0\n");
  const auto places = [&] { return parse_points(f.read("r.csv"))->again; };
  CHECK(places() == std::vector<std::vector<int>>{{0, 2, 3}});
  REQUIRE(s.correct(1, reading("5.01,0")));
  CHECK(places() == std::vector<std::vector<int>>{{0, 2, 3}});
  REQUIRE(s.correct(3, reading("5.03,0")));
  CHECK(places() == std::vector<std::vector<int>>{{0, 2, 3}});
  REQUIRE(s.confirm(3));
  CHECK(s.find(3)->confirmed);
  CHECK(places() == std::vector<std::vector<int>>{{0, 2, 3}});
  REQUIRE(s.erase(1));
  CHECK(places() == std::vector<std::vector<int>>{{1, 2}});
  CHECK(s.add_again(reading("1,1"), 77).error().code == ErrorCode::kBadArgument);
}

TEST_CASE("session: unit before the first reading, the part turned", "[readings][session]") {
  const Folder f;
  auto s = open(f);
  REQUIRE(s.set_unit(LengthUnit::kInch));
  CHECK(s.unit() == LengthUnit::kInch);
  REQUIRE(s.add(reading("0.5,0.25")));
  CHECK(s.set_unit(LengthUnit::kMm).error().code == ErrorCode::kMixedUnits);
  REQUIRE(s.turned(45));
  REQUIRE(s.add(reading("0.5,0.3")));
  CHECK(deg(s.readings().back().orientation_rad) == Approx(45));
  CHECK(parse_points(f.read("r.csv"))->orientation_rad.size() == 2);
}

TEST_CASE("notebook: a line cut off by power loss is set aside, nothing is thrown away",
          "[readings][notebook]") {
  const Folder f;
  f.write("r.csv", std::string("1,2\n3,4\n5.12") + std::string(300, '\0'));
  auto s = open(f);
  CHECK(s.readings().size() == 2);
  CHECK(f.read("r.csv") == "1,2\n3,4\n# unfinished: 5.12\n");
  CHECK(s.events().size() == 1);
  CHECK(s.events().empty());
}

TEST_CASE("notebook: a file replaced, changed or removed under us loses nothing of anybody",
          "[readings][notebook]") {
  const Folder f;
  auto s = open(f);
  REQUIRE(s.add(reading("1,2")));
  SECTION("replaced") {
    f.write("other", "theirs\n");
    fs::rename(f.path / "other", f.path / "r.csv");
    REQUIRE(s.add(reading("3,4")));
    CHECK(f.read("r.csv") == "theirs\n");
    CHECK(f.read("r.kept-1.csv") == std::string(kHead) + "1,2\n3,4\n");
    CHECK(s.events().size() == 1);
  }
  SECTION("changed in place, to the same length") {
    std::string text = f.read("r.csv");
    text[text.size() - 2] = '9';
    f.write("r.csv", text);
    REQUIRE(s.erase(1));
    CHECK(f.read("r.csv") == text);
    CHECK(f.read("r.kept-1.csv") == std::string(kHead) + "# deleted: 1,2\n");
  }
  SECTION("touched only") {
    fs::last_write_time(f.path / "r.csv", fs::file_time_type::clock::now() + std::chrono::hours(1));
    REQUIRE(s.add(reading("3,4")));
    CHECK(f.read("r.csv") == std::string(kHead) + "1,2\n3,4\n");
    CHECK(f.files() == 1);
  }
  SECTION("removed") {
    fs::remove(f.path / "r.csv");
    REQUIRE(s.add(reading("3,4")));
    CHECK(f.read("r.csv") == std::string(kHead) + "1,2\n3,4\n");
  }
}

TEST_CASE("notebook: refusals", "[readings][notebook]") {
  const Folder f;
  CHECK(Notebook::open(f.path / "no" / "r.csv", {}).error().code == ErrorCode::kFileUnwritable);
  CHECK(Notebook::open(f.path, {}).error().code == ErrorCode::kFileUnwritable);
  CHECK(Notebook::open("/dev/null", {}).error().code == ErrorCode::kFileUnwritable);
  f.write("bad.csv", "1,2\n3,x\n");
  const auto bad = Session::open(f.path / "bad.csv", LengthUnit::kMm, false);
  REQUIRE_FALSE(bad);
  CHECK_THAT(bad.error().detail, Catch::Contains("line 2"));
  CHECK(f.read("bad.csv") == "1,2\n3,x\n");
  CHECK(f.files() == 1);
}
