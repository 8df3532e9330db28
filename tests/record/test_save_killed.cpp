// A save that is killed at every single system call: the record on disk is the old one or the new one.
#include <signal.h>
#include <sys/ptrace.h>
#include <sys/wait.h>

#include <catch2/catch.hpp>

#include "cli/process.hpp"
#include "full_record.hpp"

using namespace rondure;

namespace {

enum class End { kKilled, kFinished, kNotPossible };

// Runs `work` in a child that is killed at its n-th entry into or return from the system.
template <class Work>
End run_and_kill_at(int n, Work work) {
  const pid_t child = fork();
  if (child == 0) {
    if (ptrace(PTRACE_TRACEME, 0, nullptr, nullptr) != 0) _exit(99);
    raise(SIGSTOP);
    work();
    _exit(0);
  }
  int status = 0;
  waitpid(child, &status, 0);
  if (!WIFSTOPPED(status)) return End::kNotPossible;
  for (int stop = 0;; ++stop) {
    if (stop == n) {
      kill(child, SIGKILL);
      waitpid(child, &status, 0);
      return End::kKilled;
    }
    ptrace(PTRACE_SYSCALL, child, nullptr, nullptr);
    waitpid(child, &status, 0);
    if (WIFEXITED(status)) return End::kFinished;
  }
}

}  // namespace

TEST_CASE("save killed at every system call: old record or new, never anything else",
          "[record][save][fault][repeats]") {
  const std::string before = to_json(full_record());
  PartRecord after_record = full_record();
  Feature added = full_feature("idler");
  after_record.features.push_back(added);
  const std::string after = to_json(after_record);
  int old_ones = 0, new_ones = 0, kills = 0;
  for (int n = 0;; ++n) {
    const Folder folder;
    const std::string file = folder.write("roller.json", before);
    folder.write("roller.json.bak", "the generation before");
    const End end = run_and_kill_at(n, [&] { (void)save_feature(file, added).has_value(); });
    if (end == End::kNotPossible) {
      WARN("this machine lets no program watch another: not tested");
      return;
    }
    const std::string found = folder.read("roller.json");
    old_ones += found == before;
    new_ones += found == after;
    const std::string kept = folder.read("roller.json.bak");
    const bool kept_whole = kept == before || (kept == "the generation before" && found == before);
    INFO("killed at stop " << n);
    CHECK((found == before || found == after));
    CHECK(kept_whole);
    // and the next save works and leaves no litter
    REQUIRE(save_feature(file, full_feature("drum")));
    CHECK(folder.names() == std::vector<std::string>{"roller.json", "roller.json.bak"});
    if (end == End::kFinished) break;
    ++kills;
  }
  INFO(kills << " instants: old record " << old_ones << ", new record " << new_ones);
  CHECK(kills > 40);
  CHECK(old_ones > 20);
  CHECK(new_ones > 1);
}
