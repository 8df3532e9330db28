#include <iostream>

#include "cli/terminal/command.hpp"
#include "cli/terminal/handbook.hpp"
#include "rondure/record/part_record.hpp"

namespace rondure::cli {

// Hidden from --help: the build calls it to write what is installed.
void add_handbook(CLI::App& program, Action& action) {
  auto folder = std::make_shared<std::string>();
  CLI::App* command =
      program.add_subcommand("handbook", "Writes the man pages and shell completions into a folder.")
          ->group("");
  command->add_option("folder", *folder, "folder to write into; created if missing")
      ->required()
      ->type_name("FOLDER");
  command->callback([folder, &program, &action] {
    action = [folder, &program] {
      std::error_code failed;
      std::filesystem::create_directories(*folder, failed);
      auto files = man_pages(program);
      files["rondure.bash"] = bash_completion(program);
      files["_rondure"] = zsh_completion(program);
      files["rondure.fish"] = fish_completion(program);
      for (const auto& [name, text] : files)
        if (const auto written = write_file_atomically(std::filesystem::path(*folder) / name, text); !written)
          return report_error(written.error(), name);
      return kDone;
    };
  });
}

}  // namespace rondure::cli
