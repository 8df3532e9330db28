// Guards the one-way dependencies: reads the #include lines, since some libraries lie on the compiler's default path
// and the link rule alone cannot catch a leak.
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <string>
#include <vector>

namespace fs = std::filesystem;
namespace {

// What each module may include of the others.
const std::map<std::string, std::set<std::string>> kMaySee = {
    {"core", {}},
    {"json", {"core"}},
    {"readings", {"core", "json"}},
    {"fit", {"core"}},
    {"photo", {"core", "json"}},
    {"profile", {"core"}},
    {"interpret", {"core", "fit"}},
    {"making", {"core", "interpret"}},
    {"record", {"core", "json", "profile", "interpret", "making"}},
    {"measure", {"core", "readings", "photo", "fit", "profile", "interpret", "record"}},
    {"plan", {"core", "profile", "interpret", "making", "record"}},
    {"report", {"core", "profile", "interpret", "making", "record", "plan"}},
    {"cli",
     {"core", "readings", "fit", "photo", "profile", "interpret", "making", "record", "measure", "plan",
      "report"}},
};
// What each room of cli may include of the other rooms.
const std::map<std::string, std::set<std::string>> kRoomsOfCli = {
    {"terminal", {}},
    {"deliver", {"terminal"}},
    {"measure", {"deliver", "terminal"}},
    {"calibrate", {"measure", "terminal"}},
    {"readings", {"deliver", "terminal"}},
    {"original", {"terminal"}},
    {"plan", {"original", "terminal"}},
    {"report", {"original", "terminal"}},
    {"verify", {"terminal"}},
    {"bench", {"readings", "terminal"}},
};
// Libraries that are the business of some modules only.
const std::map<std::string, std::set<std::string>> kLibraryUsers = {
    {"opencv2", {"photo"}},
    {"ceres", {"photo"}},
    {"CLI", {"cli"}},
    {"nlohmann", {"json", "record", "report", "cli"}},
};

std::vector<std::string> includes_of(const fs::path& file) {
  std::ifstream in(file);
  std::vector<std::string> found;
  static const std::regex kInclude(R"re(^\s*#\s*include\s*[<"]([^>"]+)[>"])re");
  for (std::string line; std::getline(in, line);)
    if (std::smatch m; std::regex_search(line, m, kInclude)) found.push_back(m[1]);
  return found;
}

std::string first_part(const std::string& path) { return path.substr(0, path.find('/')); }

}  // namespace

TEST_CASE("modules include only what the dependency rule allows", "[core][structure]") {
  const fs::path root(RONDURE_SOURCE);
  int files = 0;
  for (const auto& [module, allowed] : kMaySee) {
    for (const fs::path& folder : {root / "src" / module, root / "include/rondure" / module}) {
      if (!fs::exists(folder)) continue;
      const bool is_public = folder.string().find("include/rondure") != std::string::npos;
      for (const auto& entry : fs::recursive_directory_iterator(folder)) {
        const auto extension = entry.path().extension();
        if (extension != ".hpp" && extension != ".cpp") continue;
        ++files;
        for (const std::string& include : includes_of(entry.path())) {
          INFO(entry.path().string() << " includes " << include);
          const std::string top = first_part(include);
          if (top == "rondure") {
            const std::string other = first_part(include.substr(8));
            CHECK((other == module || allowed.count(other) == 1));
          } else if (kMaySee.count(top) == 1 && include.find('/') != std::string::npos) {
            // a private header of another module; json has no other, since no library type is public
            CHECK((top == module || (top == "json" && allowed.count(top) == 1 && !is_public)));
          } else if (const auto users = kLibraryUsers.find(top); users != kLibraryUsers.end()) {
            CHECK(users->second.count(module) == 1);
            CHECK_FALSE(is_public);  // no library type in a public header
          }
        }
      }
    }
  }
  CHECK(files > 10);
}

