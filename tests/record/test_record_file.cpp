// Records on disk: replaced in one step, one generation kept, one writer at a time.
#include <sys/file.h>
#include <sys/stat.h>
#include <sys/wait.h>

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <thread>

#include "cli/process.hpp"
#include "full_record.hpp"

using namespace rondure;
using Json = nlohmann::json;

namespace {

Feature sized(const std::string& name, double diameter_mm) {
  Feature f;
  f.name = name;
  f.circle = CircleResult{};
  f.circle->diameter_mm = diameter_mm;
  return f;
}

std::vector<std::string> feature_names(const std::string& file) {
  const auto record = load_part_record(file);
  REQUIRE(record);
  std::vector<std::string> names;
  for (const Feature& f : record->features) names.push_back(f.name);
  return names;
}

}  // namespace

TEST_CASE("save: features are added and replaced, nothing else is touched", "[record][save]") {
  const Folder folder;
  const std::string file = folder.path("roller.json");
  REQUIRE(save_feature(file, sized("outside", 12.4), "POM-C"));
  REQUIRE(save_feature(file, sized("bore", 6)));
  REQUIRE(save_feature(file, sized("outside", 12.5)));
  const auto record = load_part_record(file);
  REQUIRE(record);
  CHECK(record->name == "roller");  // a new record is called after its file
  CHECK(record->material == "POM-C");
  REQUIRE(record->features.size() == 2);
  CHECK(record->features[0].circle->diameter_mm == 12.5);
  CHECK(record->features[1].name == "bore");
  CHECK(folder.names() == std::vector<std::string>{"roller.json", "roller.json.bak"});
}

TEST_CASE("save: the record before the last change is kept", "[record][save]") {
  const Folder folder;
  const std::string file = folder.path("roller.json");
  REQUIRE(save_feature(file, sized("outside", 12.4)));
  CHECK_FALSE(folder.has("roller.json.bak"));
  const std::string first = folder.read("roller.json");
  REQUIRE(save_feature(file, sized("bore", 6)));
  CHECK(folder.read("roller.json.bak") == first);
  const std::string second = folder.read("roller.json");
  REQUIRE(save_feature(file, sized("bore", 6.1)));
  CHECK(folder.read("roller.json.bak") == second);
  const std::string third = folder.read("roller.json");
  REQUIRE(save_feature(file, sized("bore", 6.1)));  // nothing changes: the generation before stays
  CHECK(folder.read("roller.json.bak") == second);
  CHECK(folder.read("roller.json") == third);
}

TEST_CASE("save: a damaged record is refused and left as it is", "[record][save]") {
  const Folder folder;
  const std::string damaged = "{\"format\":\"rondure-part\",\"version\":1,\"features\":[{\"name\":\"outsi";
  const std::string file = folder.write("roller.json", damaged);
  const auto saved = save_feature(file, sized("bore", 6));
  REQUIRE_FALSE(saved);
  CHECK(saved.error().code == ErrorCode::kFileDamaged);
  CHECK_THAT(saved.error().detail, Catch::Contains("roller.json") && Catch::Contains("line 1, column"));
  CHECK(folder.read("roller.json") == damaged);
  CHECK(folder.names() == std::vector<std::string>{"roller.json"});
}

TEST_CASE("save: a measurement that replaces one keeps a newer version's fields, marked", "[record][save]") {
  const Folder folder;
  Json newer = Json::parse(to_json(full_record()));
  newer["features"][0]["texture"] = "fine";
  newer["features"][0]["circle"]["torsion"] = 4.5;
  newer["features"][1]["texture"] = "coarse";
  newer["later"] = true;
  const std::string file = folder.write("roller.json", newer.dump());
  REQUIRE(save_feature(file, sized("roller outside", 12.3)));
  const Json now = Json::parse(folder.read("roller.json"));
  CHECK(now["later"] == true);
  CHECK(now["features"][0]["texture"] == "fine");
  CHECK_FALSE(now["features"][0]["circle"].contains("torsion"));  // it described the old values
  CHECK(now["features"][0]["warnings"][0]["code"] == "kept-unknown-field");
  CHECK_FALSE(now["features"][0].contains("ellipse"));
  CHECK(now["features"][1] == newer["features"][1]);
}

