#include "cli/terminal/suggestion.hpp"

#include <algorithm>

namespace rondure::cli {
namespace {

std::string nearest(const std::string& word, const std::vector<std::string>& known) {
  std::string best;
  int best_distance = 1 + static_cast<int>(word.size()) / 3;  // further away is another word
  for (const std::string& candidate : known) {
    const int distance = edit_distance(word, candidate);
    if (distance < best_distance || (distance == best_distance && best.empty()))
      best_distance = distance, best = candidate;
  }
  return best.empty() ? "" : "did you mean '" + best + "'?";
}

std::vector<std::string> option_names(const CLI::App& command) {
  std::vector<std::string> names;
  for (const CLI::Option* option : command.get_options())
    for (const std::string& name : option->get_lnames()) names.push_back("--" + name);
  return names;
}

// "add and original know it": an option of other commands is no slip of the finger.
std::string known_elsewhere(const CLI::App& program, const std::string& name) {
  std::vector<std::string> commands;
  for (const CLI::App* sub :
       program.get_subcommands([](const CLI::App* app) { return !app->get_group().empty(); })) {
    const auto known = option_names(*sub);
    if (std::find(known.begin(), known.end(), name) != known.end()) commands.push_back(sub->get_name());
  }
  std::string text;
  for (std::size_t i = 0; i < commands.size(); ++i)
    text += (i == 0 ? "" : i + 1 == commands.size() ? " and " : ", ") + commands[i];
  return text.empty() ? "" : text + (commands.size() == 1 ? " knows it" : " know it");
}

std::vector<std::string> subcommand_names(const CLI::App& command) {
  std::vector<std::string> names;
  for (const CLI::App* sub :
       command.get_subcommands([](const CLI::App* app) { return !app->get_group().empty(); }))
    names.push_back(sub->get_name());
  return names;
}

}  // namespace

int edit_distance(const std::string& a, const std::string& b) {
  std::vector<std::vector<int>> d(a.size() + 1, std::vector<int>(b.size() + 1));
  for (std::size_t i = 0; i <= a.size(); ++i) d[i][0] = static_cast<int>(i);
  for (std::size_t j = 0; j <= b.size(); ++j) d[0][j] = static_cast<int>(j);
  for (std::size_t i = 1; i <= a.size(); ++i)
    for (std::size_t j = 1; j <= b.size(); ++j) {
      d[i][j] = std::min({d[i - 1][j] + 1, d[i][j - 1] + 1, d[i - 1][j - 1] + (a[i - 1] != b[j - 1])});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
        d[i][j] = std::min(d[i][j], d[i - 2][j - 2] + 1);
    }
  return d[a.size()][b.size()];
}

std::string suggestion(const CLI::App& program, const std::vector<std::string>& words) {
  const CLI::App* command = &program;
  for (const std::string& word : words) {
    if (word.rfind("--", 0) == 0) {
      const std::string name = word.substr(0, word.find('='));
      const auto known = option_names(*command);
      if (std::find(known.begin(), known.end(), name) != known.end()) continue;
      const std::string elsewhere = command == &program ? std::string() : known_elsewhere(program, name);
      return elsewhere.empty() ? nearest(name, known) : elsewhere;
      continue;
    }
    const auto subcommands = subcommand_names(*command);
    if (subcommands.empty()) continue;
    const auto sub = std::find(subcommands.begin(), subcommands.end(), word);
    if (sub == subcommands.end()) return nearest(word, subcommands);
    command = command->get_subcommand(word);
  }
  return {};
}

}  // namespace rondure::cli