TEST_CASE("rooms of cli include only what the dependency rule allows", "[core][structure]") {
  const fs::path cli = fs::path(RONDURE_SOURCE) / "src/cli";
  int files = 0;
  std::set<std::string> ours;
  for (const auto& entry : fs::recursive_directory_iterator(cli))
    if (entry.path().extension() == ".hpp") ours.insert(entry.path().filename().string());
  for (const auto& entry : fs::recursive_directory_iterator(cli)) {
    if (!entry.is_regular_file()) continue;
    const std::string room = first_part(fs::relative(entry.path(), cli).string());
    if (room == "main.cpp") continue;
    REQUIRE(kRoomsOfCli.count(room) == 1);
    ++files;
    for (const std::string& include : includes_of(entry.path())) {
      INFO(entry.path().string() << " includes " << include);
      if (first_part(include) == "rondure" || include.find(".hpp") == std::string::npos) continue;
      if (first_part(include) != "cli") {
        CHECK(ours.count(include) == 0);  // they are included by their path below src
        continue;
      }
      const std::string other = first_part(include.substr(4));
      CHECK((other == room || kRoomsOfCli.at(room).count(other) == 1));
    }
  }
  CHECK(files > 80);
}

// So that the framework's header may be precompiled in one build and not in another.
TEST_CASE("every file with tests includes the framework itself", "[core][structure]") {
  int files = 0;
  for (const auto& entry : fs::recursive_directory_iterator(fs::path(RONDURE_SOURCE) / "tests")) {
    if (entry.path().extension() != ".cpp") continue;
    std::ifstream in(entry.path());
    const std::string text{std::istreambuf_iterator<char>(in), {}};
    if (text.find("\nTEST_CASE(") == std::string::npos) continue;
    ++files;
    INFO(entry.path());
    CHECK(text.find("#include <catch2/catch.hpp>") != std::string::npos);
  }
  CHECK(files > 100);
}

// Two types of one name in one namespace are one type to the linker: their vectors get mixed up, silently.
TEST_CASE("no two headers define a type of the same name in the same namespace", "[core][structure]") {
  const fs::path root(RONDURE_SOURCE);
  static const std::regex kNamespace(R"re(^namespace (rondure[a-z_:]*) \{)re");
  static const std::regex kType(R"re(^(?:struct|class|enum class) ([A-Z][A-Za-z0-9]*)[^;]*\{)re");
  std::map<std::string, fs::path> first;
  for (const fs::path& folder : {root / "src", root / "include"})
    for (const auto& entry : fs::recursive_directory_iterator(folder)) {
      if (entry.path().extension() != ".hpp") continue;
      std::ifstream in(entry.path());
      std::string space;
      for (std::string line; std::getline(in, line);) {
        std::smatch m;
        if (std::regex_search(line, m, kNamespace)) space = m[1];
        if (!std::regex_search(line, m, kType)) continue;
        const auto [other, is_new] = first.emplace(space + "::" + m[1].str(), entry.path());
        INFO(other->first << " in " << other->second << " and " << entry.path());
        CHECK(is_new);
      }
    }
  CHECK(first.size() > 100);
}

// 2026-11: ctest cuts a name at ';' and then runs nothing, which counts as passed: ten tests had never run there.
TEST_CASE("no test's name holds a semicolon", "[core][structure]") {
  static const std::regex kName(R"re(\nTEST_CASE\(\s*"([^"]*))re");
  int names = 0;
  for (const auto& entry : fs::recursive_directory_iterator(fs::path(RONDURE_SOURCE) / "tests")) {
    if (entry.path().extension() != ".cpp") continue;
    std::ifstream in(entry.path());
    const std::string text{std::istreambuf_iterator<char>(in), {}};
    for (std::sregex_iterator m(text.begin(), text.end(), kName), end; m != end; ++m, ++names) {
      INFO(entry.path().string() << ": " << (*m)[1]);
      CHECK((*m)[1].str().find(';') == std::string::npos);
      CHECK((*m)[1].str().front() != '-');  // an option to the test program
    }
  }
  CHECK(names > 400);
}