TEST_CASE("save: symbolic links are followed, also to a file that is not there yet", "[record][save]") {
  const Folder folder;
  std::filesystem::create_directory(folder.path("archive"));
  std::filesystem::create_symlink("archive/real.json", folder.path("roller.json"));
  for (const double size_mm : {12.4, 12.5}) {
    REQUIRE(save_feature(folder.path("roller.json"), sized("outside", size_mm)));
    CHECK(std::filesystem::is_symlink(folder.path("roller.json")));
    CHECK(load_part_record(folder.path("archive/real.json"))->features[0].circle->diameter_mm == size_mm);
  }
  CHECK(folder.has("archive/real.json.bak"));
  CHECK(folder.names() == std::vector<std::string>{"archive", "roller.json"});
}

TEST_CASE("save: permissions of the record stay, and its last generation has them too", "[record][save]") {
  const Folder folder;
  const std::string file = folder.path("roller.json");
  REQUIRE(save_feature(file, sized("outside", 12.4)));
  REQUIRE(chmod(file.c_str(), 0640) == 0);
  REQUIRE(save_feature(file, sized("outside", 12.5)));
  for (const std::string& name : {file, file + ".bak"}) {
    struct stat about {};
    REQUIRE(stat(name.c_str(), &about) == 0);
    CHECK((about.st_mode & 07777) == 0640);
  }
}

TEST_CASE("save: a record that another program changed meanwhile is not overwritten", "[record][save]") {
  const Folder folder;
  const std::string file = folder.path("roller.json");
  REQUIRE(save_feature(file, sized("outside", 12.4)));
  const auto loaded = load_part_record(file);
  REQUIRE(loaded);
  REQUIRE(save_feature(file, sized("bore", 6)));
  const std::string theirs = folder.read("roller.json");
  const auto saved = save_part_record(file, *loaded);
  REQUIRE_FALSE(saved);
  CHECK(saved.error().code == ErrorCode::kFileLocked);
  CHECK(folder.read("roller.json") == theirs);
}

TEST_CASE("save: a file replaced under us is read again, and both changes stand", "[record][save]") {
  const Folder folder;
  const std::string file = folder.path("roller.json");
  REQUIRE(save_feature(file, sized("outside", 12.4)));
  int calls = 0;
  const auto changed = update_part_record(file, [&](PartRecord& record) -> Result<void> {
    if (++calls == 1) {  // an editor, which knows no lock
      PartRecord theirs = record;
      theirs.features.push_back(sized("written by an editor", 1));
      folder.write("new.json", to_json(theirs));
      std::filesystem::rename(folder.path("new.json"), file);
    }
    record.features.push_back(sized("bore", 6));
    return {};
  });
  REQUIRE(changed);
  CHECK(calls == 2);
  CHECK(feature_names(file) == std::vector<std::string>{"outside", "written by an editor", "bore"});
  CHECK(folder.names() == std::vector<std::string>{"roller.json", "roller.json.bak"});
}

TEST_CASE("save: a file that is replaced again and again ends in a refusal, theirs intact",
          "[record][save]") {
  const Folder folder;
  const std::string file = folder.path("roller.json");
  REQUIRE(save_feature(file, sized("outside", 12.4)));
  int calls = 0;
  std::string theirs;
  const auto changed = update_part_record(file, [&](PartRecord& record) -> Result<void> {
    theirs = to_json(PartRecord{"editor " + std::to_string(++calls), "", {}, {}, {}, {}, {}, ""});
    folder.write("roller.json", theirs);
    record.features.push_back(sized("bore", 6));
    return {};
  });
  REQUIRE_FALSE(changed);
  CHECK(changed.error().code == ErrorCode::kFileLocked);
  CHECK(folder.read("roller.json") == theirs);
}

TEST_CASE("save: an error of the change writes nothing", "[record][save]") {
  const Folder folder;
  const auto changed = update_part_record(folder.path("roller.json"), [](PartRecord&) -> Result<void> {
    return Error{ErrorCode::kNoAnswer, "no"};
  });
  REQUIRE_FALSE(changed);
  CHECK(changed.error().code == ErrorCode::kNoAnswer);
  CHECK(folder.names().empty());
}

