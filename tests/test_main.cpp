#define CATCH_CONFIG_RUNNER
#include <catch2/catch.hpp>
#include <filesystem>

// Every test runs in the folder of its program (build/tests), from wherever it is started.
int main(int argc, char** argv) {
  std::filesystem::current_path(std::filesystem::read_symlink("/proc/self/exe").parent_path());
  return Catch::Session().run(argc, argv);
}
