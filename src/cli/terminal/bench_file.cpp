#include "cli/terminal/bench_file.hpp"

#include <algorithm>
#include <array>
#include <cstdlib>
#include <filesystem>
#include <map>
#include <sstream>
#include <toml.hpp>

#include "rondure/record/part_record.hpp"

namespace rondure::cli {
namespace {

namespace fs = std::filesystem;

constexpr std::array kKnown = {"camera", "board", "square", "board_uncertainty", "stage", "tools", "unit"};
constexpr std::array kWithFiles = {"camera", "board", "stage", "tools"};

std::string known_words() {
  std::string text;
  for (const char* word : kKnown) text += (text.empty() ? "" : ", ") + std::string(word);
  return text;
}

using Entries = std::map<std::string, std::string>;

Error bad_line(const fs::path& file, std::uint_least32_t line, const std::string& what) {
  return {ErrorCode::kBadArgument, file.string() + ", line " + std::to_string(line) + ": " + what};
}

Result<std::string> text_of(const fs::path& file, const std::string& key, const toml::value& value) {
  if (value.is_string()) return value.as_string().str;
  if (value.is_integer()) return std::to_string(value.as_integer());
  if (value.is_floating()) {
    std::ostringstream text;
    text << value.as_floating();
    return text.str();
  }
  return bad_line(file, value.location().line(), "needed " + key + " = \"...\"");
}

// Names of files are those beside the bench file.
std::string beside(const fs::path& bench, const std::string& name) {
  const fs::path path = bench.parent_path() / name;
  std::error_code failed;
  return fs::exists(path, failed) ? path.string() : name;
}

Result<Entries> read_entries(const fs::path& file) {
  const auto bytes = read_file(file, 1u << 20);
  if (!bytes) return bytes.error();
  Entries entries;
  try {
    std::istringstream in(*bytes);
    const toml::value document = toml::parse(in, file.string());
    for (const auto& [key, value] : document.as_table()) {
      if (std::ranges::find(kKnown, key) == kKnown.end())
        return bad_line(file, value.location().line(),
                        "found '" + key + "', known words are " + known_words());
      const auto text = text_of(file, key, value);
      if (!text) return text.error();
      entries[key] = std::ranges::find(kWithFiles, key) == kWithFiles.end() ? *text : beside(file, *text);
    }
  } catch (const toml::syntax_error& error) {
    return bad_line(file, error.location().line(), "needed lines such as board = \"9x6\"");
  } catch (const std::exception&) {
    return Error{ErrorCode::kBadArgument, file.string() + ": needed lines such as board = \"9x6\""};
  }
  return entries;
}

// bench.toml in the folder, else in the user's configuration folder; empty where there is none.
fs::path usual_file(const fs::path& beside = {}) {
  std::error_code failed;
  if (fs::is_regular_file(beside / "bench.toml", failed)) return beside / "bench.toml";
  const char* configuration = std::getenv("XDG_CONFIG_HOME");
  const char* home = std::getenv("HOME");
  fs::path folder;
  if (configuration && *configuration)
    folder = configuration;
  else if (home && *home)
    folder = fs::path(home) / ".config";
  else
    return {};
  const fs::path file = folder / "rondure" / "bench.toml";
  return fs::is_regular_file(file, failed) ? file : fs::path();
}

// The command that the words name, and its names together ("calibrate plane").
const CLI::App* command_of(const CLI::App& program, const std::vector<std::string>& words,
                           std::string& names) {
  const CLI::App* command = &program;
  for (const std::string& word : words) {
    if (word.starts_with("-")) break;
    const auto subcommands = command->get_subcommands([](const CLI::App*) { return true; });
    const auto next =
        std::ranges::find(subcommands, word, [](const CLI::App* app) { return app->get_name(); });
    if (next == subcommands.end()) break;
    command = *next;
    names += (names.empty() ? "" : " ") + word;
  }
  return command;
}

bool typed(const std::vector<std::string>& words, const std::string& option) {
  return std::ranges::any_of(
      words, [&](const std::string& word) { return word == option || word.starts_with(option + "="); });
}

// The option that an entry stands for in a command; empty = none.
std::string option_of(const std::string& key, const std::string& command) {
  if (key == "unit") return "--unit";
  if (key == "tools") return command == "plan" ? "--tools" : "";
  if (key == "stage") return command == "fit" || command == "record" ? "--calibration" : "";
  const bool measure = command == "measure", board_command = measure || command.starts_with("calibrate");
  if (key == "camera")
    return measure ? "--calibration" : command.starts_with("calibrate p") ? "--camera" : "";
  if (key == "board" || key == "square") return board_command ? "--" + key : "";
  return measure ? "--board-uncertainty" : "";
}

// Whether what is typed takes the place of all that the file says of camera and board.
bool other_scale(const std::vector<std::string>& words, const std::string& command) {
  return command == "measure" &&
         (typed(words, "--calibration") || typed(words, "--scale") || typed(words, "--scan"));
}

bool of_the_picture(const std::string& key) { return key != "unit" && key != "tools" && key != "stage"; }

// A board's own file tells its squares and how well they are known.
bool told_by_board_file(const std::string& key, const std::vector<std::string>& words,
                        const Entries& entries) {
  if (key != "square" && key != "board_uncertainty") return false;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (words[i] == "--board" && i + 1 < words.size()) return words[i + 1].ends_with(".json");
    if (words[i].starts_with("--board=")) return words[i].ends_with(".json");
  }
  const auto board = entries.find("board");
  return board != entries.end() && board->second.ends_with(".json");
}

void add_to(CLI::App& command) {
  const auto subcommands = command.get_subcommands([](const CLI::App*) { return true; });
  for (CLI::App* sub : subcommands) add_to(*sub);
  if (!subcommands.empty()) return;
  if (command.get_option_no_throw("--unit") == nullptr && command.get_option_no_throw("--board") == nullptr)
    return;
  command
      .add_option("--bench",
                  "bench file: camera, board, square, tools, unit (else bench.toml here, or yours)")
      ->type_name("FILE");
}

}  // namespace

void add_bench_option(CLI::App& program) { add_to(program); }

std::map<std::string, std::string> bench_file_words(const fs::path& folder) {
  const fs::path file = usual_file(folder);
  const auto entries = file.empty() ? Result<Entries>(Entries()) : read_entries(file);
  return entries ? *entries : Entries();
}

Result<BenchedWords> with_bench_file(const CLI::App& program, const std::vector<std::string>& words) {
  BenchedWords out{words, {}};
  std::string names;
  const CLI::App* command = command_of(program, words, names);
  if (command->get_option_no_throw("--bench") == nullptr || typed(words, "--help") || typed(words, "-h"))
    return out;
  fs::path file = usual_file();
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (words[i] == "--bench" && i + 1 < words.size()) file = words[i + 1];
    if (words[i].starts_with("--bench=")) file = words[i].substr(std::string("--bench=").size());
  }
  if (file.empty()) return out;
  const auto entries = read_entries(file);
  if (!entries) return entries.error();
  for (const char* key : kKnown) {
    const auto entry = entries->find(key);
    if (entry == entries->end()) continue;
    const std::string option = option_of(key, names);
    if (option.empty() || command->get_option_no_throw(option) == nullptr || typed(words, option)) continue;
    if (of_the_picture(key) && other_scale(words, names)) continue;
    if (told_by_board_file(key, words, *entries)) continue;
    out.words.push_back(option + "=" + entry->second);
    out.note +=
        (out.note.empty() ? "from " + file.string() + ": " : ", ") + std::string(key) + " " + entry->second;
  }
  return out;
}

}  // namespace rondure::cli
