#include "cli/original/original_arguments.hpp"
#include "rondure/interpret/learned_grids.hpp"

namespace rondure::cli {

Result<SizeGrids> read_grids(const std::string& file) {
  if (file.empty()) return builtin_size_grids();
  const auto text = read_file(file, 1u << 20);
  if (!text) return text.error();
  auto grids = parse_size_grids(*text);
  if (!grids) return Error{grids.error().code, file + ": " + grids.error().detail};
  return grids;
}

Result<void> learn(const std::vector<OriginalResult>& parts, const std::string& file,
                   const std::string& grids_file) {
  const auto prior = read_grids(grids_file);
  if (!prior) return prior.error();
  const auto learned = learn_grids(parts, *prior);
  if (!learned) return Error{learned.error().code, "--learn: " + learned.error().detail};
  return write_file_atomically(file, grids_csv(*learned));
}

}  // namespace rondure::cli