TEST_CASE("save: writers wait for each other, and no feature is lost", "[record][save]") {
  const Folder folder;
  const std::string file = folder.path("roller.json");
  constexpr int kWriters = 6, kFeatures = 8;
  std::vector<pid_t> writers;
  for (int w = 0; w < kWriters; ++w) {
    const pid_t child = fork();
    REQUIRE(child >= 0);
    if (child == 0) {
      for (int i = 0; i < kFeatures; ++i)
        if (!save_feature(file, sized(std::to_string(w) + "." + std::to_string(i), 10 + i))) _exit(1);
      _exit(0);
    }
    writers.push_back(child);
  }
  for (const pid_t writer : writers) {
    int status = 0;
    waitpid(writer, &status, 0);
    CHECK(status == 0);
  }
  CHECK(feature_names(file).size() == kWriters * kFeatures);
}

TEST_CASE("save: waits while another program holds the lock", "[record][save]") {
  const Folder folder;
  const int held = open(folder.path().c_str(), O_RDONLY | O_DIRECTORY);
  REQUIRE(flock(held, LOCK_EX) == 0);
  std::atomic<bool> released = false;
  std::thread other([&] {
    std::this_thread::sleep_for(std::chrono::milliseconds(200));
    released = true;
    close(held);
  });
  CHECK(save_feature(folder.path("roller.json"), sized("outside", 12.4)));
  CHECK(released);
  other.join();
}

TEST_CASE("save: what a killed writer left behind is cleared away, a living one's is not", "[record][save]") {
  const Folder folder;
  const std::string file = folder.path("roller.json");
  folder.write(".roller.json.1-2-0.writing", "half a reco");
  folder.write(".other.json.1-2-0.writing", "not ours");
  folder.write(".roller.json.3-4-0.writing", "being written");
  const int living = open(folder.path(".roller.json.3-4-0.writing").c_str(), O_RDONLY);
  REQUIRE(flock(living, LOCK_EX) == 0);
  REQUIRE(save_feature(file, sized("outside", 12.4)));
  CHECK(folder.names() ==
        std::vector<std::string>{".other.json.1-2-0.writing", ".roller.json.3-4-0.writing", "roller.json"});
  close(living);
}

TEST_CASE("files: written whole or not at all, and pipes and devices written to", "[record][save]") {
  const Folder folder;
  REQUIRE(write_file_atomically(folder.path("a"), "one"));
  REQUIRE(write_file_atomically(folder.path("a"), "two"));
  CHECK(folder.read("a") == "two");
  CHECK(folder.names() == std::vector<std::string>{"a"});  // no generations: these are no records
  CHECK(write_file_atomically("/dev/null", "x"));
  const auto full = write_file_atomically("/dev/full", "x");
  REQUIRE_FALSE(full);
  CHECK_THAT(full.error().message(), Catch::Contains("/dev/full") && Catch::Contains("No space left"));
  CHECK_FALSE(write_file_atomically(folder.path(), "x"));
  const auto nowhere = write_file_atomically("-", "x");
  CHECK((!nowhere && nowhere.error().code == ErrorCode::kFileUnwritable));
  CHECK_FALSE(std::filesystem::exists("-"));
  CHECK_FALSE(write_file_atomically(folder.path("no/such/folder"), "x"));
  CHECK_FALSE(write_file_atomically("", "x"));
}

TEST_CASE("files: reading says why it cannot", "[record][save]") {
  const Folder folder;
  CHECK(read_file(folder.path("none")).error().code == ErrorCode::kFileMissing);
  CHECK(read_file(folder.path()).error().code == ErrorCode::kFileUnreadable);
  const std::string file = folder.write("long", std::string(2000, 'x'));
  CHECK(read_file(file, 1999).error().code == ErrorCode::kFileUnreadable);
  CHECK(read_file(file, 2000)->size() == 2000);
  CHECK(read_file("/dev/zero", 1 << 20).error().code == ErrorCode::kFileUnreadable);
}
